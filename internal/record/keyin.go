package record

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// keyIn is what to key in, and what it means.
func (b tank) keyIn() KeyIn {
	k := KeyIn{Sentences: []Sentence{plain(b.scale.Sentence())}}
	switch s := b.keyed.(type) {
	case span.Ends:
		k.Numbers = s.String()
		k.Under = b.Signal().Figures() + ": the first for 0 %, the second for 100 %"
	case span.EndsThenTable:
		k.Numbers = s.Ends.String()
		k.Under = b.Signal().Figures() + ": the first for 0 %, the second for 100 %; then the table"
		k.Table = &Table{ID: b.id + "-key", Heading: "Entries that correct the percentage", Columns: []Column{{"From the end values, %", true}, {"Shows, %", true}}}
		in, out := s.Texts()
		for i := range in {
			k.Table.Rows = append(k.Table.Rows, Row{Cells: []string{in[i], out[i]}})
		}
	case span.Table:
		k.Table = &Table{ID: b.id + "-key", Heading: "Entries to key in", Columns: []Column{{ohmHead(b.Signal()), true}, {"Shows, %", true}}}
		ohms, percents := s.TextsOf(b.Signal())
		for i := range s {
			k.Table.Rows = append(k.Table.Rows, Row{Cells: []string{ohms[i], percents[i]}})
		}
	}
	if by := byOn(b.Setting.By, b.Setting.Date); by != "" {
		k.By = "Keyed in " + by + "."
	}
	if b.curve != nil {
		k.Sentences = append(k.Sentences, b.margin()...)
		k.Sentences = append(k.Sentences, b.errors(), b.atFull(), b.wire())
	}
	kept := k.Sentences[:0]
	for _, s := range k.Sentences {
		if s.Text != "" {
			kept = append(kept, s)
		}
	}
	k.Sentences = kept
	figure := b.column()
	k.Column = &figure
	return k
}

// endsOf gives the two end values of a setting that has them.
func endsOf(s span.Setting) (span.Ends, bool) {
	switch s := s.(type) {
	case span.Ends:
		return s, true
	case span.EndsThenTable:
		return s.Ends, true
	}
	return span.Ends{}, false
}

// margin says how far the sender stays inside the greater end value, within
// the scale: a readout may take more ohms for a broken wire.
func (b tank) margin() []Sentence {
	ends, ok := endsOf(b.keyed)
	if !ok {
		return nil
	}
	empty, full := b.scale.Ends()
	greatest := quantity.Ohm(math.Inf(-1))
	beyond := greatest // of readings outside the scale
	for _, r := range span.Stations(b.curve) {
		within := r.Mark >= empty && r.Mark <= full*(1+1e-9)
		if _, through := b.scale.Filling(); through {
			// The tank is there below 0 % as well: what is left isn't drawn.
			within = b.scale.Holds(r.Mark)
		}
		if within {
			greatest = max(greatest, r.Ohm)
		} else {
			beyond = max(beyond, r.Ohm)
		}
	}
	if a := b.curve.Ohm(full, curve.Refuse); b.filling != nil && a.Known {
		greatest = max(greatest, a.Ohm) // between two readings, as a rule
	}
	upper := max(ends.Lower, ends.Upper)
	signal, trouble := b.curve.Signal(), "a broken wire"
	if signal != curve.Ohms {
		trouble = "a fault"
	}
	var out []Sentence
	left := upper - greatest
	switch {
	case math.IsInf(float64(greatest), 0):
	case left < 0:
		out = append(out, weighed(finding.Doubt, fmt.Sprintf("No margin: the sender gave up to %s, which is %s above the greater end value. A readout may take that for %s.", signal.Text(greatest), signal.Text(-left), trouble)))
	case float64(left) < b.Setting.MarginOhm-1e-9:
		out = append(out, weighed(finding.Doubt, fmt.Sprintf("Margin: %s between the sender's greatest %s (%s) and the greater end value; %s %s was asked for.", signal.Text(left), signal.Figures(), signal.Text(greatest), short(signal, quantity.Ohm(b.Setting.MarginOhm)), signal.Unit())))
	default:
		out = append(out, plain(fmt.Sprintf("Margin: %s between the sender's greatest %s (%s) and the greater end value.", signal.Text(left), signal.Figures(), signal.Text(greatest))))
	}
	if beyond > upper {
		out = append(out, plain(fmt.Sprintf("Beyond the scale the sender gives up to %s. The display stands still there, or the readout takes it for %s.", signal.Text(beyond), trouble)))
	}
	return out
}

// errors says how far the display will be off at worst.
func (b tank) errors() Sentence {
	at := make([]string, len(b.trial.WorstAt))
	for i, m := range b.trial.WorstAt {
		at[i] = b.unit.Text(m)
	}
	if b.trial.Worst < 0.0005 {
		return plain("At every reading the display will show what it should, to a tenth of a point.")
	}
	if len(at) > 4 {
		at = append(at[:3], fmt.Sprintf("%d more marks", len(at)-3))
	}
	return plain(fmt.Sprintf("Largest error at a reading: %s points, at %s. Along the curve between them: %s points.",
		points(b.trial.Worst), listed(at), points(b.trial.Between)))
}

// atFull warns where a tank that must not be filled to the brim is shown as
// less full than it is at the top of the scale.
func (b tank) atFull() Sentence {
	if b.Contents == job.Water || b.Contents == job.Waste {
		return Sentence{}
	}
	mark := b.fullMark()
	if mark == nil {
		_, full := b.scale.Ends()
		mark = &full
	}
	var a curve.Answer
	if b.curve != nil { // too few readings make none
		a = b.curve.Ohm(*mark, curve.Refuse)
	}
	if !a.Known {
		return weighed(finding.Doubt, fmt.Sprintf("The readings don't reach %s, so what the display shows with the tank that full isn't known. Don't fill by the display.", b.unit.Text(*mark)))
	}
	shown, should := b.keyed.Show(a.Ohm), b.scale.Target(*mark)
	if should-shown < 0.005 {
		return Sentence{}
	}
	return weighed(finding.Doubt, fmt.Sprintf("At %s the display shows %s %% and should show %s %%: it reads low there. Don't fill by the display.",
		b.unit.Text(*mark), points(shown), points(should)))
}

// fullMark gives the mark of the permitted fill where it can be told: on the
// fill scale, on a dial, and for litres of a known capacity. Nil where it
// can't, or was refused.
func (b tank) fullMark() *float64 {
	permitted := b.PermittedPct()
	if permitted <= 0 || b.fillRefused() || b.scaleErr != nil {
		return nil
	}
	var mark float64
	switch {
	case b.Setting != nil && b.scale.PermittedFill() < 1:
		_, mark = b.scale.Ends()
	case b.filling != nil:
		mark = b.filling.Mark(permitted / 100)
	case b.unit == curve.Dial:
		mark = permitted / 100
	case b.unit == curve.Volume && b.WaterCapacityL > 0:
		mark = b.unit.FromShown(b.WaterCapacityL * permitted / 100)
	default:
		return nil
	}
	return &mark
}

// downward cuts to a tenth.
func downward(v float64) float64 { return math.Floor(v*10+1e-6) / 10 }

// wire says what the wire to the sender does to what is shown.
func (b tank) wire() Sentence {
	text, look := b.WireWords(b.curve)
	if look {
		return weighed(finding.Doubt, text)
	}
	return plain(text)
}
