package job

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"time"
)

// TakenIn is what became of a job that was taken into a store.
type TakenIn struct {
	ID ID
	// Already: it was there before, as this very file or as a job of the same
	// number and content, and wasn't doubled.
	Already bool
	// Changed: it was there as this file, and has been changed since.
	Changed bool
	Job     *Job // as the store has it
}

// TakeIn takes a job that was read from a file into a store, unless it is there
// already. Errors are those of the store; a job that can't be a file is refused
// with what is wrong with it.
func TakeIn(ctx context.Context, s Store, j *Job, at time.Time) (TakenIn, error) {
	data, err := j.Encode()
	if err != nil {
		return TakenIn{}, err
	}
	sum := Checksum(data)
	there, err := takenBefore(ctx, s, j, data)
	if err != nil {
		return TakenIn{}, err
	}
	if there != nil {
		return TakenIn{ID: there.ID, Already: true, Changed: !there.Job.SameContent(j), Job: there.Job}, nil
	}
	// The same file sent twice at once is one job by its key.
	id, err := s.Start(ctx, takenNote(sum), j, at)
	if err != nil {
		return TakenIn{}, err
	}
	// Without the note the number and the content still tell.
	return TakenIn{ID: id, Job: j}, s.SetNote(ctx, takenNote(sum), string(id))
}

func takenNote(checksum string) string { return "import/" + checksum }

// mostAlike is how many jobs of like numbers are looked through for one of the
// same content.
const mostAlike = 100

// takenBefore gives the job that a file was taken in as, or that has its number
// and content; nil where there is none.
func takenBefore(ctx context.Context, s Store, j *Job, data []byte) (*Kept, error) {
	sums := []string{Checksum(data)}
	if len(j.History) == 0 && j.Signature == nil {
		// What was taken in by a program that wrote version 1 was noted as that.
		sums = append(sums, Checksum(bytes.Replace(data, []byte(`"version": 2`), []byte(`"version": 1`), 1)))
	}
	for _, sum := range sums {
		id, err := s.Note(ctx, takenNote(sum))
		if err != nil {
			return nil, err
		}
		if id == "" {
			continue
		}
		if kept, err := s.Job(ctx, ID(id)); !errors.Is(err, ErrNoJob) {
			return kept, err
		}
	}
	words := strings.Fields(j.Number)
	cards, _, err := s.Jobs(ctx, strings.Join(words[:min(len(words), 20)], " "), mostAlike)
	if err != nil {
		return nil, err
	}
	for _, c := range cards {
		if c.Number != j.Number {
			continue
		}
		kept, err := s.Job(ctx, c.ID)
		if errors.Is(err, ErrNoJob) {
			continue
		} else if err != nil {
			return nil, err
		}
		if kept.Job.SameContent(j) {
			return kept, nil
		}
	}
	return nil, nil
}
