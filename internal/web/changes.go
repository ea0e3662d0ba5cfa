package web

import "gaugewright/internal/job"

// whatChanged says in words what differs between two states of a job; nothing
// where nothing does.
func whatChanged(was, is *job.Job) []string {
	return nil
}
