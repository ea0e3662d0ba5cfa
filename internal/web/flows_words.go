package web

import (
	"fmt"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/chart"
	"gaugewright/internal/flow"
	"gaugewright/internal/job"
)

// sure is from which probability on something is told without a "probably".
const sure = 0.9

// happening is something that happened to a tank, whoever tells of it.
type happening struct {
	at, to time.Time // to: zero for a moment
	text   string    // a sentence
	why    string    // what it was told by, for the fitter; ""
	own    string    // what in it isn't ours
	way    chart.Way
}

// spanWords writes from when to when something was: "3 Nov, 14:02 to 14:09", and
// "since 3 Nov, 14:02" where it goes on.
func spanWords(e flow.Event, now time.Time) string {
	zone := now.Location()
	from := e.Start.In(zone).Truncate(time.Minute)
	if e.Open() {
		return "since " + momentWords(from, now)
	}
	to := e.End.In(zone).Truncate(time.Minute)
	switch {
	case !to.After(from):
		return momentWords(from, now)
	case to.Format(time.DateOnly) == from.Format(time.DateOnly):
		return momentWords(from, now) + " to " + to.Format("15:04")
	}
	return momentWords(from, now) + " to " + momentWords(to, now)
}

// flowWords says in a sentence what happened, with its amount, its doubt and how
// likely it is.
func flowWords(l Label, m measure, e flow.Event, now time.Time) string {
	amount, when, likely := m.around(e.Amount, e.Low, e.High), spanWords(e, now), e.P < sure
	one := func(plainly, probably string, args ...any) string {
		if likely {
			return fmt.Sprintf(probably, args...)
		}
		return fmt.Sprintf(plainly, args...)
	}
	if !(e.Amount > 0) {
		amount = "" // it has none
	}
	waste := l.Contents == job.Waste
	switch e.Kind {
	case flow.Refill:
		if waste {
			return one("%s came in at once, %s.", "Probably %s came in at once, %s.", amount, when)
		}
		return one("Filled with %s, %s.", "Probably filled with %s, %s.", amount, when)
	case flow.Drain:
		if waste {
			return one("Emptied by %s, %s.", "Probably emptied by %s, %s.", amount, when)
		}
		return one("%s let off, %s.", "Probably %s let off, %s.", amount, when)
	case flow.Use:
		if waste {
			return one("%s came in, %s.", "Probably %s came in, %s.", amount, when)
		}
		return one("Drawn %s, %s.", "Probably drawn %s, %s.", amount, when)
	case flow.Drop:
		return one("Fell at once by %s, %s: taken out, spilt, or the sender was knocked.", "Probably fell at once by %s, %s: taken out, spilt, or the sender was knocked.", amount, when)
	case flow.Leak:
		return leakPast(m, e, amount, when, one)
	case flow.Stuck:
		return one("The float doesn’t move although the level must, %s.", "The float probably doesn’t move although the level must, %s.", when)
	case flow.Fault:
	}
	return ""
}

func leakPast(m measure, e flow.Event, amount, when string, one func(string, string, ...any) string) string {
	pace := m.pace(e.PerHour)
	switch {
	case e.PerHour > 0 && amount != "":
		return one("A leak: about %s an hour, %s in all, %s.", "Probably a leak: about %s an hour, %s in all, %s.", pace, amount, when)
	case e.PerHour > 0:
		return one("A leak: about %s an hour, %s.", "Probably a leak: about %s an hour, %s.", pace, when)
	}
	return one("A leak, %s.", "Probably a leak, %s.", when)
}

// wayOf says which sign stands on an event's flag.
func wayOf(l Label, k flow.Kind) chart.Way {
	switch k {
	case flow.Refill:
		return chart.CameIn
	case flow.Drain, flow.Leak, flow.Drop:
		return chart.WentOut
	case flow.Use, flow.Stuck, flow.Fault:
	}
	return chart.NeitherWay
}

// leakSaid says on the owner's page that a tank leaks, what that comes to, and what
// to do first. A figure never says that there is no leak.
func leakSaid(l Label, m measure, e flow.Event, now time.Time) (what, do, since string) {
	probably := e.P < sure
	switch {
	case l.Contents == job.LPG && probably:
		what = "Gas is probably leaking: it falls steadily though little or nothing should draw."
	case l.Contents == job.LPG:
		what = "Gas is leaking: it falls steadily though little or nothing should draw."
	case probably:
		what = "It is probably leaking: it falls steadily though little or nothing should draw."
	default:
		what = "It is leaking: it falls steadily though little or nothing should draw."
	}
	switch l.Contents {
	case job.LPG:
		do = alarm.GasLeaks
	case job.Diesel, job.Petrol:
		do = "Close the tap of the tank. No flame, no spark. Look for wet places from outside, and call someone licensed."
	case job.Water:
		do = "Switch the pump off and look for water. Then ask your fitter."
	case job.Waste:
		do = "Look below the tank. Then ask your fitter."
	default:
		do = "Find out first whether it burns or harms: until then handle it as if it did. Then ask your fitter."
	}
	since = "Since " + leftClock(e.Start, now) + "."
	if e.PerHour > 0 {
		since += " About " + m.pace(e.PerHour) + " an hour."
	}
	return what, do, since
}
