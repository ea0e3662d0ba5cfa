package tank

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// Rod is a float that slides on a rod along the sensor's axis, between a stop
// collar at the rod's foot and one below its head. Lengths in metres along the
// axis, each 0 or more.
//
//	surface at the lowest  = Mount − Length + Foot + Sinks
//	surface at the highest = Mount − Head − Float + Sinks
type Rod struct {
	Mount  float64 // the mounting face above the level of the lowest inside point
	Length float64 // of the rod below the mounting face
	Float  float64 // height of the float
	Sinks  float64 // how deep the float's underside lies below the surface, at most Float
	Foot   float64 // from the rod's lower end to the upper edge of the stop there
	Head   float64 // from the mounting face to the lower edge of the stop there
	// FromFloat says that its marks are the float's travel from its lower
	// stop; without it they are heights of the surface. In metres both.
	FromFloat bool
}

// Check refuses a rod that leaves its float no travel, and lengths that can't
// be.
func (r Rod) Check() error {
	names := []string{"the height of the mounting face", "the length below it", "the height of the float", "the immersion of the float", "the stop at the foot", "the stop below the head"}
	if err := senderLengths("float rod", names, r.Mount, r.Length, r.Float, r.Sinks, r.Foot, r.Head); err != nil {
		return err
	}
	if r.Sinks > r.Float {
		return fmt.Errorf("float rod: a float of %s sinks in by %s; expected no more than its height, or it doesn't float", quantity.Metre(r.Float), quantity.Metre(r.Sinks))
	}
	if low, high := r.ends(); !(high > low) {
		return fmt.Errorf("float rod: %s of rod leave a float of %s between stops of %s and %s no travel; expected a longer rod",
			quantity.Metre(r.Length), quantity.Metre(r.Float), quantity.Metre(r.Foot), quantity.Metre(r.Head))
	}
	return nil
}

func (r Rod) ends() (low, high float64) {
	return r.Mount - r.Length + r.Foot + r.Sinks, r.Mount - r.Head - r.Float + r.Sinks
}

// Reach gives the heights of the surface with the float at its stops.
func (r Rod) Reach() (low, high quantity.Metre) {
	l, h := r.ends()
	return quantity.Metre(l), quantity.Metre(h)
}

// zero is the height of the surface at mark 0.
func (r Rod) zero() float64 {
	if low, _ := r.ends(); r.FromFloat {
		return low
	}
	return 0
}

// Height gives the height of the surface at a mark in metres.
func (r Rod) Height(mark float64) (quantity.Metre, bool) {
	low, high := r.ends()
	h, ok := senderHold(r.zero()+mark, low, high)
	return quantity.Metre(h), ok
}

// Mark gives the mark in metres at a height of the surface.
func (r Rod) Mark(h quantity.Metre) (float64, bool) {
	low, high := r.ends()
	held, ok := senderHold(float64(h), low, high)
	return held - r.zero(), ok
}
