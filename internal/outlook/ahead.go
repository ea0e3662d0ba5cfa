package outlook

import (
	"math"
	"time"
)

// Reasons why nothing is known.
const (
	whyNothing = "No use has been seen yet."
	whyHidden  = "The level can't be believed at present."
	whyUnused  = "Nothing has been used since it is watched."
	whyFaint   = "What was used is less than the doubt of the level."
)

// Ahead gives how it goes on: many ways in which it may, each a mean use, a habit, a
// level and a run of days that the days so far allow, and of each when the tank is
// empty (or full). The same days and standing give the same figures.
func (m *Model) Ahead(s Standing) Outlook {
	o := Outlook{At: s.Now, Fills: m.fills(s), Days: m.wholeDays()}
	if !(s.Leak >= 0) || s.Leak > 1e3 {
		s.Leak = 0
	}
	if !(s.LeakU > 0) || s.LeakU > 1e3 {
		s.LeakU = s.Leak * leakDoubt
	}
	// A leak empties it whether or not the use is known, and an empty one is empty.
	spent := s.Shown && m.spent(s)
	if o.Why = m.unknown(); o.Why != "" && s.Leak == 0 && !spent {
		return o
	}
	r := m.reckon()
	w := m.walk(r, s, o.Why != "")
	if o.Why == "" {
		o.Rate = w.rate
	}
	o.Why = ""
	o.Idle = w.idle
	if mi := m.meal(); mi >= 0 {
		o.Meals = meals[mi].name
	}
	if !s.Shown || math.IsNaN(s.Level) || math.IsNaN(s.U) {
		o.Why = whyHidden
		return o
	}
	if spent {
		clear(w.times)
	}
	low, mid, high := quantile(w.times, 0.05), quantile(w.times, 0.5), quantile(w.times, 0.95)
	o.Left = Left{Known: true, Low: low, Mid: mid, High: high}
	o.FillBy = m.fillBy(s.Now, quantile(w.times, 0.10))
	o.Least, o.Most = m.count(o)
	return o
}

// leakDoubt is how well the rate of a leak is known, over it, where that isn't said: it
// slows as the level falls, and is seen for hours only (common practice, no source).
const leakDoubt = 0.125

// spentWithin is within how many of its standard uncertainties of the end a level can't
// be told from it: the end is in its 95 % interval.
const spentWithin = 2

// spent says that nothing is left, or no room: the level can't be told from that. An
// empty tank reads a little above its end as often as below.
func (m *Model) spent(s Standing) bool {
	there := s.Level - s.To
	if m.fills(s) {
		there = s.To - s.Level
	}
	return there <= max(0, spentWithin*s.U)
}

// unknown is why nothing is known of the use; "" where something is.
func (m *Model) unknown() string {
	switch {
	case m.c.Prior > 0:
	case len(m.days) == 0:
		return whyNothing
	case m.total <= 0:
		return whyUnused
	case m.total < 3*math.Sqrt(m.slips+m.lu2):
		return whyFaint
	}
	return ""
}

// fills says that the tank lasts until it is full.
func (m *Model) fills(s Standing) bool { return m.c.Fills || s.To >= 1 }

// fillBy is the last day whose end lies before a time from now.
func (m *Model) fillBy(now time.Time, left time.Duration) time.Time {
	if left >= Farthest {
		return time.Time{}
	}
	today := m.within(now)
	n := m.within(now.Add(left)).n - 1
	return beginning(max(n, today.n), m.zone)
}

// quantile is that of sorted times, between the two nearest.
func quantile(t []time.Duration, p float64) time.Duration {
	x := p*float64(len(t)) - 0.5
	i := int(math.Floor(x))
	if i < 0 {
		return t[0]
	}
	if i+1 >= len(t) {
		return t[len(t)-1]
	}
	return t[i] + time.Duration((x-float64(i))*float64(t[i+1]-t[i]))
}
