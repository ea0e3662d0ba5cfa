package web

import (
	"context"

	"gaugewright/internal/job"
)

// whatChanged says in sentences what differs between two states of a job; nothing
// where nothing does.
func whatChanged(ctx context.Context, was, is *job.Job) []string {
	ownIn(ctx, was.OwnWords()...)
	ownIn(ctx, is.OwnWords()...)
	var out []string
	for _, d := range job.Diff(was, is) {
		out = append(out, d.Text)
	}
	return out
}
