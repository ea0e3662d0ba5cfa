package job

import (
	"context"
	"errors"
	"slices"
)

// MostExported is how many changes that a store has of a job go into its file, the
// last ones.
const MostExported = 500

// Export gives a kept job as it goes out of a store: with the store's last changes
// of it, up to [MostExported], behind the history that it came in with. A job that
// wasn't changed in the store goes out as it came in, signature and all.
func Export(ctx context.Context, s Store, kept *Kept) (*Job, error) {
	out, err := kept.Job.Copy()
	if err != nil {
		return nil, err
	}
	if kept.Revision <= 1 {
		return out, nil
	}
	changes, err := s.History(ctx, kept.ID, MostExported)
	if err != nil {
		return nil, err
	}
	// The beginning isn't a change, and those made since are none of this revision.
	changes = slices.DeleteFunc(changes, func(c Change) bool { return c.Revision < 1 || c.Revision >= kept.Revision })
	slices.Reverse(changes)
	asCame := *out
	whole := len(changes) > 0 && changes[0].Revision <= 1
	if len(out.History) == 0 && whole {
		if err := out.Revise(nil, kept.Made, "", "job begun"); err != nil {
			return nil, err
		}
	} else if !whole {
		out.History = nil // between it and what is kept there is a gap
	}
	begun := len(out.History)
	var before *Job
	for _, c := range changes {
		if before == nil {
			if before, err = s.At(ctx, kept.ID, c.Revision); err != nil {
				return nil, err
			}
		}
		after, err := s.At(ctx, kept.ID, c.Revision+1)
		if errors.Is(err, ErrNoJob) {
			return nil, ErrMoved
		} else if err != nil {
			return nil, err
		}
		after.History = out.History
		if err := after.Revise(before, c.At, c.By, c.Words); err != nil {
			return nil, err
		}
		out.History, before = after.History, after
	}
	if len(out.History) == begun {
		return &asCame, nil
	}
	out.Unsign()
	return out, nil
}
