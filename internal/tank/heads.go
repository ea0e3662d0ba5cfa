package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// HeadKind is the form of the head that closes one end of a cylinder.
type HeadKind string

// The forms of heads.
const (
	Flat          HeadKind = "flat"
	Hemispherical HeadKind = "hemispherical"
	Ellipsoidal   HeadKind = "ellipsoidal-2-1" // half an ellipsoid, a quarter of the diameter deep
	Torispherical HeadKind = "torispherical"   // a sphere's crown that runs into the shell by a knuckle
)

// Head closes one end of a cylinder. Crown and Knuckle are the inside radii of
// a torispherical head in metres; the others have none. A knuckle of nothing is
// a plain dished end, which meets the shell at a corner.
type Head struct {
	Kind           HeadKind
	Crown, Knuckle float64
}

// Kloepper is the torispherical head with the proportions of DIN 28011: a crown
// radius of the basis, a knuckle radius of a tenth of it. The basis is the
// outside diameter; where the wall isn't known, the inside one.
func Kloepper(basis float64) Head { return Head{Torispherical, basis, 0.1 * basis} }

// Korbbogen is the torispherical head with the proportions of DIN 28013: a
// crown radius of 0.8 and a knuckle radius of 0.154 of the basis, which is as
// for [Kloepper].
func Korbbogen(basis float64) Head { return Head{Torispherical, 0.8 * basis, 0.154 * basis} }

// ASMEFlangedDished is the torispherical head with a crown radius of the basis
// and a knuckle radius of 6 % of it.
func ASMEFlangedDished(basis float64) Head { return Head{Torispherical, basis, 0.06 * basis} }

// Depth gives how deep a head is inside, from where the straight part ends to
// the pole, for a shell of an inside diameter; all in metres. The error names
// what can't be: a knuckle larger than the shell's radius, a crown smaller than
// it, a size that isn't one, a kind that isn't known.
func (h Head) Depth(diameter float64) (float64, error) {
	if err := revolveSize("the inside diameter of the shell", diameter); err != nil {
		return 0, err
	}
	switch h.Kind {
	case Flat:
		return 0, h.none()
	case Hemispherical:
		return diameter / 2, h.none()
	case Ellipsoidal:
		return diameter / 4, h.none()
	case Torispherical:
	default:
		return 0, fmt.Errorf("unknown head %q; expected %s, %s, %s or %s", string(h.Kind), Flat, Hemispherical, Ellipsoidal, Torispherical)
	}
	if err := revolveSize("the crown radius of the head", h.Crown); err != nil {
		return 0, err
	}
	if h.Knuckle != 0 {
		if err := revolveSize("the knuckle radius of the head", h.Knuckle); err != nil {
			return 0, err
		}
	}
	// What a user took as half the diameter may be off it by its last digit.
	const slack = 1e-12
	switch half := diameter / 2; {
	case h.Crown < half*(1-slack):
		return 0, fmt.Errorf("the crown radius of the head, %s, is less than half the shell's inside diameter of %s; expected %s or more",
			quantity.Metre(h.Crown), quantity.Metre(diameter), quantity.Metre(half))
	case h.Knuckle > half*(1+slack):
		return 0, fmt.Errorf("the knuckle radius of the head, %s, is more than half the shell's inside diameter of %s; expected %s or less",
			quantity.Metre(h.Knuckle), quantity.Metre(diameter), quantity.Metre(half))
	case h.Knuckle > h.Crown*(1+slack):
		return 0, fmt.Errorf("the knuckle radius of the head, %s, is more than its crown radius of %s; expected less: are the two swapped?",
			quantity.Metre(h.Knuckle), quantity.Metre(h.Crown))
	}
	return h.Crown - h.rise(diameter), nil
}

// none refuses radii for a kind that has none.
func (h Head) none() error {
	if h.Crown != 0 || h.Knuckle != 0 {
		return fmt.Errorf("a %s head has no crown and knuckle radius of its own; found %s and %s; leave them out, or make it %s",
			h.Kind, quantity.Metre(h.Crown), quantity.Metre(h.Knuckle), Torispherical)
	}
	return nil
}

// rise is how far the crown's centre lies behind the end of the straight part:
// s with s² = (R−r)² − (D/2−r)².
func (h Head) rise(diameter float64) float64 {
	return math.Sqrt(max(0, (h.Crown-diameter/2)*(h.Crown+diameter/2-2*h.Knuckle)))
}

// pieces gives the profile of the head on the end of a shell that ends at t.
func (h Head) pieces(diameter, at float64) ([]revolvePiece, error) {
	depth, err := h.Depth(diameter)
	if err != nil || depth == 0 {
		return nil, err
	}
	half := diameter / 2
	round := func(depth float64) []revolvePiece {
		return []revolvePiece{{kind: revolveEllipse, from: at, to: at + depth, centre: at, along: depth, across: half}}
	}
	if h.Kind != Torispherical || h.Crown-h.Knuckle <= 1e-12*half {
		return round(depth), nil
	}
	rise := h.rise(diameter)
	// The knuckle's middle, the crown's, and where the two touch are in line.
	touch := at + h.Knuckle*rise/(h.Crown-h.Knuckle)
	centre := at - rise
	var list []revolvePiece
	if touch > at {
		list = append(list, revolvePiece{kind: revolveArc, from: at, to: touch, centre: at,
			offset: max(0, half-h.Knuckle), along: h.Knuckle, sign: 1})
	}
	if pole := centre + h.Crown; pole > touch {
		list = append(list, revolvePiece{kind: revolveEllipse, from: max(at, touch), to: pole, centre: centre,
			along: h.Crown, across: h.Crown})
	}
	return list, nil
}
