package web

import (
	"fmt"

	"gaugewright/internal/drift"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
	"gaugewright/internal/telling"
)

// HasLater says whether a tank's work is done, so that a later check can be made of
// it, or one was.
func (at *tankAt) HasLater() bool {
	if len(at.Services) > 0 {
		return true
	}
	for _, c := range at.Checks {
		if c.When == job.AsLeft {
			return true
		}
	}
	return false
}

// laterStep says on the card how the later checks stand; false while the work isn't
// done.
func (s *Site) laterStep(f *fit) (cardStep, bool) {
	at := f.at
	step := cardStep{Name: "Later", Path: at.Path + "/later", Done: true}
	n := len(at.Services)
	if n == 0 {
		for _, own := range at.Summary() {
			if !own.Done {
				return step, false
			}
		}
		step.Text = telling.UncheckedWords(*at.Tank, s.o.Now())
		return step, true
	}
	step.Text, step.Done = s.laterWords(f, n-1), false
	if len(at.Services[n-1].Readings) == 0 {
		return step, true
	}
	if l, err := s.laterOf(f, n-1); err == nil && l.Advice != nil && l.Advice.Do == drift.Leave {
		step.Done = true
		if due, ok := l.Due(); ok {
			step.Text += "; " + telling.DueWords(due, s.o.Now())
			step.Done = !s.o.Now().After(due)
		}
	}
	return step, true
}

// laterWords says what a check came to, in the words of the card.
func (s *Site) laterWords(f *fit, k int) string {
	service := f.at.Services[k]
	if len(service.Readings) == 0 {
		return "begun on " + dayWords(service.Date) + "; take readings"
	}
	l, err := s.laterOf(f, k)
	if err != nil {
		return howMany(len(service.Readings), "reading", "readings") + " on " + dayWords(service.Date) + "; " + err.Error()
	}
	return l.Summary()
}

// laterOf holds a check against the record, once for each revision.
func (s *Site) laterOf(f *fit, k int) (telling.Later, error) {
	key := fmt.Sprintf("%s|%d|%d|%d", f.kept.ID, f.kept.Revision, f.at.N, k)
	if found, ok := s.laters.get(key); ok {
		return found.Later, found.err
	}
	var out laterFound
	out.Later, out.err = telling.LaterOf(*f.at.Tank, k)
	s.laters.put(key, out)
	return out.Later, out.err
}

// laterFound is what came of a check, or why nothing did.
type laterFound struct {
	telling.Later
	err error
}

// toCheck gives the marks to go to at a later check of a tank, once for each
// revision; none where there is no curve to check against.
func (s *Site) toCheck(f *fit) []float64 {
	key := fmt.Sprintf("%s|%d|%d", f.kept.ID, f.kept.Revision, f.at.N)
	if marks, ok := s.checkMarks.get(key); ok {
		return marks
	}
	marks, err := sitting.ToCheck(*f.at.Tank)
	if err != nil {
		marks = nil
	}
	s.checkMarks.put(key, marks)
	return marks
}
