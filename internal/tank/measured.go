package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Form is a plain shape whose sizes are asked for.
type Form int

const (
	BoxForm     Form = iota // length, width, height
	UprightForm             // an upright cylinder with flat ends: diameter, height
	LyingForm               // a lying cylinder: diameter, length of the straight part; two like ends
)

// String gives the words.
func (f Form) String() string {
	return [...]string{"box", "upright cylinder", "lying cylinder"}[f]
}

// Size is one dimension in metres.
type Size struct {
	Value, U quantity.Metre // U: standard uncertainty
	// Known says that the value was measured. With a doubt it then takes part
	// in a fit as one more observation; without, it is held. A value that isn't
	// known is a first guess; 0 leaves the guess to the fit.
	Known bool
}

// Tape is a size measured with a standard uncertainty.
func Tape(value, u quantity.Metre) Size { return Size{Value: value, U: u, Known: true} }

// Dimensions are the sizes of a form; those that it doesn't have are ignored.
type Dimensions struct {
	Form                            Form
	Length, Width, Height, Diameter Size
	// Heads is how deep each end of a lying cylinder is bulged, in parts of its
	// radius: 0 flat, 0.5 a 2:1 ellipsoid, 1 half a ball.
	Heads float64
}

func (d Dimensions) check() error {
	if d.Form < BoxForm || d.Form > LyingForm {
		return fmt.Errorf("the form isn't known; expected a box, an upright cylinder or a lying cylinder")
	}
	if !(d.Heads >= 0 && d.Heads <= 1) {
		return fmt.Errorf("the ends are bulged by %g of the radius; expected 0 (flat) to 1 (half a ball)", d.Heads)
	}
	for _, s := range d.sizes() {
		v, u := float64(s.size.Value), float64(s.size.U)
		if s.size.Known && !(v >= MinExtent && v <= MaxExtent) || !(v >= 0 && v <= MaxExtent) {
			return fmt.Errorf("the %s of the %s is %s; expected %s to %s; is it in another unit?", s.name, d.Form, s.size.Value, quantity.Metre(MinExtent), quantity.Metre(MaxExtent))
		}
		if !(u >= 0) || s.size.Known && !(u < v/2) {
			return fmt.Errorf("the %s of the %s is %s with a doubt of %s; expected a doubt of less than half of it", s.name, d.Form, s.size.Value, s.size.U)
		}
	}
	return nil
}

type namedSize struct {
	name string
	size Size
}

// sizes are those that the form has.
func (d Dimensions) sizes() []namedSize {
	switch d.Form {
	case BoxForm:
		return []namedSize{{"length", d.Length}, {"width", d.Width}, {"height", d.Height}}
	case UprightForm:
		return []namedSize{{"diameter", d.Diameter}, {"height", d.Height}}
	}
	return []namedSize{{"diameter", d.Diameter}, {"length", d.Length}}
}

// measuredVolume is the whole inside volume of sizes in the order of sizes().
func measuredVolume(f Form, heads float64, p []float64) float64 {
	switch f {
	case BoxForm:
		return p[0] * p[1] * p[2]
	case UprightForm:
		return math.Pi / 4 * p[0] * p[0] * p[1]
	}
	return math.Pi/4*p[0]*p[0]*p[1] + math.Pi/6*heads*p[0]*p[0]*p[0]
}

// measuredSegment gives the part of a circle of diameter d that lies below a
// height h, in m², with its derivatives by d and by h:
//
//	A = R² acos(1 − h/R) − (R − h)·√(2Rh − h²), ∂A/∂R = 2R acos(1 − h/R) − 2√(2Rh − h²), ∂A/∂h = 2√(2Rh − h²)
//
// The second follows from A = ∫₀ʰ 2√(2Rz − z²) dz.
func measuredSegment(d, h float64) (area, byD, byH float64) {
	r := d / 2
	if h <= 0 {
		return 0, 0, 0
	}
	if h >= d {
		return math.Pi * r * r, math.Pi * r, 0
	}
	angle, chord := math.Acos(1-h/r), math.Sqrt(h*(d-h))
	return r*r*angle - (r-h)*chord, r*angle - chord, 2 * chord
}

// measuredHeads gives what both bulged ends hold below a height, in m³, with
// its derivatives: the ellipsoid with half axes kR, R, R, of which
// V = k·π·h²·(3R − h)/3 lies below h.
func measuredHeads(k, d, h float64) (v, byD, byH float64) {
	h = max(0, h)
	if h >= d {
		return math.Pi / 6 * k * d * d * d, math.Pi / 2 * k * d * d, 0
	}
	return k * math.Pi * h * h * (1.5*d - h) / 3, k * math.Pi * h * h / 2, k * math.Pi * h * (d - h)
}
