package record

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// shown is one mark of the curve on the display.
type shown struct {
	mark          float64
	ohm           quantity.Ohm
	should, shown quantity.Share
	doubt         quantity.Share // about 95 %
	beyond        bool           // above the permitted fill
}

// shown works out what the display will show at each mark of the curve.
func (b tank) shown() []shown {
	var rows []shown
	limit := b.fullMark()
	for _, p := range b.curve.Points() {
		rows = append(rows, shown{
			mark: p.Mark, ohm: p.Ohm, should: b.scale.Target(p.Mark), shown: b.keyed.Show(p.Ohm),
			doubt:  steepness(b.keyed, p.Ohm, doubt.UsualFactor*p.U),
			beyond: limit != nil && p.Mark > *limit*(1+1e-9),
		})
	}
	return rows
}

// steepness gives how far a setting moves for a doubt in ohms: by its slope
// for two end values, and for a table to the side where it moves more. That a
// display is held at its ends takes nothing from the doubt of two end values.
func steepness(s span.Setting, ohm, u quantity.Ohm) quantity.Share {
	if e, ok := s.(span.Ends); ok {
		return quantity.Share(math.Abs(float64(u / (e.Upper - e.Lower))))
	}
	moved, _, _ := span.Spread(s, ohm, u)
	return moved
}

// worstOf gives the row of the largest error, or −1 where all are as good as
// nothing.
func worstOf(rows []shown) int {
	worst, at := 0.0005, -1
	for i, r := range rows {
		if e := math.Abs(float64(r.shown - r.should)); e > worst {
			worst, at = e, i
		}
	}
	return at
}

// shownTable is what will be shown at each mark.
func (b tank) shownTable() Table {
	t := Table{ID: b.id + "-shown", Heading: "What will be shown",
		Columns: []Column{{markHead(b.unit), true}, {ohmHead(b.Signal()), true}, {"Should show, %", true}, {"Will show, %", true}, {"Error, points", true}, {"Doubt, points", true}}}
	if b.litres() {
		t.Columns = append(t.Columns[:1], append([]Column{{"Litres", true}}, t.Columns[1:]...)...)
	}
	rows := b.shown()
	worst := worstOf(rows)
	any := false
	for i, r := range rows {
		mark := b.unit.Figure(r.mark)
		if r.beyond {
			mark, any = "† "+mark, true
		}
		cells := []string{mark}
		if b.litres() {
			// Cut: it must not tell more than there is.
			cells = append(cells, quantity.Digits(downward(b.filling.Share(r.mark)*float64(b.filling.Capacity)*1000), 1))
		}
		t.Rows = append(t.Rows, Row{Strong: i == worst, Cells: append(cells,
			b.Signal().Figure(r.ohm), points(r.should), points(r.shown), signed(r.shown-r.should), doubtIn(r.doubt))})
	}
	note := capital(b.Signal().Figures()) + " as the curve has them. Doubt: about 95 %, of the curve alone; the meter's own error isn't in it."
	if b.Bench.Doubts != nil {
		note = capital(b.Signal().Figures()) + " as the curve has them. Doubt: about 95 %, of the curve, with the errors stated for what it was read with."
	}
	if worst >= 0 {
		note = "Bold: the largest error. " + note
	}
	if any {
		t.Notes = append(t.Notes, "† Above the permitted fill: the tank must not be filled so far.")
	}
	t.Notes = append(t.Notes, note)
	if b.litres() {
		from := ""
		if b.filling.Words != "" {
			from = " " + b.filling.Words
		}
		t.Notes = append(t.Notes, "Litres at each mark"+from+", with the tank level.")
	}
	return t
}

// doubtIn prints a doubt in points, as far as there is any sense in one.
func doubtIn(s quantity.Share) string {
	if s <= 1 {
		return "±" + upward(float64(s)*100)
	}
	return "over 100"
}

// sure shortens a probability in words for a column, and keeps it in one piece.
var sure = strings.NewReplacer("over ", ">", "under ", "<", " %", "\u00a0%")

