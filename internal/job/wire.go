package job

import (
	"fmt"
	"math"

	"gaugewright/internal/circuit"
	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Wire is the run between a sender and what reads it. Either the area or the
// gauge is there.
type Wire struct {
	AreaMM2      float64  `json:"area_mm2,omitempty"`      // of one conductor
	AWG          *int     `json:"awg,omitempty"`           // its gauge
	LengthM      float64  `json:"length_m"`                // one way
	Metal        string   `json:"metal,omitempty"`         // "copper" unless given, "tinned copper" or "aluminium"
	Joints       int      `json:"joints,omitempty"`        // in both conductors together
	TemperatureC *float64 `json:"temperature_c,omitempty"` // of the wire; nil: 20
	// Through says that the bench readings were made through this wire.
	Through bool `json:"read_through_it,omitempty"`
}

// Run gives the wire as it is reckoned with. The error says what of it can't be.
func (w Wire) Run() (circuit.Run, error) {
	r := circuit.Run{Metal: circuit.Metal(w.Metal), Area: w.AreaMM2 * 1e-6, Length: w.LengthM, Joints: w.Joints}
	if w.AWG != nil {
		_, area, err := circuit.AWG(*w.AWG)
		if err != nil {
			return r, err
		}
		r.Area, r.Conductor = area, circuit.Solid
	}
	if w.TemperatureC != nil {
		r.Kelvin = *w.TemperatureC + 273.15
	}
	return r, r.Check()
}

// words says what the wire is: "6 m of 0.5 mm²".
func (w Wire) words() string {
	size := quantity.Short(w.AreaMM2, 3) + " mm²"
	if w.AWG != nil {
		size = fmt.Sprintf("AWG %d", *w.AWG)
	}
	return fmt.Sprintf("%s m of %s", quantity.Short(w.LengthM, 2), size)
}

// hottest and coldest are what the wire of a vehicle goes through in a year, in
// °C: common practice, no source.
const hottest, coldest = 60.0, -10.0

// WireWords tells what the wire does to the level that is shown, of a sender of
// ohms with a curve, and whether that is to be looked at; empty where no wire is
// stated, or it can't be told.
func (t Tank) WireWords(c *curve.Curve) (text string, look bool) {
	if t.Wire == nil || c == nil || !c.Ordered() || c.Signal() != curve.Ohms {
		return "", false
	}
	run, err := t.Wire.Run()
	if err != nil {
		return "The wire: " + err.Error() + ".", true
	}
	span := circuit.Span{Empty: float64(c.Points()[0].Ohm), Full: float64(c.Points()[len(c.Points())-1].Ohm)}
	effect, err := run.On(span)
	if err != nil {
		return "", false
	}
	at := func(celsius float64) float64 {
		run := run
		run.Kelvin = celsius + 273.15
		added, err := run.Added()
		if err != nil {
			return math.NaN()
		}
		return added.Ohm
	}
	change := (at(hottest) - at(coldest)) * math.Abs(span.PerOhm())
	weather := fmt.Sprintf("From %s to %s °C it changes the level by %s points.", quantity.Minus(quantity.Short(coldest, 0)), quantity.Short(hottest, 0), quantity.Digits(change, 2))
	added := fmt.Sprintf("%s, there and back, adds %s Ω", t.Wire.words(), quantity.Digits(effect.Added.Ohm, 2))
	if t.Wire.Through {
		return fmt.Sprintf("The wire: %s; the readings were made through it, so that is in the numbers. %s", added, weather), false
	}
	way := "high"
	if effect.Empty < 0 {
		way = "low"
	}
	return fmt.Sprintf("The wire: %s, and the readings were made without it: the level is shown %s points too %s. Read the sender again through the final wire, or key in end values that are greater by that. %s",
		added, quantity.Digits(math.Abs(effect.Full), 2), way, weather), math.Abs(effect.Full) >= wireMatters
}

// wireMatters is the error in points from which on a wire has to be looked at:
// half of a display's step of a point.
const wireMatters = 0.5
