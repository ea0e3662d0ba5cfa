package tankfile

import (
	"fmt"

	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

// Capacity gives the capacity stated on the plate; false where none is.
func (f *File) Capacity() (quantity.CubicMetre, bool) {
	return quantity.CubicMetre(f.CapacityL / 1000), f.CapacityL > 0
}

// PermittedFill gives the share of the capacity that may be liquid; false where
// none is stated. Whether it may be so for what is in the tank isn't looked at.
func (f *File) PermittedFill() (quantity.Share, bool) {
	return quantity.Share(f.PermittedFillPct / 100), f.PermittedFillPct > 0
}

// Heel gives what is left in the tank, standing upright, when nothing more can
// be drawn; false where none is stated.
func (f *File) Heel(t *tank.Tank) (quantity.CubicMetre, bool) {
	switch {
	case f.HeelL != nil:
		return quantity.CubicMetre(*f.HeelL / 1000), true
	case f.HeelMM != nil:
		return t.Upright().Volume(quantity.Metre(metres(*f.HeelMM))), true
	}
	return 0, false
}

// SenderIn gives the sender in the tank, nil where none is stated. The error
// says what of it can't be right.
func (f *File) SenderIn(t *tank.Tank) (tank.Sender, error) {
	if f.Sender == nil {
		return nil, nil
	}
	return f.Sender.In(t)
}

// inTank lists what doesn't go together with the tank.
func (f *File) inTank(t *tank.Tank) (out []strict.Problem) {
	say := func(name, format string, args ...any) {
		out = append(out, strict.Problem{Path: []string{name}, Msg: fmt.Sprintf(format, args...)})
	}
	if heel, ok := f.Heel(t); ok {
		switch _, top := t.Upright().Reach(); {
		case f.HeelL != nil && heel > t.Capacity():
			say("heel_l", "a heel of %s, and the whole tank holds %s", heel, t.Capacity())
		case f.HeelMM != nil && quantity.Metre(metres(*f.HeelMM)) > top:
			say("heel_mm", "a heel of %s, and the tank is full at %s", quantity.Metre(metres(*f.HeelMM)), top)
		}
	}
	if _, err := f.SenderIn(t); err != nil {
		say("sender", "%v", err)
	}
	return out
}
