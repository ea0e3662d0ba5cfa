package web

import (
	"context"

	"gaugewright/internal/job"
)

// keepImported keeps a job that was read from a file, unless it is here
// already. The error is the store's.
func (s *Site) keepImported(ctx context.Context, f *taken, j *job.Job) error {
	in, err := job.TakeIn(ctx, s.o.Store, j, s.o.Now())
	switch {
	case in.ID != "" && err != nil:
		s.o.Log.Warn("what a file was kept as isn't noted", "job", in.ID, "error", err)
	case faultsOf(err) != nil:
		f.Text, f.Faults = "Not taken in: this job can’t be kept. Nothing of it was kept.", fileFaults(err)
		return nil
	case err != nil:
		return err
	}
	f.Path, f.Label, f.Text = jobPath(in.ID), titleOf(in.Job), "Kept."
	switch {
	case in.Changed:
		f.Text = "Here already: this very file was taken in before, and the job has been changed since. It wasn’t doubled, and the changes stand."
	case in.Already:
		f.Text = "Here already: a job of this number with the same content. It wasn’t doubled."
	}
	return nil
}
