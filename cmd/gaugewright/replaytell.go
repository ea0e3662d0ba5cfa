package main

import (
	"fmt"
	"io"
	"math"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
	"gaugewright/internal/watch"
)

// summary is what is remembered of the levels for a person.
type summary struct {
	first, last      int64 // times, ns
	readings, moving int64
	without          int64   // of them no level is shown
	least, most      float64 // shown, percent
	leastAt, mostAt  int64
	spells           []spell
	more             map[watch.Fault]int64 // beyond mostSpells
	open             bool                  // the last spell goes on
}

// spell is a time in which the same was amiss.
type spell struct {
	fault    watch.Fault
	status   watch.Status
	from, to int64
	readings int64
	shown    bool // levels were shown all the same
}

// few is how many readings a level may take to settle without being told of.
const few = 5

// mostSpells is how many spells are told one by one.
const mostSpells = 100

func (s *summary) begin() {
	s.least, s.most, s.more = math.Inf(1), math.Inf(-1), map[watch.Fault]int64{}
}

func (s *summary) add(l *watch.Level, at int64, reading bool) {
	if reading {
		if s.readings == 0 {
			s.first = at
		}
		s.readings++
		s.last = at
		if l.Motion == watch.Moving {
			s.moving++
		}
	}
	if reading && !l.Shown {
		s.without++
	}
	if pct := 100 * float64(l.Share); l.Shown {
		if pct < s.least {
			s.least, s.leastAt = pct, at
		}
		if pct > s.most {
			s.most, s.mostAt = pct, at
		}
	}
	if l.Fault == watch.NoFault {
		s.open = false
		return
	}
	if s.open {
		last := &s.spells[len(s.spells)-1]
		if last.fault == l.Fault {
			last.to = at
			last.shown = last.shown || l.Shown
			if weight(l.Status) > weight(last.status) {
				last.status = l.Status
			}
			if reading {
				last.readings++
			}
			return
		}
	}
	from := at
	if l.Fault == watch.NoReading { // it began with the last one
		from = l.Since.UnixNano()
	}
	if len(s.spells) >= mostSpells {
		s.more[l.Fault]++
		s.open = false
		return
	}
	n := int64(0)
	if reading {
		n = 1
	}
	s.spells = append(s.spells, spell{l.Fault, l.Status, from, at, n, l.Shown})
	s.open = true
}

// weight puts the kinds of status in order: the one that tells least last.
func weight(s watch.Status) int {
	switch s {
	case watch.Failure:
		return 4
	case watch.Check:
		return 3
	case watch.OutOfSpec:
		return 2
	case watch.Maintenance:
		return 1
	}
	return 0
}

// tell tells what the history shows to a person.
func (r *replay) tell(w io.Writer) {
	s := &r.summary
	when := func(ns int64) string { return time.Unix(0, ns).In(r.zone).Format("2006-01-02 15:04:05") }
	if r.v.Every > 0 {
		fmt.Fprintln(w)
	}
	if s.readings == 0 {
		fmt.Fprintln(w, "No reading of the history counts.")
		return
	}
	fmt.Fprintf(w, "%s: %s, from %s to %s (%s)\n", r.about.name, plural(s.readings, "reading"), when(s.first), when(s.last), r.v.Zone)
	rows := [][]string{}
	add := func(name, text string) { rows = append(rows, []string{name, text}) }
	add("at the end", r.nowWords(when))
	if s.most >= s.least {
		add("least", fmt.Sprintf("%s %% on %s", quantity.Digits(s.least, 1), when(s.leastAt)))
		add("greatest", fmt.Sprintf("%s %% on %s", quantity.Digits(s.most, 1), when(s.mostAt)))
	}
	if s.moving > 0 {
		add("moving", fmt.Sprintf("%s of the readings", quantity.Share(quantity.Round(float64(s.moving)/float64(s.readings), 3))))
	}
	if s.without > 0 {
		add("without a level", fmt.Sprintf("%d of the readings (%s)", s.without, quantity.Share(quantity.Round(float64(s.without)/float64(s.readings), 3))))
	}
	_, placed := r.history.Aside()
	if placed > 0 {
		add("out of order", fmt.Sprintf("%s placed by the time", plural(placed, "row")))
	}
	for _, c := range r.watch.Counts().Named() {
		if c.Name != "taken" {
			add(c.Name, fmt.Sprint(c.N))
		}
	}
	for _, row := range rows {
		writeWrapped(w, fmt.Sprintf("  %-22s  ", row[0]), row[1])
	}
	r.tellSpells(w, when)
	writeListed(w, telling.CautionHead, "! ", r.about.cautions)
}

func (r *replay) nowWords(when func(int64) string) string {
	l := r.last
	if !l.Shown {
		return l.Reason(r.zone)
	}
	text := fmt.Sprintf("%s %% (95 %%: %s to %s %%)", quantity.Digits(100*float64(l.Share), 1), quantity.Digits(100*float64(l.Low), 1), quantity.Digits(100*float64(l.High), 1))
	if v := l.Volume.Mid; !math.IsNaN(v) {
		text += fmt.Sprintf(", %s L", quantity.Digits(1000*v, 1))
	}
	if m := l.Mass.Mid; !math.IsNaN(m) {
		text += fmt.Sprintf(", %s kg", quantity.Digits(m, 2))
	}
	text += ", read on " + when(r.at)
	if why := l.Reason(r.zone); why != "" {
		text += "; " + l.Status.String() + ": " + why
	}
	return text
}

func (r *replay) tellSpells(w io.Writer, when func(int64) string) {
	s := &r.summary
	g := telling.Grid{Head: []string{"from", "to", "readings", "status", "what", "level"}, Left: 2}
	for _, p := range s.spells {
		// Some readings to get going are nobody's fault.
		if p.fault == watch.Unsettled && p.readings <= few {
			continue
		}
		level := "not shown"
		if p.shown {
			level = "shown"
		}
		g.Rows = append(g.Rows, []string{when(p.from), when(p.to), fmt.Sprint(p.readings), p.status.String(), p.fault.String(), level})
	}
	if len(g.Rows) == 0 {
		fmt.Fprintln(w, "Nothing was amiss.")
		return
	}
	fmt.Fprintln(w, "What was amiss:")
	writeGrid(w, g)
	for f := watch.Fault(0); f < 255; f++ {
		if n := s.more[f]; n > 0 {
			fmt.Fprintf(w, "  and %d more of %s\n", n, f)
		}
	}
}

// tableLine is one level in the table of --every.
func tableLine(out []byte, l watch.Level, at int64, zone *time.Location) []byte {
	out = time.Unix(0, at).In(zone).AppendFormat(out, "2006-01-02 15:04:05")
	if !l.Shown {
		return fmt.Appendf(out, "       –                    %-12s %s", l.Status, l.Reason(zone))
	}
	volume := "          "
	if v := l.Volume.Mid; !math.IsNaN(v) {
		volume = fmt.Sprintf("%8s L", quantity.Digits(1000*v, 1))
	}
	out = fmt.Appendf(out, "  %5s %% ± %4s  %s  ", quantity.Digits(100*float64(l.Share), 1), quantity.Digits(200*float64(l.U), 1), volume)
	if l.Status == watch.Good {
		return append(out, l.Motion.String()...)
	}
	return fmt.Appendf(out, "%-12s %s", l.Status, l.Reason(zone))
}
