package tank

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// Marked says what the percent on a dial are percent of.
type Marked int

const (
	ByVolume Marked = iota // of the tank's capacity
	ByHeight               // of its inside height
	ByAngle                // of the arm's travel
)

// String gives the words: "percent of volume".
func (m Marked) String() string {
	return [...]string{"percent of volume", "percent of height", "percent of the arm's travel"}[m]
}

// MarshalText writes "volume", "height" or "angle".
func (m Marked) MarshalText() ([]byte, error) {
	return []byte([...]string{"volume", "height", "angle"}[m]), nil
}

// Dial is a sender with a printed scale in percent of a given tank. Its marks
// are shares of that scale. An arm, where one is given, holds the dial to what
// the arm can follow.
type Dial struct {
	Marked Marked
	Tank   *Tank
	Arm    *Arm // needed for ByAngle
}

// Check refuses a dial without the tank, or the arm, that it is marked for.
func (d Dial) Check() error {
	if d.Marked < ByVolume || d.Marked > ByAngle {
		return fmt.Errorf("dial: it is marked in nothing that is known; expected volume, height or angle")
	}
	if d.Tank == nil && d.Marked != ByAngle {
		return fmt.Errorf("dial: it is marked in %s of a tank that isn't given", d.Marked)
	}
	if d.Arm == nil {
		if d.Marked == ByAngle {
			return fmt.Errorf("dial: it is marked in %s, and no arm is given; state pivot, length and stops of the arm", d.Marked)
		}
		return nil
	}
	if err := d.Arm.Check(); err != nil {
		return err
	}
	if d.Tank != nil {
		if low, high := d.Reach(); !(high > low) {
			return fmt.Errorf("dial: its arm follows the surface from %s, outside the tank of %s", low, d.Tank.Height())
		}
	}
	return nil
}

// Reach gives the heights of the surface that it can follow: the arm's, within
// the tank.
func (d Dial) Reach() (low, high quantity.Metre) {
	if d.Tank == nil {
		return d.Arm.Reach()
	}
	low, high = d.Tank.Upright().Reach()
	if d.Arm != nil {
		l, h := d.Arm.Reach()
		low, high = max(low, l), min(high, h)
	}
	return low, high
}

// Height gives the height of the surface at a share of the dial.
func (d Dial) Height(mark float64) (quantity.Metre, bool) {
	mark, onDial := senderHold(mark, 0, 1)
	var h quantity.Metre
	switch d.Marked {
	case ByVolume:
		// A share of the capacity is always to be had.
		h, _ = d.Tank.Ready().HeightOf(quantity.CubicMetre(mark) * d.Tank.Capacity())
	case ByHeight:
		low, high := d.Tank.Upright().Reach()
		h = low*quantity.Metre(1-mark) + high*quantity.Metre(mark)
	default:
		h, _ = d.Arm.Height(mark)
	}
	low, high := d.Reach()
	held, ok := senderHold(float64(h), float64(low), float64(high))
	return quantity.Metre(held), ok && onDial
}

// Mark gives the share of the dial at a height of the surface.
func (d Dial) Mark(h quantity.Metre) (float64, bool) {
	low, high := d.Reach()
	held, ok := senderHold(float64(h), float64(low), float64(high))
	var mark float64
	switch d.Marked {
	case ByVolume:
		mark = float64(d.Tank.Ready().Volume(quantity.Metre(held)) / d.Tank.Capacity())
	case ByHeight:
		low, high := d.Tank.Upright().Reach()
		mark = (held - float64(low)) / float64(high-low)
	default:
		mark, _ = d.Arm.Mark(quantity.Metre(held))
	}
	mark, _ = senderHold(mark, 0, 1)
	return mark, ok
}

// dialShows gives the share shown with a volume in the upright tank; beyond
// the reach what is shown at its end.
func (d Dial) dialShows(v float64) float64 {
	v = min(float64(d.Tank.Capacity()), max(0, v))
	h, _ := d.Tank.Ready().HeightOf(quantity.CubicMetre(v))
	mark, _ := d.Mark(h)
	return mark
}
