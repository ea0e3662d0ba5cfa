package curve

import (
	"fmt"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Weighed is one amount put into the tank by weight, with its own standard
// uncertainty.
type Weighed struct{ Mass, U quantity.Kilogram }

// Density is kilograms per cubic metre with its standard uncertainty; a
// kilogram per litre is 1000 of these.
type Density struct{ Value, U float64 }

// PouredByWeight turns weighed amounts into a pouring, by V = m/ρ. The scale's
// common relative standard uncertainty and that of the density are shared by
// all pours: r² = r_scale² + (u(ρ)/ρ)² (JCGM 100:2008, 5.1.6).
func PouredByWeight(start, startU quantity.CubicMetre, weighed []Weighed, scale float64, density Density) (Pouring, error) {
	if !(density.Value > 0) || !(density.U >= 0 && density.U < density.Value) {
		return Pouring{}, fmt.Errorf("the density is %g ± %g kg/m³; expected more than nothing, and a doubt below it", density.Value, density.U)
	}
	p := Pouring{Start: start, StartU: startU, Common: doubt.Combine(scale, density.U/density.Value)}
	for _, w := range weighed {
		p.Pours = append(p.Pours, Pour{
			Amount: quantity.CubicMetre(float64(w.Mass) / density.Value),
			U:      quantity.CubicMetre(float64(w.U) / density.Value),
		})
	}
	return p, p.Check()
}

// HalfWidths is a range of half-widths, least to most: how far off a figure is
// with a good and with a poor instrument of a kind.
type HalfWidths struct{ Least, Most float64 }

// Instrument is a kind of measure for poured amounts. Half-widths are those of
// rectangular doubts.
type Instrument struct {
	Name string
	// Each is how far off one pour is by itself: m³, or kg where it weighs.
	Each HalfWidths
	// Common is how far off all pours are alike, in parts of what was poured.
	Common HalfWidths
	// Weighs says that it tells kilograms, so that a density is needed.
	Weighs bool
}

// Instruments are kinds of measure by generic class, for when nothing better
// is known of one's own: common practice, no source.
var Instruments = []Instrument{
	{Name: "jug", Each: HalfWidths{10e-6, 30e-6}, Common: HalfWidths{0.01, 0.03}},                           // a measuring jug of 1 to 2 L, read at its line
	{Name: "bucket", Each: HalfWidths{100e-6, 300e-6}, Common: HalfWidths{0.02, 0.05}},                      // a bucket of 10 to 12 L with marks
	{Name: "flow-meter", Each: HalfWidths{20e-6, 100e-6}, Common: HalfWidths{0.01, 0.03}},                   // a meter in the hose; the start, the stop and its last digit
	{Name: "kitchen-scale", Each: HalfWidths{2e-3, 10e-3}, Common: HalfWidths{0.002, 0.01}, Weighs: true},   // to 5 kg
	{Name: "luggage-scale", Each: HalfWidths{30e-3, 100e-3}, Common: HalfWidths{0.005, 0.02}, Weighs: true}, // hung, to 50 kg
}

// InstrumentNamed gives the instrument of a name. What isn't known is an error
// that lists what is.
func InstrumentNamed(name string) (Instrument, error) {
	known := ""
	for i, in := range Instruments {
		if in.Name == name {
			return in, nil
		}
		if i > 0 {
			known += ", "
		}
		known += in.Name
	}
	return Instrument{}, fmt.Errorf("no measure is called %q; expected one of %s, or figures of your own", name, known)
}

// Doubts gives the standard uncertainties of a poor instrument of the kind, the
// careful side: of each pour, in m³ or kg, and common to all.
func (in Instrument) Doubts() (each, common float64) {
	return doubt.Rectangular(in.Each.Most), doubt.Rectangular(in.Common.Most)
}
