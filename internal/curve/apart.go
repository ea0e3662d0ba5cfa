package curve

import (
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Apart is the doubt of the curve at one mark taken apart by how far other
// marks share it, for whoever compares several marks at once. All are standard
// uncertainties in ohms, but for Reading and Warmth.
type Apart struct {
	// Slope is |dR/dmark| there, in ohms per unit of mark inside.
	Slope float64
	// N is how many readings the curve rests on there; 0 where it rests on none
	// of its own.
	N float64
	// Hysteresis is half the hysteresis, all marks going one way alike.
	Hysteresis float64
	// Reading and Warmth go with the ohms, the same part of them at every mark:
	// the meter's share of the reading, and the sender's temperature. Both are
	// standard uncertainties in parts of the ohms.
	Reading, Warmth float64
	// Offset is the same at every mark: the meter's digits and the test leads.
	Offset float64
	// Poured is what the amounts poured leave in doubt, neighbouring marks
	// sharing most of it.
	Poured float64
	// Own belongs to the readings beside this mark alone, their repeatability
	// left out: the reading of the mark, the last digit, the order put right.
	Own float64
	// Course is how far the way between the readings is a choice; 0 at a reading.
	Course float64
	// Rest is what can't be told to be one or the other.
	Rest float64
}

// DoubtApart takes the doubt at a mark within the readings apart; false
// outside.
func (c *Curve) DoubtApart(mark float64) (Apart, bool) {
	a := c.Ohm(mark, Refuse)
	if !a.Known {
		return Apart{}, false
	}
	at := c.placeOf(a.Mark)
	p := Apart{Slope: at.slope, N: at.n}
	var own, rest float64
	c.sources(at, func(l doubt.Line) {
		v := l.Contribution()
		switch l.Quantity {
		case lineRepeat, lineMeter, lineLeads, lineTemperature:
			// They are taken from what was stated, below or by N.
		case lineHysteresis:
			p.Hysteresis = v
		case lineMark, lineDigit, lineOrder:
			own += v * v
		case linePours:
			p.Poured = v
		case lineShape:
			p.Course = v
		default:
			rest += v * v
		}
	})
	p.Own, p.Rest = math.Sqrt(own), math.Sqrt(rest)
	root3 := math.Sqrt(3)
	p.Reading = float64(c.doubts.Meter.OfReading) / root3
	p.Warmth = float64(c.doubts.Temperature) / root3
	p.Offset = math.Hypot(float64(c.doubts.LeadsU), c.doubts.Meter.Digits*float64(c.step())/root3)
	return p, true
}

// Step gives the last digit of the meter as far as the readings of a sheet show
// it, in the unit of its Signal.
func (s Sheet) Step() quantity.Ohm { return quantity.Ohm(resolutionOf(s.Readings, s.Signal)) }
