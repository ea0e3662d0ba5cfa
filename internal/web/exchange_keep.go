package web

import (
	"context"
	"errors"

	"gaugewright/internal/job"
)

// importNote is under which name it is noted as what a file was kept.
func importNote(checksum string) string { return "import/" + checksum }

// keepImported keeps a job that was read from a file, unless it is here
// already. The error is the store's.
func (s *Site) keepImported(ctx context.Context, f *taken, j *job.Job) error {
	data, err := j.Encode()
	if err != nil {
		f.Text, f.Faults = "Not taken in: this job can’t be kept. Nothing of it was kept.", fileFaults(err)
		return nil
	}
	f.Label = titleOf(j)
	sum := job.Checksum(data)
	if there, err := s.alreadyHere(ctx, j.Number, sum); err != nil {
		return err
	} else if there != nil {
		f.Path, f.Text = jobPath(there.ID), "Here already: a job of this number with the same content. It wasn’t doubled."
		if now, err := there.Job.Encode(); err != nil || job.Checksum(now) != sum {
			f.Text = "Here already: this very file was taken in before, and the job has been changed since. It wasn’t doubled, and the changes stand."
			f.Label = titleOf(there.Job)
		}
		return nil
	}
	// The same file sent twice at once is one job by its key.
	id, err := s.o.Store.Start(ctx, importNote(sum), j, s.o.Now())
	if err != nil {
		if faults := faultsOf(err); faults != nil {
			f.Text, f.Faults = "Not taken in: this job can’t be kept. Nothing of it was kept.", fileFaults(err)
			return nil
		}
		return err
	}
	f.Path, f.Text = jobPath(id), "Kept."
	if err := s.o.Store.SetNote(ctx, importNote(sum), string(id)); err != nil {
		s.o.Log.Warn("what a file was kept as isn't noted", "job", id, "error", err)
	}
	return nil
}

// alreadyHere gives the job that a file of a checksum was taken in as, or that
// has a file's number and content; nil where there is none.
func (s *Site) alreadyHere(ctx context.Context, number, checksum string) (*job.Kept, error) {
	id, err := s.o.Store.Note(ctx, importNote(checksum))
	if err != nil {
		return nil, err
	}
	if id != "" {
		kept, err := s.o.Store.Job(ctx, job.ID(id))
		if err == nil || !errors.Is(err, job.ErrNoJob) {
			return kept, err
		}
	}
	cards, _, err := s.o.Store.Jobs(ctx, toFind(number), mostLines)
	if err != nil {
		return nil, err
	}
	for _, c := range cards {
		if c.Number != number {
			continue
		}
		kept, err := s.o.Store.Job(ctx, c.ID)
		if errors.Is(err, job.ErrNoJob) {
			continue
		} else if err != nil {
			return nil, err
		}
		if data, err := kept.Job.Encode(); err == nil && job.Checksum(data) == checksum {
			return kept, nil
		}
	}
	return nil, nil
}