// checkTable is one check of the display.
func (b tank) checkTable(i int, p job.Proved) Table {
	heading := "Check"
	switch p.Check.When {
	case job.AsFound:
		heading = "Check as found, before setting"
		if later := b.comesLater(); i < len(later) && later[i] {
			heading = "Check as found, at a later visit"
		}
	case job.AsLeft:
		heading = "Check as left"
		if later := b.comesLater(); i < len(later) && later[i] {
			heading = "Check as left, at a later visit"
		}
	}
	t := Table{ID: fmt.Sprintf("%s-check-%d", b.id, i+1), Heading: heading + ": " + verdict(p.Proof),
		Columns: []Column{{markHead(b.unit), true}, {"Should show, %", true}, {"Shown, %", true}, {"Error, points", true}, {"Verdict; sure within", false}}}
	least, most := quantity.Share(math.Inf(1)), quantity.Share(0)
	for _, r := range p.Proof.Rows {
		least, most = min(least, doubt.UsualFactor*r.U), max(most, doubt.UsualFactor*r.U)
		said := r.Verdict.String() + "; " + sure.Replace(r.Odds())
		if note := clean(r.Note); note != "" {
			said += " (" + note + ")"
		}
		t.Rows = append(t.Rows, Row{Strong: !r.Pass, Cells: []string{b.unit.Figure(r.Mark), points(r.Target), points(r.Shown), signed(r.Error()), said}})
	}
	upTo := ""
	if least < most-0.0005 {
		upTo = "up to "
	}
	note := fmt.Sprintf("Tolerance ±%s points; behind each verdict, how sure it is that the display is truly within that. Doubt of the error: %s%s points (about 95 %%), from %s.",
		quantity.Short(float64(p.Proof.Tolerance)*100, 2), upTo, doubtIn(most), p.Proof.Sources())
	if by := byOn(p.Check.By, p.Check.Date); by != "" {
		note = "Checked " + by + ". " + note
	}
	t.Notes = append(t.Notes, note, p.Proof.Rule())
	for _, f := range p.Proof.Findings() {
		s := SentenceOf(f)
		t.Notes = append(t.Notes, s.Word+": "+s.Text)
	}
	if note := clean(p.Check.Note); note != "" {
		t.Notes = append(t.Notes, note)
	}
	return t
}

// verdict puts a proof into words.
func verdict(p span.Proof) string { return p.Verdict.String() + ", " + p.Judgement() }

// strip is the readings as they were taken.
func (b tank) strip() Strip {
	s := Strip{Heading: "Readings as they were taken"}
	type pair struct{ mark, ohm float64 }
	aside := map[pair]bool{}
	if b.curve != nil {
		// Whether a reading is set aside is settled by its mark and its ohms,
		// so equal readings share the verdict.
		for _, r := range b.curve.SetAside() {
			aside[pair{r.Mark, quantity.Round(float64(r.Ohm), 9)}] = true
		}
	}
	// The curve has them without the shorted test leads.
	leads := float64(b.Doubts().Leads)
	setAside, struckOut, decimals := false, false, 0
	for _, r := range b.Bench.Strip() {
		if text := quantity.Short(r.Ohm, 3); strings.Contains(text, ".") {
			decimals = max(decimals, len(text)-strings.Index(text, ".")-1)
		}
	}
	for _, r := range b.Bench.Strip() {
		e := Entry{Mark: notStated, Ohm: quantity.Digits(r.Ohm, decimals) + " " + r.Signal.Unit(), Note: clean(r.Note),
			Sweep: map[string]string{curve.Up.String(): "▲ up", curve.Down.String(): "▽ down"}[r.Sweep]}
		mark, unit, ok := r.Mark()
		if ok {
			e.Mark = quantity.Short(mark, 2) + " " + unit.Symbol()
		}
		switch {
		case r.Struck:
			e.Out, struckOut = "struck out", true
			if reason := clean(b.Bench.Struck[r.Index].Reason); reason != "" {
				e.Note = strings.Trim(e.Note+"; "+reason, "; ")
			}
		case ok && aside[pair{unit.FromShown(mark), quantity.Round(r.Ohm-leads, 9)}]:
			e.Out, setAside = "set aside", true
		}
		s.Entries = append(s.Entries, e)
	}
	if setAside {
		s.Notes = append(s.Notes, "Set aside: a suspected mistake; the curve doesn't rest on it.")
	}
	if struckOut {
		s.Notes = append(s.Notes, "Struck out: taken back by whoever read it, and kept with the reason; the curve doesn't rest on it.")
	}
	return s
}
