package curve

import (
	"fmt"
	"strings"

	"gaugewright/internal/quantity"
)

// Meter is what a meter's data sheet says of its ohms range, or of the range in
// which it reads what else the sender gives: ±(OfReading of the
// reading + Digits steps of the display). The zero value states nothing.
type Meter struct {
	OfReading quantity.Share
	Digits    float64
	// Step is the last digit in ohms; 0 stands for what the readings show.
	Step quantity.Ohm
}

// Stated says whether anything is known of the meter's error.
func (m Meter) Stated() bool { return m.OfReading > 0 || m.Digits > 0 }

// HalfWidth gives the largest error of a reading in ohms, for a display with
// the given last digit.
func (m Meter) HalfWidth(ohm, step quantity.Ohm) quantity.Ohm {
	return quantity.Ohm(m.OfReading)*ohm + quantity.Ohm(m.Digits)*step
}

// String gives the specification as it is typed: "0.5%+2".
func (m Meter) String() string {
	text := fmt.Sprintf("%s%%+%s", quantity.Short(float64(m.OfReading)*100, 3), quantity.Short(m.Digits, 2))
	if m.Step > 0 {
		text += "@" + quantity.Short(float64(m.Step), 6) + "ohm"
	}
	return text
}

// MeterClasses are meters by generic class, for when the data sheet isn't at
// hand (common practice, no source). They hold for a few hundred ohms.
var MeterClasses = map[string]Meter{
	"pocket":   {OfReading: 0.012, Digits: 5},  // a small or very cheap multimeter
	"handheld": {OfReading: 0.009, Digits: 2},  // an electrician's multimeter
	"bench":    {OfReading: 0.0005, Digits: 5}, // a bench multimeter, two wires
}

// ParseMeterFor reads the specification of the range in which a signal is read:
// for ohms as [ParseMeter] does, for others "0.5%+2" with "@0.01V", "@0.01mA"
// or, for a share of the supply, "@0.1%" behind it. The classes are of ohms
// ranges and refused for others.
func ParseMeterFor(signal Signal, text string) (Meter, error) {
	if signal == Ohms {
		return ParseMeter(text)
	}
	t := strings.TrimSpace(text)
	if _, ok := MeterClasses[t]; ok {
		return Meter{}, fmt.Errorf("%q is a class of meters by their ohms range, and the readings are in %s; write the meter's own specification like 0.5%%+2 (percent of the reading and digits)", text, signal.Symbol())
	}
	spec, step, found := strings.Cut(t, "@")
	m, err := ParseMeter(spec)
	if err != nil || !found {
		return m, err
	}
	number, ok := strings.CutSuffix(strings.TrimSpace(step), signal.Symbol())
	v, err := quantity.ParseNumber(number, true)
	if !ok || err != nil || !(v > 0 && quantity.Ohm(v) <= signal.Limit()/10) {
		return Meter{}, fmt.Errorf("%q isn't a meter's specification: the last digit can't be read; write it in %s, like 0.5%%+2@%s%s", text, signal.Symbol(), quantity.Short(float64(signal.Step()), 2), signal.Symbol())
	}
	m.Step = quantity.Ohm(v)
	return m, nil
}

// ParseMeter reads a meter's specification: "0.5%+2" (percent of the reading
// and digits), with "@0.1ohm" behind it where the last digit isn't what the
// readings show, or a class: pocket, handheld, bench.
func ParseMeter(text string) (Meter, error) {
	bad := func(why string) (Meter, error) {
		return Meter{}, fmt.Errorf("%q isn't a meter's specification: %s; write it like 0.5%%+2 (percent of the reading and digits), 0.5%%+2@0.1ohm, or pocket, handheld, bench", text, why)
	}
	t := strings.TrimSpace(text)
	if m, ok := MeterClasses[t]; ok {
		return m, nil
	}
	var m Meter
	spec, step, found := strings.Cut(t, "@")
	if found {
		ohm, err := quantity.ParseOhm(step)
		if err != nil || ohm <= 0 || ohm > 100 {
			return bad("the last digit can't be read")
		}
		m.Step = ohm
	}
	spec = strings.TrimPrefix(strings.TrimSpace(spec), "±")
	share, digits, plus := strings.Cut(spec, "+")
	if strings.Contains(share, "%") {
		v, err := quantity.ParseShare(share)
		if err != nil || v < 0 || v > 0.5 {
			return bad("the percentage can't be read")
		}
		m.OfReading = v
	} else if plus || share == "" {
		return bad("there is no percentage")
	} else {
		digits = share
	}
	if digits != "" {
		digits = strings.TrimSpace(digits)
		for _, word := range []string{"digits", "digit", "counts", "dgt", "d"} {
			digits = strings.TrimSuffix(digits, word)
		}
		v, err := quantity.ParseNumber(digits, true)
		if err != nil || v < 0 || v > 10_000 {
			return bad("the digits can't be read")
		}
		m.Digits = v
	} else if plus {
		return bad("nothing stands behind the plus")
	}
	return m, nil
}
