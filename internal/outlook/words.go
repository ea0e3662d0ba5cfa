package outlook

import (
	"fmt"
	"math"
	"time"
)

// soon is up to when hours are counted, not days.
const soon = 36 * time.Hour

// long is from when nothing is counted: beyond that, the days to come are too little
// like those that were seen.
const long = 365 * 24 * time.Hour

// count says for how many meals, or whole days, it is enough: those that are over by
// the low end, and those that have begun by the high one.
func (m *Model) count(o Outlook) (least, most int) {
	if !o.Left.Known {
		return 0, 0
	}
	if o.Meals == "" {
		day := 24 * time.Hour
		return int(o.Left.Low / day), int((o.Left.High + day - 1) / day)
	}
	w := meals[m.meal()]
	now := m.within(o.At)
	hour := func(t time.Time, c clock) float64 { return 24 * m.wall(t, c) }
	// Meals of the day of a moment and before: over, and begun.
	number := func(t time.Time) (over, begun int) {
		c := m.within(t)
		x := hour(t, c)
		n := int(c.n - now.n)
		over, begun = n, n
		if w.to <= 24 {
			if x >= float64(w.to) {
				over++
			}
		} else if x < float64(w.to-24) {
			over--
		}
		if x > float64(w.from) {
			begun++
		}
		return over, begun
	}
	over0, _ := number(o.At)
	over, _ := number(o.At.Add(o.Left.Low))
	_, begun := number(o.At.Add(o.Left.High))
	least, most = max(0, over-over0), max(0, begun-over0)
	return least, max(most, least)
}

// Sentence says in a sentence or two how long it lasts and by when to fill it, for the
// people in a zone; "" never. Figures are digits.
func (o Outlook) Sentence(zone *time.Location) string {
	if zone == nil {
		zone = time.UTC
	}
	if !o.Left.Known {
		if o.Why == "" {
			return whyNothing
		}
		return o.Why
	}
	first := "Enough for "
	if o.Fills {
		first = "Room for "
	}
	l := o.Left
	switch {
	case l.High <= 0:
		if o.Fills {
			return "No room is left; empty it today."
		}
		return "Nothing is left; fill today."
	case l.Low >= long:
		return first + "more than a year."
	case l.High >= long && l.Low < long/4, l.High > 12*l.Low && l.Low >= soon:
		return first + "at least " + o.least() + o.act(zone)
	case l.High >= long:
		return first + "at least " + o.least() + o.act(zone)
	case l.High <= soon:
		h := func(d time.Duration) int { return int(math.Floor(d.Hours())) }
		return first + between(h(l.Low), h(l.High+time.Hour-1), "hour") + o.act(zone)
	case o.Meals != "":
		return first + between(o.Least, o.Most, o.Meals[:len(o.Meals)-1]) + o.act(zone)
	case l.Low >= 60*24*time.Hour:
		const week = 7 * 24 * time.Hour
		return first + between(int(l.Low/week), int((l.High+week-1)/week), "week") + o.act(zone)
	}
	return first + between(o.Least, o.Most, "day") + o.act(zone)
}

// least says how long it lasts at least.
func (o Outlook) least() string {
	switch {
	case o.Left.Low < soon:
		return number(int(o.Left.Low.Hours()), "hour")
	case o.Meals != "" && o.Left.Low < 60*24*time.Hour:
		return number(o.Least, o.Meals[:len(o.Meals)-1])
	}
	return number(int(o.Left.Low/(24*time.Hour)), "day")
}

// act says by when something is to be done.
func (o Outlook) act(zone *time.Location) string {
	if o.FillBy.IsZero() || o.FillBy.Sub(o.At) > long {
		return "."
	}
	verb := "fill"
	if o.Fills {
		verb = "empty it"
	}
	today := o.At.In(zone)
	y, mo, d := today.Date()
	fy, fm, fd := o.FillBy.In(zone).Date()
	if fy == y && fm == mo && fd == d {
		return "; " + verb + " today."
	}
	// The first day on which it may be empty.
	risk := time.Date(fy, fm, fd+1, 12, 0, 0, 0, zone)
	return fmt.Sprintf("; %s before %s %d %s.", verb, risk.Weekday(), risk.Day(), risk.Month())
}

// between says from how many to how many.
func between(low, high int, unit string) string {
	if high <= low {
		return number(low, unit)
	}
	return fmt.Sprintf("%d to %d %ss", low, high, unit)
}

func number(n int, unit string) string {
	if n == 1 {
		return "1 " + unit
	}
	return fmt.Sprintf("%d %ss", n, unit)
}
