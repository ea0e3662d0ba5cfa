package contents

import (
	"fmt"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Sentence tells what to ask for at the pump, with what decides in its place:
// "Ask for at most 34.3 L of gas (33.9 L at 15 °C, 17.2 kg), about 25.70 EUR.
// The tank's own filling stop decides, not this figure; …". Where there is
// nothing to fill it says why, without a figure to fill.
func (a Ask) Sentence() string {
	if a.Nothing {
		for _, f := range a.Findings {
			if f.Kind == "overfull" || f.Kind == "full" {
				return strings.ToUpper(f.Text[:1]) + f.Text[1:] + "."
			}
		}
		return "There is nothing to fill."
	}
	litres := func(v float64) string { return quantity.Short(v*1000, 1) + " L" }
	text := fmt.Sprintf("Ask for at most %s of %s (", litres(a.Metered), a.Name)
	if a.At15 != a.Metered {
		text += litres(a.At15) + " at 15 °C, "
	}
	text += quantity.Short(a.Kilograms, 1) + " kg)"
	if a.Price > 0 {
		text += ", about " + quantity.Digits(a.Price, 2)
		if a.Currency != "" {
			text += " " + a.Currency
		}
	}
	if a.Gas {
		return text + ". The tank's own filling stop decides, not this figure; when it stops, the tank is full."
	}
	return text + ". Stop when the pump or the tank says so, whatever this figure is."
}

// Weight gives the greatest weight of what was found.
func (a Ask) Weight() finding.Weight { return finding.Worst(a.Findings) }

// Reason is one cause with what it rests on.
type Reason struct {
	Text string
	Mark string // a source, or "common practice, no source", or "… (from memory)"
}

// StopsEarly tells why a pump may stop before as much has gone into an LPG tank
// as was asked for. None of them is a reason to fill on.
func StopsEarly() []Reason {
	const practice = "common practice, no source"
	return []Reason{
		{"the filling stop may close at up to 5 % of the water capacity less than it is set to, and never at more (tolerance 0/−5 %)", "UN Regulation 67 (from memory)"},
		{"more was in the tank than its display said: that is why less is asked for than the display alone would allow", "how this figure is made"},
		{"the liquid in the tank, or at the pump, is warm and takes more room", "densities of the liquid"},
		{"the tank stands tilted, and the float of its filling stop is lifted early", practice},
		{"the tank is warmer than the store at the pump; its pressure is near what the pump can give, the flow grows slow, and the pump ends it", practice},
		{"the flow into the tank throws the float up, or the stop sticks", practice},
	}
}
