package web

import (
	"encoding/json"
	"math"
	"slices"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
)

// takeBody is the part of a page on which readings are taken: the bench, and a
// later check. Its forms post to addresses under its path.
type takeBody struct {
	Path     string
	Query    string // behind the addresses of its forms
	Held     string // names what a browser couldn't send yet
	TankName string
	Correct  string // the page on which a reading is put right; "": there is none
	Later    bool   // it is a later check and not the bench
	Key      string
	Wrong    benchWrong
	Said     string

	Unit, MarkUnit, Figures string // "Ω", "%", "ohms"
	Marks, Gives            string // the names of the fields that readings are in
	Meter                   meterWords
	MeterJSON               string // the same for the page's script
	Metered                 bool   // ohms come from a meter
	Ready                   bool   // there is something that Take takes
	Typed                   string

	Mark, Sweep     string
	Suggested       benchNext
	Step, Low, High string
	Ladder          string // the marks of a first sweep, with a blank between

	Doubtful  *record.Sentence
	Strip     []benchLine
	Undo      *benchUndo
	StripNote []string
	Hand      *benchHand
}

// benchNext is a mark that is worth going to, as it is written.
type benchNext struct{ Mark, Sweep, Words string }

// benchHand is the panel that moves a simulated sender.
type benchHand struct{ Low, High, Step, At, Next string }

// takeOf is what such a page shows of a tank, before a meter is asked.
func takeOf(path string, t job.Tank, ask benchAsk, wrong benchWrong) takeBody {
	unit, signal := t.Unit(), t.Signal()
	return takeBody{Path: path, Held: path, TankName: t.Name, Key: newKey(), Wrong: wrong, Said: benchSaid[ask.Said],
		Unit: signal.Unit(), MarkUnit: unit.Symbol(), Figures: signal.Figures(), Typed: ask.Typed,
		Marks: unit.Column(), Gives: signal.Column()}
}

// listen notes what the meter on the bench says, and for the page's script what
// that is in the words of who asks.
func (s *Site) listen(b *takeBody, meter meterWords) {
	b.Meter = s.meterNow()
	if text, err := json.Marshal(meter); err == nil { // it is text and numbers
		b.MeterJSON = string(text)
	}
	b.Metered = b.Meter.Name != ""
	b.Ready = !b.Metered || b.Meter.State == sitting.Reading.String() && b.Meter.Unit == b.Unit
}

// hand adds the panel of a simulated sender, where there is one.
func (s *Site) hand(b *takeBody) {
	if s.o.Hand != nil && b.High != "" {
		b.Hand = &benchHand{Low: b.Low, High: b.High, Step: b.Step, At: b.Mark, Next: b.Suggested.Mark}
	}
}

// place settles which mark the page stands at and which way it goes; it gives
// the mark, or false where there is none.
func (b *takeBody) place(t job.Tank, ask benchAsk, suggest func(curve.Sweep) sitting.Next) benchMark {
	unit := t.Unit()
	low, high, step, known := benchRange(t)
	b.Step = quantity.Short(step, 3)
	if known {
		b.Low, b.High = quantity.Short(low, 3), quantity.Short(high, 3)
	}
	if ladder, err := sitting.Ladder(t); err == nil {
		marks := make([]string, len(ladder))
		for i, m := range ladder {
			marks[i] = quantity.Short(unit.ToShown(m), 3)
		}
		b.Ladder = strings.Join(marks, " ")
	}
	sweep, err := curve.ParseSweep(ask.Sweep)
	if err != nil || sweep == curve.Unstated {
		sweep = lastSweep(t)
	}
	next := suggest(sweep)
	mark := benchMark{Mark: next.Mark, Known: next.Known}
	b.Suggested.Words = strings.TrimSuffix(next.Words, ".") + "."
	if next.Known {
		b.Suggested.Mark, b.Suggested.Sweep = quantity.Short(unit.ToShown(next.Mark), 3), next.Sweep.String()
	}
	b.Mark, b.Sweep = b.Suggested.Mark, sweep.String()
	if next.Known && next.Sweep != curve.Unstated {
		b.Sweep = next.Sweep.String()
	}
	if ask.Mark == "" {
		return mark
	}
	// The fitter goes elsewhere.
	b.Mark, b.Sweep = ask.Mark, sweep.String()
	if m, err := sitting.ParseMark(unit, ask.Mark); err == nil {
		return benchMark{Mark: m, Known: true}
	}
	return mark
}

// benchMark is the mark that is lit.
type benchMark struct {
	Mark  float64 // in SI
	Known bool
}

// lastSweep is the direction of the reading before, or up.
func lastSweep(t job.Tank) curve.Sweep {
	for _, r := range slices.Backward(t.Bench.Readings) {
		if sweep, err := curve.ParseSweep(r.Sweep); err == nil && sweep != curve.Unstated {
			return sweep
		}
	}
	return curve.Up
}

// benchRange gives the lowest and the highest mark of the bench and a step
// between marks to press through, in the shown unit; false where it isn't known
// how far they go.
func benchRange(t job.Tank) (low, high, step float64, known bool) {
	unit := t.Unit()
	l, h, err := sitting.Reach(t)
	if err != nil {
		return 0, 0, map[curve.MarkUnit]float64{curve.Dial: 5, curve.Height: 10, curve.Volume: 1, curve.Mass: 0.5}[unit], false
	}
	low, high = unit.ToShown(l), unit.ToShown(h)
	if unit == curve.Dial {
		return low, high, 5, true
	}
	// About twenty steps, each 1, 2 or 5 of something.
	ten := math.Pow(10, math.Floor(math.Log10((high-low)/20)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step = m * ten; (high-low)/step <= 21 {
			break
		}
	}
	return low, high, step, true
}

// benchSaid is what became of a form, by its word in the address.
var benchSaid = map[string]string{
	"already": "Taken already, on another page or a moment ago.",
}
