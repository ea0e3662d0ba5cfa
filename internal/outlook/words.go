package outlook

import (
	"fmt"
	"strconv"
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

// Sentence says in a sentence how long it lasts and before when to fill it (or to empty
// it), for the people in a zone; never "". Figures are digits. Its forms are few, so
// that they can be said in other languages: the Why of what isn't known; "Nothing is
// left"; and "Enough for" or "Room for" one of "more than a year", "5 days", "5 to 7
// days", "at least 5 days", "at most 5 days", with hours, days, weeks or meals, and an
// end as act has it.
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
	switch {
	case o.Left.High <= 0 && o.Fills:
		return "No room is left; empty it today."
	case o.Left.High <= 0:
		return "Nothing is left; fill today."
	case o.Left.Low >= long:
		return first + "more than a year."
	}
	least, most, unit := o.span()
	wide := o.Left.High >= long || o.Left.High > farApart*o.Left.Low
	switch {
	case least == 0 && o.Left.High >= long:
		return o.untold(zone)
	case least == 0:
		return first + "at most " + number(most, unit) + o.act(zone)
	case wide:
		return first + "at least " + number(least, unit) + o.act(zone)
	case least == most:
		return first + number(most, unit) + o.act(zone)
	}
	return first + strconv.Itoa(least) + " to " + number(most, unit) + o.act(zone)
}

// farApart is from which ratio of the ends of an interval on the high one helps nobody.
const farApart = 8

// span is the interval in a unit that suits it.
func (o Outlook) span() (least, most int, unit string) {
	const (
		day  = 24 * time.Hour
		week = 7 * day
	)
	l := o.Left
	in := func(d time.Duration) (int, int) {
		return int(l.Low / d), max(1, int((l.High+d-1)/d))
	}
	switch {
	case l.High <= soon, l.Low < day && l.High <= 3*day && o.Meals == "", l.Low >= time.Hour && l.Low < day && l.High > farApart*l.Low:
		least, most = in(time.Hour)
		return least, most, "hour"
	case o.Meals != "" && l.Low < 60*day:
		return o.Least, max(1, o.Most), o.Meals[:len(o.Meals)-1]
	case l.Low >= 60*day:
		least, most = in(week)
		return least, most, "week"
	}
	least, most = in(day)
	return least, most, "day"
}

// untold is the sentence where the interval is from almost nothing to no end.
func (o Outlook) untold(zone *time.Location) string {
	switch y, m, d := o.At.In(zone).Date(); {
	case o.FillBy.IsZero() || !o.FillBy.In(zone).Equal(time.Date(y, m, d, 0, 0, 0, 0, zone)):
		return "It can't be told yet how long it lasts."
	case o.Fills:
		return "It can't be told yet how long it lasts; empty it today."
	}
	return "It can't be told yet how long it lasts; fill today."
}

// act says before which day something is to be done, and ends the sentence: "; fill
// today.", "; fill before Sunday 6 December.", with "empty it" for "fill", or ".".
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

func number(n int, unit string) string {
	if n == 1 {
		return "1 " + unit
	}
	return fmt.Sprintf("%d %ss", n, unit)
}
