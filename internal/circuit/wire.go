package circuit

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Between is what a quantity known only roughly lies between.
type Between struct{ Low, High float64 }

// Exactly gives the range of one value.
func Exactly(v float64) Between { return Between{v, v} }

// Mid gives the middle of the range.
func (b Between) Mid() float64 { return b.Low + (b.High-b.Low)/2 }

// Half gives half the width of the range.
func (b Between) Half() float64 { return (b.High - b.Low) / 2 }

// check says what is wrong with a range of a quantity that can't be negative.
func (b Between) check(what, unit string) error {
	if !finite(b.Low, b.High) || b.Low < 0 || b.High < b.Low {
		return fmt.Errorf("%s between %g and %g %s; expected two figures of 0 or more, the lower first", what, b.Low, b.High, unit)
	}
	return nil
}

// Span is what a sender has at its ends, in ohm. It rises where Full is the
// greater and falls where Empty is.
type Span struct{ Empty, Full float64 }

// Points gives the mark of a resistance on a straight scale: 0 at empty, 100 at
// full, and beyond them outside the span.
func (s Span) Points(ohm float64) float64 { return 100 * (ohm - s.Empty) / (s.Full - s.Empty) }

// Ohm gives the resistance at a mark in points; the inverse of Points.
func (s Span) Ohm(points float64) float64 { return s.Empty + (s.Full-s.Empty)*points/100 }

// PerOhm gives how many points an ohm more brings: negative where the span falls.
func (s Span) PerOhm() float64 { return 100 / (s.Full - s.Empty) }

// Least and Most give the smaller and the larger end in ohm.
func (s Span) Least() float64 { return min(s.Empty, s.Full) }

// Most gives the larger end in ohm.
func (s Span) Most() float64 { return max(s.Empty, s.Full) }

// Check says what is wrong with a span: ends of 0 to 1 MΩ that differ by a
// milliohm or more are taken.
func (s Span) Check() error {
	switch {
	case !finite(s.Empty, s.Full) || s.Least() < 0 || s.Most() > 1e6:
		return fmt.Errorf("a span from %g to %g Ω; expected two figures from 0 to 1000000 Ω", s.Empty, s.Full)
	case math.Abs(s.Full-s.Empty) < 1e-3:
		return fmt.Errorf("a span from %g to %g Ω has no width; expected ends that differ by a milliohm or more", s.Empty, s.Full)
	}
	return nil
}

// Conductor says how the resistance of the wire alone is told.
type Conductor string

// The ways to tell it.
const (
	// Class5 takes the maximum that IEC 60228 allows a flexible conductor of class
	// 5, where the area is one of its sizes, and resistivity over area elsewhere.
	// It is what the zero value stands for.
	Class5 Conductor = "class 5"
	// Solid takes resistivity over area for every size: a solid wire of exactly
	// that area, such as one of an AWG number.
	Solid Conductor = "solid"
)

// UsualJoint is what a crimped or screwed joint in good order adds, in ohm
// (common practice, no source). A corroded one has no upper end: see [Corroded].
var UsualJoint = Between{0.002, 0.02}

// Run is a two-wire run to a sender.
type Run struct {
	Metal     Metal     // "" stands for plain copper
	Conductor Conductor // "" stands for Class5
	Area      float64   // of one conductor, m²; 0.005 to 1000 mm²
	Length    float64   // one way, m; 0 to 1000. The way back is added.
	Kelvin    float64   // of the conductor; 0 stands for 20 °C; −60 to 200 °C
	Joints    int       // in both conductors together, 0 to 1000
	JointOhm  Between   // of each joint; the zero value stands for UsualJoint
}

// Added is the resistance that a run puts in series with its sender, in ohm.
type Added struct {
	// Ohm is the figure to reckon with: the wire as its standard or its area says,
	// and joints at the middle of their range.
	Ohm  float64
	Wire float64 // the part of Ohm that is wire
	// Low and High are what it lies between: wire of class 5 between what its
	// nominal area would have and the standard's maximum, joints over their range.
	Low, High float64
	// Basis says in words where the figure of the wire is from.
	Basis string
}

// Added gives the resistance of the run there and back:
//
//	R = 2·ℓ·R'·(1 + α·(T − 20 °C)) + joints
//
// with R' from IEC 60228 or ρ/A, and α at 20 °C from IEC 60028 (copper). The
// form of IEC 60228, (234.5 + T)/254.5, differs from it by less than 0.01 % of R
// between −20 and 80 °C.
func (r Run) Added() (Added, error) {
	if err := r.Check(); err != nil {
		return Added{}, err
	}
	m := metals[r.metal()]
	perMetre := m.rho / r.Area
	low, high := perMetre, perMetre*m.excess
	basis := "resistivity over area"
	if tabled, size := r.tabled(); tabled > 0 {
		perMetre, high = tabled, tabled
		low = min(low, high)
		basis = fmt.Sprintf("IEC 60228, class 5, %s mm², the most it allows", quantity.Short(size, 2))
	}
	way := 2 * r.Length * m.factor(r.kelvin())
	joint, n := r.joint(), float64(r.Joints)
	wire := perMetre * way
	return Added{
		Ohm: wire + n*joint.Mid(), Wire: wire,
		Low: low*way + n*joint.Low, High: high*way + n*joint.High,
		Basis: basis,
	}, nil
}

// tabled gives Ω/m of the size in IEC 60228 and that size in mm², or zeros.
func (r Run) tabled() (perMetre, size float64) {
	if r.Conductor == Solid {
		return 0, 0
	}
	for _, c := range class5 {
		if math.Abs(r.Area*1e6-c.size) <= 1e-6*c.size {
			switch r.metal() {
			case Copper:
				return c.plain / 1000, c.size
			case Tinned:
				return c.tinned / 1000, c.size
			}
		}
	}
	return 0, 0
}

func (r Run) metal() Metal {
	if r.Metal == "" {
		return Copper
	}
	return r.Metal
}

func (r Run) kelvin() float64 {
	if r.Kelvin == 0 {
		return roomKelvin
	}
	return r.Kelvin
}

func (r Run) joint() Between {
	if r.JointOhm == (Between{}) {
		return UsualJoint
	}
	return r.JointOhm
}

// Check says what of a run can't be.
func (r Run) Check() error {
	if _, ok := metals[r.metal()]; !ok {
		return fmt.Errorf("metal %q; expected %q, %q or %q", r.Metal, Copper, Tinned, Aluminium)
	}
	switch {
	case r.Conductor != "" && r.Conductor != Class5 && r.Conductor != Solid:
		return fmt.Errorf("conductor %q; expected %q or %q", r.Conductor, Class5, Solid)
	case !(r.Area >= 0.005e-6*(1-1e-9) && r.Area <= 1000e-6*(1+1e-9)):
		return fmt.Errorf("a wire of %g mm²; expected 0.005 to 1000 mm²", r.Area*1e6)
	case !(r.Length >= 0 && r.Length <= 1000):
		return fmt.Errorf("a run of %g m; expected 0 to 1000 m, one way", r.Length)
	case !(r.kelvin() >= 213.15-1e-9 && r.kelvin() <= 473.15+1e-9):
		return fmt.Errorf("a wire at %g K; expected 213.15 to 473.15 K (-60 to 200 °C)", r.Kelvin)
	case r.Joints < 0 || r.Joints > 1000:
		return fmt.Errorf("%d joints; expected 0 to 1000", r.Joints)
	}
	return r.joint().check("a joint", "Ω")
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
