package doors

import "slices"

// Role is who someone is to the pages.
type Role string

// Roles. A fitter may do everything, an owner look at the tanks, and whoever came
// by a link look at those tanks that the link is for. A program has a token, which
// says what it may.
const (
	Nobody  Role = ""
	Fitter  Role = "fitter"
	Owner   Role = "owner"
	Guest   Role = "guest"
	Program Role = "program"
)

// Visitor is who a request comes from.
type Visitor struct {
	Role  Role
	Name  string   // of the link or token; "" for a pass phrase
	Pass  string   // the ID of the link or token; "" for a pass phrase
	Tanks []string // those that it is about; nil: all
	// Sends says that readings may be handed in, which a fitter may and a token with
	// that right.
	Sends bool
	blind bool // levels and history aren't its business
}

// Sees says whether a tank may be looked at: its levels and its history.
func (v Visitor) Sees(tank string) bool {
	return v.Role != Nobody && !v.blind && (v.Tanks == nil || slices.Contains(v.Tanks, tank))
}

// Looks says whether anything at all may be looked at.
func (v Visitor) Looks() bool { return v.Role != Nobody && !v.blind }

// Publishes says whether readings of a tank may be handed in.
func (v Visitor) Publishes(tank string) bool {
	return v.Role == Fitter || v.Sends && (v.Tanks == nil || slices.Contains(v.Tanks, tank))
}
