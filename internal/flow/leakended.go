package flow

const (
	// Leaks that were taken back: as use, and as what comes and goes.
	wasUse   = 0.3
	wasHabit = 0.4
)

// ended weighs a leak that is over: whether somebody mended it, or what was drawn was shut
// off. What went on through a day and a night was unlike any use before it.
func (t *Tracker) ended(e *record) {
	l := &t.s.Leaking
	if t.config.Steady != 0 || len(t.config.Off) > 0 {
		return
	}
	lasted, known := e.End-e.Start, e.End-e.Found
	switch {
	case lasted < day, l.Rate < waned*l.Told, known < 3*(e.Found-e.Start)/10:
		e.P = wasUse
	case lasted < 2*day:
		e.P = min(e.P, 0.7)
	}
}

// again says whether another leak was over not long before a time: what comes and goes is
// use, and so was that one.
func (t *Tracker) again(since int64) (again bool) {
	for i := range t.events {
		if e := &t.events[i]; e.What == aLeak && e.End != 0 && since-e.End < 4*day && e.P >= wasHabit {
			e.P, again = wasHabit, true
		}
	}
	return again
}
