package telling

import (
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// BenchStated is what a person states of the bench besides the readings. Empty
// texts state nothing.
type BenchStated struct {
	Meter            string  // as [curve.ParseMeterFor] reads it
	Leads            string  // the shorted test leads, such as 0.3ohm
	MarkDoubt        float64 // how far a mark may be off either way, in the unit marks are shown in
	TemperatureDrift string  // a percentage either way, such as 0.4%
}

// Doubts reads what is stated, for marks in a unit and senders that give a signal.
func (in BenchStated) Doubts(unit curve.MarkUnit, signal curve.Signal) (curve.Doubts, error) {
	var d curve.Doubts
	var err error
	if in.Meter != "" {
		if d.Meter, err = curve.ParseMeterFor(signal, in.Meter); err != nil {
			return d, from("meter", " ", err)
		}
	}
	if in.Leads != "" {
		if d.Leads, err = leads(in.Leads, signal); err != nil {
			return d, err
		}
		d.LeadsU = job.LeadsU(d.Meter)
	}
	if in.MarkDoubt < 0 || in.MarkDoubt > unit.Limit()/4 {
		return d, stated("mark-doubt", " %g %s isn't a doubt of a mark; expected 0 to %g", in.MarkDoubt, unit.Symbol(), unit.Limit()/4)
	}
	d.MarkHalfWidth = unit.FromShown(in.MarkDoubt)
	if in.TemperatureDrift != "" {
		if d.Temperature, err = quantity.ParseShare(in.TemperatureDrift); err != nil || d.Temperature < 0 || d.Temperature > 0.5 {
			return d, stated("temperature-drift", " %q isn't a share of the %s; write it like 0.4%%, 0 to 50", in.TemperatureDrift, signal.Figures())
		}
	}
	return d, nil
}

func leads(text string, signal curve.Signal) (quantity.Ohm, error) {
	if signal != curve.Ohms {
		return 0, stated("leads", " is taken off ohms, and the readings are in %s; leave it out", signal.Symbol())
	}
	ohm, err := quantity.ParseOhm(text)
	if err != nil {
		return 0, from("leads", " ", err)
	}
	if ohm < 0 || ohm > 100 {
		return 0, stated("leads", " %s can't be test leads; expected 0 to 100 ohm", ohm)
	}
	return ohm, nil
}

// stated makes a FieldError of what was found in one field.
func stated(field, format string, args ...any) *FieldError {
	return &FieldError{Fields: []string{field}, Rest: fmt.Sprintf(format, args...)}
}

// Claims reads claimed spans, each like "0:90": the ohms, or what else the sender
// gives, at empty and at full.
func Claims(texts []string) ([]curve.Claim, error) {
	var out []curve.Claim
	for _, text := range texts {
		empty, full, found := strings.Cut(text, ":")
		a, errA := quantity.ParseNumber(empty, true)
		b, errB := quantity.ParseNumber(full, true)
		if !found || errA != nil || errB != nil || a < 0 || b < 0 || a == b {
			return nil, stated("claimed", " %q isn't a span; write the ohms, or what else the sender gives, at empty and at full like 0:90", text)
		}
		out = append(out, curve.Claim{Empty: quantity.Ohm(a), Full: quantity.Ohm(b)})
	}
	return out, nil
}
