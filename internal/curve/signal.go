package curve

import (
	"fmt"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Signal says which electrical quantity a sender gives. Whatever it is, its
// number stands in the fields named Ohm and is of type [quantity.Ohm], which is
// what nearly every sender gives; it is always in the signal's own shown unit.
type Signal int

const (
	// Ohms is the resistance of the sender, in ohms; the zero value.
	Ohms Signal = iota
	// Volts is a voltage, in volts: a sender of 0 to 5 V.
	Volts
	// Milliamps is the current of a loop, in milliamperes: 4 to 20 mA.
	Milliamps
	// Ratio is the output voltage of a ratiometric sender in percent of its
	// supply's: 10 to 90 % is 0.5 to 4.5 V on a supply of 5 V. It stays the same
	// when the supply drifts.
	Ratio
)

// Signals lists every quantity a sender can give.
var Signals = []Signal{Ohms, Volts, Milliamps, Ratio}

var signals = [...]struct {
	column, symbol, word, figures, head string
	decimals                            int
	limit                               quantity.Ohm // the largest that is believed
	step                                quantity.Ohm // in which it is commonly keyed in
	coarsest                            int          // decimals that a meter shows at the least
	knee                                float64      // below it end values are as likely as one another
}{
	Ohms:      {"ohm", "Ω", "resistance", "ohms", "ohms", 1, MaxOhm, 1, 0, 10},
	Volts:     {"volt", "V", "voltage", "volts", "volts", 3, 100, 0.01, 2, 1},
	Milliamps: {"milliamp", "mA", "current", "milliamps", "mA", 3, 25, 0.01, 2, 2},
	Ratio:     {"of_supply_pct", "%", "share of the supply", "percentages of the supply", "% of supply", 2, 100, 0.1, 1, 10},
}

// Column gives the name of the column and of the field in a file: "ohm",
// "volt", "milliamp" or "of_supply_pct".
func (s Signal) Column() string { return signals[s].column }

// Symbol gives the unit as shown: "Ω", "V", "mA" or "%".
func (s Signal) Symbol() string { return signals[s].symbol }

// Unit gives the unit as it stands in a sentence, where "%" alone might be of
// anything: "Ω", "V", "mA" or "% of supply".
func (s Signal) Unit() string {
	if s == Ratio {
		return "% of supply"
	}
	return s.Symbol()
}

// Word names the quantity: "resistance", "voltage", "current" or "share of the
// supply".
func (s Signal) Word() string { return signals[s].word }

// Figures names its values in a sentence, in the plural: "ohms", "volts",
// "milliamps" or "percentages of the supply".
func (s Signal) Figures() string { return signals[s].figures }

// Head names a column of its values in a table: "ohms", "% of supply".
func (s Signal) Head() string { return signals[s].head }

// Decimals is how many decimals its values are printed with.
func (s Signal) Decimals() int { return signals[s].decimals }

// Limit gives the largest value that is believed: 100 kΩ, 100 V, 25 mA, 100 %
// of the supply (common practice, no source). The least is 0.
func (s Signal) Limit() quantity.Ohm { return signals[s].limit }

// Step gives the step in which readouts commonly take its values: 1 Ω, 0.01 V,
// 0.01 mA, 0.1 % (common practice, no source).
func (s Signal) Step() quantity.Ohm { return signals[s].step }

// Text prints a value with its unit: "80.0 Ω", "2.500 V".
func (s Signal) Text(v quantity.Ohm) string { return s.Figure(v) + " " + s.Unit() }

// Figure prints a value without its unit: "80.0", "2.500".
func (s Signal) Figure(v quantity.Ohm) string {
	return quantity.Digits(float64(v), s.Decimals())
}

// Limits of a current loop, in milliamperes: NAMUR NE 43, from memory. Between
// them and the measuring range a transmitter is at the end of what it can give.
const (
	failureLow, failureHigh     quantity.Ohm = 3.6, 21
	measuringLow, measuringHigh quantity.Ohm = 3.8, 20.5
)

// lookForFailures says of readings of a current loop what they are besides
// levels.
func (c *Curve) lookForFailures() {
	if c.signal != Milliamps {
		return
	}
	failed, beyond := -1, -1
	for i, r := range c.readings {
		switch {
		case r.Ohm <= failureLow || r.Ohm >= failureHigh:
			if failed < 0 {
				failed = i
			}
		case r.Ohm < measuringLow || r.Ohm > measuringHigh:
			if beyond < 0 {
				beyond = i
			}
		}
	}
	if failed >= 0 {
		r := c.readings[failed]
		c.say("failure-current", finding.Doubt, "The reading %s at %s is a current by which a transmitter says that it has failed (%s mA and less, %s mA and more; NAMUR NE 43), and no level: look at the loop and read it again.",
			c.signal.Text(r.Ohm), c.unit.Text(r.Mark), plain(failureLow), plain(failureHigh))
	}
	if beyond >= 0 {
		r := c.readings[beyond]
		c.say("beyond-measuring", finding.Note, "The reading %s at %s lies outside what a transmitter measures in (%s to %s mA; NAMUR NE 43): it may stand still there.",
			c.signal.Text(r.Ohm), c.unit.Text(r.Mark), plain(measuringLow), plain(measuringHigh))
	}
}

func plain(v quantity.Ohm) string { return quantity.Short(float64(v), 3) }

// typed names the unit in an error, as it is typed.
func (s Signal) typed() string {
	switch s {
	case Ohms:
		return "ohm"
	case Ratio:
		return "% of the supply"
	}
	return s.Symbol()
}

// sampleClaim is a span for messages.
func (s Signal) sampleClaim() string {
	if s == Ohms {
		return "0:90"
	}
	return fmt.Sprint(usualSignals[s][0].Claim)
}
