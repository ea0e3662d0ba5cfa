package doors

import "slices"

// Role is who someone is to the pages.
type Role string

// Roles. A fitter may do everything, an owner look at the tanks, and whoever came
// by a link look at those tanks that the link is for.
const (
	Nobody Role = ""
	Fitter Role = "fitter"
	Owner  Role = "owner"
	Guest  Role = "guest"
)

// Visitor is who a request comes from.
type Visitor struct {
	Role  Role
	Name  string   // of the link or token; "" for a pass phrase
	Tanks []string // those that may be looked at; nil: all
}

// Sees says whether a tank may be looked at.
func (v Visitor) Sees(tank string) bool {
	return v.Role != Nobody && (v.Tanks == nil || slices.Contains(v.Tanks, tank))
}
