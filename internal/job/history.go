package job

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/strict"
	"gaugewright/internal/wording"
)

// Revision is one change of a job.
type Revision struct {
	Time  string `json:"time,omitempty"` // RFC 3339
	By    string `json:"by,omitempty"`
	Words string `json:"words"` // what was done
	// Was is the SHA-256 of the job's content before, in hexadecimal: of the
	// canonical JSON (RFC 8785) of its file without version, history and
	// signature. It is "" where there was no job before, or none that is known.
	Was string `json:"was"`
	// Undo makes the content before of the content after.
	Undo []Operation `json:"undo"`
}

// Bounds of what one revision holds, as the schema has them, and of what all of
// them may come to in bytes.
const (
	mostOperations = 2000
	mostPath       = 2000
	mostWords      = 5000
	mostBy         = 300
	mostHistory    = MaxBytes / 2
)

// Revise notes in the history what was done to a job, which was as before until
// then; nil where it begins here. A zero time isn't noted. Where the content is
// the same, nothing is noted. A signature is taken off, as it was for the job
// before.
//
// Of more than [MaxRevisions], and of what would make the file too large, the
// oldest go.
func (j *Job) Revise(before *Job, at time.Time, by, words string) error {
	r := Revision{By: clean(by, mostBy, false), Words: clean(words, mostWords, true), Undo: []Operation{}}
	if !at.IsZero() {
		r.Time = at.Format(time.RFC3339)
	}
	if before != nil {
		now, err := j.content()
		if err != nil {
			return err
		}
		was, err := before.content()
		if err != nil {
			return err
		}
		if r.Undo, err = undo(now, was); err != nil || len(r.Undo) == 0 {
			return err
		}
		if r.Was, err = digest(was); err != nil {
			return err
		}
	}
	j.History = append(slices.Clone(j.History), r)
	j.Unsign()
	j.forget(MaxRevisions)
	return nil
}

// undo gives the operations that make the content before of the content now, such
// as a file can hold.
func undo(now, was map[string]any) ([]Operation, error) {
	ops, err := patch(now, was)
	tooLong := func(o Operation) bool { return utf8.RuneCountInString(o.Path) > mostPath }
	if err != nil || len(ops) <= mostOperations && !slices.ContainsFunc(ops, tooLong) {
		return ops, err
	}
	put, err := plainJSON(was)
	return []Operation{{Op: Replace, Path: "", Value: put}}, err
}

// forget leaves out the oldest revisions where there are more than so many, or
// more than fit.
func (j *Job) forget(most int) {
	first, room := len(j.History), mostHistory
	for first > 0 && len(j.History)-first < most {
		r := j.History[first-1]
		if room -= size(r.Undo) + len(r.Words) + len(r.By) + 300; room < 0 {
			break
		}
		first--
	}
	j.History = slices.Clone(j.History[first:])
}

// clean makes text such as a file takes: without signs that can't be seen, and no
// longer than so many characters.
func clean(text string, most int, lines bool) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case lines && (r == '\n' || r == '\t'):
			return r
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
	return wording.Clip(text, most-1) // and the sign that says so
}

// HistoryError says that a history doesn't fit the job that it is of.
type HistoryError struct {
	Revision int // whose undo doesn't, from 1
	Msg      string
}

// Error names the revision.
func (e *HistoryError) Error() string {
	return fmt.Sprintf("the history doesn't fit the job: revision %d: %s", e.Revision, e.Msg)
}

// First gives the number of the oldest revision that At can give: 0, the job
// before the first one that is noted; or 1, where there was none before it, or
// nothing is known of it.
func (j *Job) First() int {
	if len(j.History) > 0 && j.History[0].Was == "" {
		return 1
	}
	return 0
}

// At gives the job as it was after the revision of a number, from 1, with the
// history up to there: len(History) is the job as it is, and 0 as it was before
// the first. What each undo gives is held against the sum that was noted of it; a
// history that doesn't fit is a [*HistoryError]. Nobody signed what it gives.
func (j *Job) At(n int) (*Job, error) {
	last := len(j.History)
	if n < j.First() || n > last {
		return nil, fmt.Errorf("there is no revision %d of this job; it has %d to %d", n, j.First(), last)
	}
	content, err := j.content()
	if err != nil {
		return nil, err
	}
	tree := any(content)
	for i := last; i > n; i-- {
		r := j.History[i-1]
		if r.Was == "" {
			return nil, &HistoryError{i, "nothing is known of the job before it"}
		}
		if tree, err = apply(tree, r.Undo); err != nil {
			return nil, &HistoryError{i, err.Error()}
		}
		if sum, err := digest(tree); err != nil || sum != r.Was {
			return nil, &HistoryError{i, "undone, it gives another job than the one noted; the job or its history was changed by other means"}
		}
	}
	out, err := ofContent(tree, fmt.Sprintf("job %s at revision %d", strict.Clip(j.Number), n))
	if err != nil {
		return nil, err
	}
	out.History = slices.Clone(j.History[:n])
	if len(j.Tanks) > 0 {
		out.Beside(j.Tanks[0].Folder)
	}
	return out, nil
}

// ofContent reads the job that has a content.
func ofContent(tree any, name string) (*Job, error) {
	object, ok := tree.(map[string]any)
	if !ok {
		return nil, &FileError{Name: name, Msg: "not a job"}
	}
	object["version"] = float64(Version)
	text, err := plainJSON(object)
	if err != nil {
		return nil, err
	}
	return Read(bytes.NewReader(text), name)
}
