// Package scale says what 100 % means. The same dial position is 80 % of the
// dial and 100 % of what may be filled; a figure without its scale is the usual
// reason why a display is thought to be wrong.
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
	// Fill is the permitted fill: 100 % is as full as the tank may be filled.
	Fill Kind = "fill"
)

// Scale turns marks into the figure a customer should see. The zero value is
// not usable; make one with New.
type Scale struct {
	kind          Kind
	permittedFill quantity.Share
	empty, full   float64 // marks, SI
	dial          bool    // marks are shares of a dial
}

// New makes a scale. Empty and full are the marks (share, m, m³ or kg) that
// are 0 % and 100 % of the mark scale itself: 0 and 1 for a dial in percent.
// The permitted fill is a fraction of that range, 0.01 to 1, and is used by
// Fill alone.
//
// On a dial in percent of volume a permitted fill of 80 % stands at mark 80.
// On a float's height it stands at 80 % of the height, which is 80 % of the
// volume only where the tank has upright walls; Sentence says so.
func New(kind Kind, permittedFill quantity.Share, empty, full float64, dial bool) (Scale, error) {
	if !(full > empty) {
		return Scale{}, fmt.Errorf("the full mark must lie above the empty mark; found empty %g and full %g", empty, full)
	}
	switch kind {
	case Mark:
		permittedFill = 1
	case Fill:
		if !(permittedFill >= 0.01 && permittedFill <= 1) {
			return Scale{}, fmt.Errorf("a permitted fill lies between 1 and 100 %%; found %s", permittedFill)
		}
	default:
		return Scale{}, fmt.Errorf("scale %q is not known; expected %q or %q", kind, Mark, Fill)
	}
	return Scale{kind: kind, permittedFill: permittedFill, empty: empty, full: full, dial: dial}, nil
}

// Kind gives which scale it is.
func (s Scale) Kind() Kind { return s.kind }

// PermittedFill gives the permitted fill as a fraction; 1 on the mark scale.
func (s Scale) PermittedFill() quantity.Share { return s.permittedFill }

// Ends gives the marks at 0 % and 100 % of this scale.
func (s Scale) Ends() (empty, full float64) {
	return s.empty, s.empty + float64(s.permittedFill)*(s.full-s.empty)
}

// Whole gives the marks at 0 % and 100 % of the mark scale itself, whatever may
// be filled of it.
func (s Scale) Whole() (empty, full float64) { return s.empty, s.full }

// Target gives the share that should be shown at a mark, held to 0..1: a tank
// filled beyond what is permitted shows 100 % and no more.
func (s Scale) Target(mark float64) quantity.Share {
	empty, full := s.Ends()
	return quantity.Share(min(1, max(0, (mark-empty)/(full-empty))))
}

// Of gives the mark at which a share of this scale should be shown.
func (s Scale) Of(share quantity.Share) float64 {
	empty, full := s.Ends()
	return empty + float64(share)*(full-empty)
}

// Sentence says what 100 % means, in words for a customer.
func (s Scale) Sentence() string {
	switch {
	case s.kind == Fill && s.dial:
		return fmt.Sprintf("100 %% = as full as this tank may be filled (%s on the dial).", s.permittedFill)
	case s.kind == Fill:
		return fmt.Sprintf("100 %% = as full as this tank may be filled (%s of the marks from empty to full).", s.permittedFill)
	case s.dial:
		return "100 % = the dial's own scale: the same figure as on the dial."
	default:
		return "100 % = the highest mark of the sender's own travel."
	}
}
