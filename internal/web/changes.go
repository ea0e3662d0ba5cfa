package web

import "gaugewright/internal/job"

// whatChanged says in sentences what differs between two states of a job; nothing
// where nothing does.
func whatChanged(was, is *job.Job) []string {
	var out []string
	for _, d := range job.Diff(was, is) {
		out = append(out, d.Text)
	}
	return out
}
