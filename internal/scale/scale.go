package scale

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// Kind names a scale.
type Kind string

const (
	// Mark is the dial's (or the float's) own scale.
	Mark Kind = "mark"
	// Volume is the water capacity: 100 % is the whole inside volume.
	Volume Kind = "volume"
	// Fill is the permitted fill: 100 % is as full as the tank may be filled.
	Fill Kind = "fill"
	// Usable is the permitted fill less the heel: 0 % is when nothing more can
	// be drawn, 100 % as full as the tank may be filled.
	Usable Kind = "usable"
)

// Kinds lists every scale, the mark's own first.
var Kinds = []Kind{Mark, Volume, Fill, Usable}

// Scale turns marks into the figure a customer should see. The zero value is
// not usable; make one with [New] or [Through]. It may be used by many at once.
type Scale struct {
	kind          Kind
	permittedFill quantity.Share // at 100 %: of the filling, or of the marks where there is none
	empty, full   float64        // marks, SI
	dial          bool           // marks are shares of a dial
	through       *through       // nil: straight in the mark
}

// New makes a scale that is straight in the mark: Mark, or Fill where nothing is
// known of the tank. Empty and full are the marks (share, m, m³ or kg) that
// are 0 % and 100 % of the mark scale itself: 0 and 1 for a dial in percent.
// The permitted fill is a fraction of that range, 0.01 to 1, and is used by
// Fill alone.
//
// On a dial in percent of volume a permitted fill of 80 % stands at mark 80.
// On a float's height it stands at 80 % of the height, which is 80 % of the
// volume only where the tank has upright walls; Sentence says so, and [Through]
// goes by the tank.
func New(kind Kind, permittedFill quantity.Share, empty, full float64, dial bool) (Scale, error) {
	if err := inOrder(empty, full); err != nil {
		return Scale{}, err
	}
	switch kind {
	case Mark:
		permittedFill = 1
	case Fill:
		if err := permitted(permittedFill); err != nil {
			return Scale{}, err
		}
	case Volume, Usable:
		return Scale{}, fmt.Errorf("the scale %q needs to be told how full the tank is at each mark", kind)
	default:
		return Scale{}, unknown(kind)
	}
	return Scale{kind: kind, permittedFill: permittedFill, empty: empty, full: full, dial: dial}, nil
}

func inOrder(empty, full float64) error {
	if !(full > empty) {
		return fmt.Errorf("the full mark must lie above the empty mark; found empty %g and full %g", empty, full)
	}
	return nil
}

func permitted(fill quantity.Share) error {
	if !(fill >= 0.01 && fill <= 1) {
		return fmt.Errorf("a permitted fill lies between 1 and 100 %%; found %s", fill)
	}
	return nil
}

func unknown(kind Kind) error {
	return fmt.Errorf("scale %q is not known; expected %q, %q, %q or %q", kind, Mark, Volume, Fill, Usable)
}

// Kind gives which scale it is.
func (s Scale) Kind() Kind { return s.kind }

// PermittedFill gives what 100 % is of the whole, as a fraction: the permitted
// fill on Fill and Usable, 1 on the others.
func (s Scale) PermittedFill() quantity.Share { return s.permittedFill }

// Ends gives the marks at 0 % and 100 % of this scale; where the sender doesn't
// come so far, the last mark it comes to. Between them a scale that goes through
// a tank needn't be straight, so neither is their distance a measure of it: see
// Spread.
func (s Scale) Ends() (empty, full float64) {
	if s.curved() {
		return s.through.low, s.through.high
	}
	return s.empty, s.empty + float64(s.permittedFill)*(s.full-s.empty)
}

// Whole gives the marks at 0 % and 100 % of the mark scale itself, whatever may
// be filled of it.
func (s Scale) Whole() (empty, full float64) { return s.empty, s.full }

// Holds says whether a mark lies on the scale or below it and not beyond 100 %.
// What the way through a tank and back adds by rounding counts for nothing.
func (s Scale) Holds(mark float64) bool {
	empty, full := s.Ends()
	if s.curved() {
		return mark <= full+roundTrip*(full-empty)
	}
	return mark <= full+1e-12
}

// Target gives the share that should be shown at a mark, held to 0..1: a tank
// filled beyond what is permitted shows 100 % and no more.
func (s Scale) Target(mark float64) quantity.Share {
	if s.curved() {
		return quantity.Share(min(1, max(0, s.through.at(mark))))
	}
	empty, full := s.Ends()
	return quantity.Share(min(1, max(0, (mark-empty)/(full-empty))))
}

// Of gives the mark at which a share of this scale, 0..1, should be shown; where
// the sender doesn't come so far, the last mark it comes to.
func (s Scale) Of(share quantity.Share) float64 {
	if s.curved() {
		return s.through.of(float64(share))
	}
	empty, full := s.Ends()
	return empty + float64(share)*(full-empty)
}
