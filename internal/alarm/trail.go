package alarm

import (
	"math"
	"time"

	"gaugewright/internal/watch"
)

// trail are levels of the last while, by which it is seen how fast a tank falls.
type trail struct {
	list []step
}

type step struct {
	at    time.Time
	share float64 // of what the full scale holds
	u     float64
}

// Of a trail a level a minute is kept, for so many minutes; a rate is told over the
// on-delay of its alarm, within these bounds.
const (
	stepEvery = time.Minute
	steps     = 6 * 60
)

// The least and the longest while over which a rate is told.
const (
	shortestWhile = 5 * time.Minute
	longestWhile  = steps * stepEvery
)

// add adds a level; one that tells nothing is left out. The newest is always the last.
func (t *trail) add(l watch.Level, content func(float64) float64) {
	if !believed(l) {
		return
	}
	s := step{l.Time, float64(l.Share), float64(l.U)}
	if content != nil {
		s.share, s.u = content(s.share), (content(min(1, s.share+s.u))-content(max(0, s.share-s.u)))/2
	}
	if n := len(t.list); n >= 2 && s.at.Sub(t.list[n-2].at) < stepEvery {
		t.list[n-1] = s
		return
	}
	if len(t.list) == steps+1 {
		t.list = append(t.list[:0], t.list[1:]...)
	}
	t.list = append(t.list, s)
}

// fall gives the rate at which it fell over a while, in parts of the full scale an hour, with
// its standard uncertainty: that of a difference of two levels whose doubts have nothing
// to do with each other, which is more than there is. Not ok: too little is known.
func (t *trail) fall(while time.Duration) (rate, u float64, ok bool) {
	n := len(t.list)
	if n < 2 {
		return 0, 0, false
	}
	last := t.list[n-1]
	while = min(max(while, shortestWhile), longestWhile)
	from := n - 1
	for from > 0 && last.at.Sub(t.list[from-1].at) <= while {
		from--
	}
	first := t.list[from]
	hours := last.at.Sub(first.at).Hours()
	if hours < 0.8*while.Hours() {
		return 0, 0, false
	}
	return (first.share - last.share) / hours, math.Hypot(first.u, last.u) / hours, true
}

// odds are those of a rule about the rate. The while is its on-delay, so what is sure
// counts at once.
func (t *trail) odds(r Rule) (odds, bool) {
	rate, u, ok := t.fall(r.On)
	return odds{there: 1 - below(r.Setpoint, rate, u), back: below(r.Setpoint-r.Deadband, rate, u)}, ok
}
