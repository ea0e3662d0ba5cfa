package main

import (
	"fmt"
	"io"
	"math"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
	"gaugewright/internal/watch"
)

// kindWords says what kind of event one is.
func kindWords(e flow.Event) string {
	switch e.Kind {
	case flow.Refill:
		return "filled"
	case flow.Drain:
		return "let off"
	case flow.Use:
		return "used"
	case flow.Leak:
		return "leak"
	case flow.Drop:
		return "sudden drop"
	case flow.Stuck:
		return "float stuck"
	case flow.Fault:
		if e.Fault != watch.NoFault {
			return e.Fault.String()
		}
		return "fault"
	}
	return string(e.Kind)
}

// tellFollowed tells a person what came in and went out, and how it goes on.
func (r *replay) tellFollowed(w io.Writer) {
	s, f := &r.summary, r.follow
	when := func(t time.Time) string { return t.In(r.zone).Format("2006-01-02 15:04:05") }
	if s.readings == 0 {
		fmt.Fprintln(w, "No reading of the history counts.")
		return
	}
	fmt.Fprintf(w, "%s: %s, from %s to %s (%s)\n", r.about.name, plural(s.readings, "reading"), when(time.Unix(0, s.first)), when(time.Unix(0, s.last)), r.v.Zone)
	writeWrapped(w, fmt.Sprintf("  %-22s  ", "at the end"), r.nowWords(func(ns int64) string { return when(time.Unix(0, ns)) }))
	if r.v.Events {
		f.tellEvents(w, when)
	}
	if r.v.Summary {
		f.tellOutlook(w, r.zone)
	}
	writeListed(w, telling.CautionHead, "! ", r.about.cautions)
}

func (f *follower) tellEvents(w io.Writer, when func(time.Time) string) {
	events := f.tracker.Events()
	if len(events) == 0 {
		fmt.Fprintln(w, "Nothing came in or went out that stands out.")
		return
	}
	fmt.Fprintln(w, "What came in and went out:")
	g := telling.Grid{Head: []string{"from", "to", "what", "amount", "90 %", "level", "sure"}, Left: 3}
	for _, e := range events {
		end := "goes on"
		if !e.Open() {
			end = when(e.End)
		}
		amount, interval := "", ""
		if amounts(e.Kind) {
			amount = f.amount(e.Amount)
			interval = fmt.Sprintf("%s to %s", f.bare(e.Low), f.bare(e.High))
		}
		level := ""
		if e.Before >= 0 && e.After >= 0 {
			level = fmt.Sprintf("%.0f to %.0f %%", 100*e.Before, 100*e.After)
		}
		g.Rows = append(g.Rows, []string{when(e.Start), end, kindWords(e), amount, interval, level, fmt.Sprintf("%.0f %%", 100*e.P)})
	}
	writeGrid(w, g)
	for _, e := range events {
		if e.Why != "" {
			writeWrapped(w, "- ", fmt.Sprintf("%s, %s: %s", when(e.Start), kindWords(e), e.Why))
		}
	}
}

// amount says a part of what the full scale holds in litres, or where those aren't
// known in points of the scale.
func (f *follower) amount(part float64) string {
	if math.IsNaN(f.full) {
		return f.bare(part) + " points"
	}
	return f.bare(part) + " L"
}

// bare is amount without its unit.
func (f *follower) bare(part float64) string {
	if math.IsNaN(f.full) {
		return quantity.Digits(100*part, 1)
	}
	return quantity.Digits(f.litres(part), 1)
}

// tellSwing tells how far the reading swings with the day, so that nobody takes it for use.
func (f *follower) tellSwing(w io.Writer) {
	s := f.tracker.DaySwing()
	if !s.Known {
		return
	}
	points := func(part float64) string { return quantity.Digits(100*part, 1) }
	writeWrapped(w, fmt.Sprintf("  %-22s  ", "swings with the day"), fmt.Sprintf("by %s points (90 %%: %s to %s), as with its warmth: that is no use", points(s.Mid), points(s.Low), points(s.High)))
}

// tellOutlook tells how fast it is used and how long it lasts.
func (f *follower) tellOutlook(w io.Writer, zone *time.Location) {
	defer f.tellSwing(w)
	o, r := f.tracker.Ahead(), f.tracker.Model().Rate()
	if !r.Known && !o.Left.Known {
		why := o.Why
		if why == "" {
			why = "Too little was seen for that."
		}
		writeWrapped(w, "", "How fast it is used isn't known yet. "+why)
		return
	}
	add := func(name, text string) { writeWrapped(w, fmt.Sprintf("  %-22s  ", name), text) }
	name := "used"
	if f.fills {
		name = "comes in"
	}
	if r.Known {
		text := fmt.Sprintf("%s a day (90 %%: %s to %s)", f.amount(r.Mid), f.bare(r.Low), f.amount(r.High))
		if kg := f.kg(r.Mid); !math.IsNaN(kg) {
			text += fmt.Sprintf(", %s kg a day", quantity.Digits(kg, 2))
		}
		if o.Days > 0 {
			text += ", from " + plural(int64(o.Days), "whole day")
		}
		add(name, text)
	}
	if l := o.Left; l.Known {
		until := "empty in"
		if f.fills {
			until = "full in"
		}
		switch {
		case l.High > 0:
			add(until, lastsWords(l))
		case f.fills:
			add("room", "none is left")
		default:
			add("left", "nothing")
		}
	}
	if !o.FillBy.IsZero() {
		what := "fill by"
		if f.fills {
			what = "empty it by"
		}
		add(what, o.FillBy.In(zone).Format("Monday, 2 January 2006"))
	}
	if o.Why != "" {
		writeWrapped(w, "- ", o.Why)
	}
}

// lastsWords says a time that is left: in hours below two days, else in days.
func lastsWords(l outlook.Left) string {
	unit, per := "hours", 1.0
	if l.Mid >= 48*time.Hour {
		unit, per = "days", 24
	}
	in := func(d time.Duration) string {
		if d >= outlook.Farthest {
			return fmt.Sprintf("more than %.0f", outlook.Farthest.Hours()/per)
		}
		return quantity.Digits(d.Hours()/per, 1)
	}
	return fmt.Sprintf("%s to %s %s (middle %s)", in(l.Low), in(l.High), unit, in(l.Mid))
}
