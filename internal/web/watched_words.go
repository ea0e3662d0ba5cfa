package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

type figure = gauge.Figure

// ne107 is the status by its name in NAMUR NE 107; "" where nothing is amiss.
func ne107(s watch.Status) string {
	switch s {
	case watch.Failure:
		return "failure"
	case watch.Check:
		return "function check"
	case watch.OutOfSpec:
		return "out of specification"
	case watch.Maintenance:
		return "maintenance required"
	case watch.Good:
	}
	return ""
}

// watchedStatus says in a sentence how far a level can be believed.
func watchedStatus(v watch.Level, zone *time.Location) string {
	if v.Time.IsZero() && v.Last.Time.IsZero() {
		return "No reading has come yet."
	}
	if text := v.Reason(zone); text != "" {
		return asSentence(text)
	}
	if !v.Shown || v.Status != watch.Good {
		return "What is amiss isn't known."
	}
	return "Good."
}

// watchedReading says what the last reading was.
func watchedReading(v watch.Level) []string {
	var list []string
	value := map[watch.Signal]string{watch.Ohm: "Ω", watch.Volt: "V", watch.Count: "counts", watch.Percent: "%"}
	switch {
	case !finite(v.Raw):
		list = append(list, "The last reading had no value.")
	case v.Signal != watch.Ohm && finite(float64(v.Ohm)):
		list = append(list, fmt.Sprintf("The last reading was %s %s, which is %s Ω at the sender.", quantity.Short(v.Raw, 3), value[v.Signal], quantity.Short(float64(v.Ohm), 1)))
	default:
		list = append(list, fmt.Sprintf("The last reading was %s %s.", quantity.Short(v.Raw, 3), value[v.Signal]))
	}
	if v.Source != "" {
		list = append(list, "It came by "+v.Source+".")
	}
	if v.Clock == watch.ArrivalClock {
		list = append(list, "Its time is when it came in: its source has no clock that can be believed.")
	}
	return list
}

// watchedTroubleOf says what is amiss with the watch itself.
func watchedTroubleOf(s Standing, now time.Time) watchedTrouble {
	t := watchedTrouble{Why: s.Failing, Notes: slices.Clone(s.Notes)}
	slices.Reverse(t.Notes)
	for _, c := range s.Lost {
		if c.N > 0 {
			t.Lost = append(t.Lost, watchedCount{strconv.FormatUint(c.N, 10), c.Why})
		}
	}
	if s.Failing == "" {
		return t
	}
	t.Failing = cannotKeep(s.Disk)
	if !s.Since.IsZero() {
		t.Failing += " Since " + clockWords(s.Since, now) + "."
	}
	switch s.Waiting {
	case 0:
		t.Waiting = "No reading waits to be kept."
	case 1:
		t.Waiting = "1 reading waits to be kept, and isn't acknowledged until it is."
	default:
		t.Waiting = fmt.Sprintf("%d readings wait to be kept, and aren't acknowledged until they are.", s.Waiting)
	}
	return t
}

// watchedSummary says in a sentence how many of the levels are good.
func watchedSummary(all, bad int) string {
	switch {
	case all == 0:
		return "No tank is watched."
	case bad == 0 && all == 1:
		return "One tank, and its level is good."
	case bad == 0:
		return fmt.Sprintf("%d tanks, and all levels are good.", all)
	case all == 1:
		return "One tank, and its level isn't good."
	case bad == all:
		return fmt.Sprintf("%d tanks, and no level is good.", all)
	}
	if bad == 1 {
		return fmt.Sprintf("1 of %d levels isn't good.", all)
	}
	return fmt.Sprintf("%d of %d levels aren't good.", bad, all)
}

// points is how many decimals a level of that doubt deserves, in percent.
func points(u quantity.Share) int {
	if 2*float64(u)*100 < 1 {
		return 1
	}
	return 0
}

// sharePct writes a share as a percentage: "61 %".
func sharePct(v, u quantity.Share) string {
	return quantity.Minus(quantity.Digits(float64(v)*100, points(u))) + " %"
}

// betweenPct writes the 95 % interval, rounded outwards so that it never tells more
// than is known: "58 to 64 %".
func betweenPct(v watch.Level) string {
	n := points(v.U)
	step := math.Pow(10, float64(n))
	low, high := math.Floor(float64(v.Low)*100*step+1e-6)/step, math.Ceil(float64(v.High)*100*step-1e-6)/step
	return quantity.Digits(max(0, low), n) + " to " + quantity.Digits(high, n) + " %"
}

// ago writes an age in words. It is cut and not rounded, as ages are told; the
// page's script says the same.
func ago(d time.Duration) string {
	if d < time.Second {
		return "just now"
	}
	return spell(d) + " ago"
}

// spell writes how long something is: "4 s", "12 min", "3 h", "5 days".
func spell(d time.Duration) string {
	n := func(unit time.Duration) string { return strconv.FormatInt(int64(d/unit), 10) }
	switch {
	case d < 2*time.Minute:
		return n(time.Second) + " s"
	case d < 2*time.Hour:
		return n(time.Minute) + " min"
	case d < 48*time.Hour:
		return n(time.Hour) + " h"
	}
	return n(24*time.Hour) + " days"
}

// clockWords writes a moment of the day, with the day where that isn't today.
func clockWords(at, now time.Time) string {
	at = at.In(now.Location())
	clock := at.Format(time.TimeOnly)
	switch {
	case at.Format(time.DateOnly) == now.Format(time.DateOnly):
		return clock
	case at.Year() == now.Year():
		return at.Format("2 Jan") + ", " + clock
	}
	return at.Format("2 Jan 2006") + ", " + clock
}

// watchedFeedOf says how a feed stands.
func watchedFeedOf(f FeedState, now time.Time) watchedFeed {
	out := watchedFeed{Name: f.Name, Class: "up"}
	since := clockWords(f.Since, now)
	switch {
	case f.Up:
		out.State, out.Where = "Connected since "+since+".", f.Where
	case f.Since.IsZero():
		out.State, out.Class = "Not connected yet.", "down"
	default:
		out.State, out.Class, out.Where = "Not connected since "+since+".", "down", f.Why
	}
	if wait := f.Again.Sub(now); !f.Up && wait > 0 {
		out.State += " It will be tried again in " + spell(wait+time.Second-1) + "."
	}
	for _, c := range f.Refused {
		if c.N > 0 {
			out.Refused = append(out.Refused, watchedCount{strconv.FormatUint(c.N, 10), c.Why})
		}
	}
	kept := howMany(int(min(f.Taken, math.MaxInt)), "reading", "readings")
	switch {
	case f.Taken > 0 && out.Refused == nil:
		out.Came = kept + " kept, none refused."
	case f.Taken > 0:
		out.Came = kept + " kept. Refused or unusual:"
	case out.Refused == nil:
		out.Came = "None refused."
	default:
		out.Came = "Refused or unusual:"
	}
	return out
}
