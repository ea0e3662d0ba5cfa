package web

import (
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// benchDoubts is how far what a bench was read with may be off, as it stands in
// the fields of its form.
type benchDoubts struct {
	Accuracy string // of the meter: "0.5%+2"
	Leads    string // what the shorted leads read, in ohms
	Misread  string // how far a mark may have been misread, in the unit of the marks
	Weather  string // how far the sender may change with the weather, in percent
}

func doubtsOf(t job.Tank) benchDoubts {
	d := t.Bench.Doubts
	if d == nil {
		return benchDoubts{}
	}
	out := benchDoubts{Leads: figureField(d.LeadsOhm), Misread: figureField(d.Mark), Weather: figureField(d.TemperaturePct)}
	if d.MeterPct != 0 || d.MeterDigits != 0 || d.MeterStep != 0 {
		out.Accuracy = quantity.Short(d.MeterPct, 6) + "%+" + quantity.Short(d.MeterDigits, 6)
		if d.MeterStep != 0 {
			unit := t.Signal().Symbol()
			if t.Signal() == curve.Ohms {
				unit = "ohm"
			}
			out.Accuracy += "@" + quantity.Short(d.MeterStep, 9) + unit
		}
	}
	return out
}

// Any says whether anything is stated.
func (d benchDoubts) Any() bool { return d != benchDoubts{} }

// onto puts what was typed onto a tank's bench, or says what is wrong with it.
func (d benchDoubts) onto(t *job.Tank) *benchWrong {
	var out job.Doubts
	if d.Accuracy != "" {
		m, err := curve.ParseMeterFor(t.Signal(), d.Accuracy)
		if err == nil && m.Digits > 1000 {
			err = fmt.Errorf("found %q; a meter is off by 1000 of its last digits at the most", wording.Clip(d.Accuracy, 40))
		}
		if err != nil {
			return &benchWrong{"the meter’s accuracy: " + strings.TrimSuffix(err.Error(), "."), "accuracy"}
		}
		out.MeterPct = quantity.Round(float64(m.OfReading)*100, 9)
		out.MeterDigits, out.MeterStep = m.Digits, quantity.Round(float64(m.Step), 9)
	}
	unit := t.Unit()
	for _, f := range []struct {
		text, name, says, unit string
		most                   float64
		to                     *float64
	}{
		{d.Leads, "leads", "what the shorted leads read", "Ω", 100, &out.LeadsOhm},
		{d.Misread, "misread", "how far a mark may be misread", unit.Symbol(), unit.Limit(), &out.Mark},
		{d.Weather, "weather", "how far the weather changes the sender", "%", 50, &out.TemperaturePct},
	} {
		if f.text == "" {
			continue
		}
		v, err := quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(strings.TrimPrefix(f.text, "±")), f.unit)), true)
		if err != nil || !(v >= 0 && v <= f.most) {
			return &benchWrong{fmt.Sprintf("%s: found %q; expected 0 to %s %s", f.says, wording.Clip(f.text, 40), quantity.Short(f.most, 0), f.unit), f.name}
		}
		*f.to = v
	}
	if out.LeadsOhm > 0 && t.Signal() != curve.Ohms {
		return &benchWrong{"leads are taken off readings in ohms only, and this bench reads " + t.Signal().Figures(), "leads"}
	}
	t.Bench.Doubts = nil
	if out != (job.Doubts{}) {
		t.Bench.Doubts = &out
	}
	return nil
}
