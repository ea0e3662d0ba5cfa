package gauge

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/tank"
)

// Filling gives how full a tank, standing upright, is at each mark of a unit.
//
//   - Marks in mm are heights of the surface at the sensor, or of the float rod
//     given as the sender.
//   - Marks in % are those of the dial or the swinging arm given as the sender.
//     Without one the dial is taken to be marked in percent of the volume; the
//     filling's Words say that it was taken so.
//   - Marks in L are parts of the capacity, whatever the sender.
//   - Marks in kg are refused: they tell a volume only with the density.
//
// Beyond the travel of a sender the filling stands still at what is in the tank
// there. The error says what the sender's own Check found, that its marks are in
// another unit, or that it stands still over all of the tank.
func Filling(t *tank.Tank, sender tank.Sender, unit curve.MarkUnit) (scale.Filling, error) {
	capacity := t.Capacity()
	switch unit {
	case curve.Volume:
		return Litres(capacity)
	case curve.Mass:
		return scale.Filling{}, noDensity()
	}
	if sender == nil {
		if unit == curve.Dial {
			return DialOfVolume(capacity), nil
		}
		return throughTank(t, nil, "by the shape of the tank"), nil
	}
	if err := sender.Check(); err != nil {
		return scale.Filling{}, err
	}
	words, own := "by the shape of the tank and where its sender stands", unit
	switch s := sender.(type) {
	case tank.Rod:
		words, own = "by the shape of the tank and the travel of its float", curve.Height
	case tank.Arm:
		words, own = "by the shape of the tank and the swing of its arm", curve.Dial
	case tank.Dial:
		words, own = "by the dial, which is marked in "+s.Marked.String(), curve.Dial
	}
	if own != unit {
		return scale.Filling{}, fmt.Errorf("the marks are in %s, and those of the tank's sender are in %s; correct the sender, or leave it out", unit.Symbol(), own.Symbol())
	}
	low, high := sender.Reach()
	if from, to := t.Ready().Volume(low), t.Ready().Volume(high); !(to > from) {
		return scale.Filling{}, fmt.Errorf("the sender follows the surface from %s to %s, where nothing changes in this tank of %s: correct its place, or the tank", low, high, t.Height())
	}
	return throughTank(t, sender, words), nil
}

// DialOfVolume is the filling of a dial that is taken to be marked in percent of
// the volume; the capacity is 0 where it isn't known.
func DialOfVolume(capacity quantity.CubicMetre) scale.Filling {
	return scale.Straight(0, 1, capacity, "by the dial, which is taken to be marked in percent of volume")
}

// Litres is the filling of marks in litres. It is an error where the capacity
// isn't known.
func Litres(capacity quantity.CubicMetre) (scale.Filling, error) {
	if !(capacity > 0) {
		return scale.Filling{}, fmt.Errorf("marks in L tell how full a tank is only with its water capacity; state it")
	}
	return scale.Straight(0, float64(capacity), capacity, "by the litres poured"), nil
}

// Unshaped is Filling for a tank of which only the capacity is known, or not
// even that (0).
func Unshaped(capacity quantity.CubicMetre, unit curve.MarkUnit) (scale.Filling, error) {
	switch unit {
	case curve.Dial:
		return DialOfVolume(capacity), nil
	case curve.Volume:
		return Litres(capacity)
	case curve.Mass:
		return scale.Filling{}, noDensity()
	}
	return scale.Filling{}, fmt.Errorf("marks in %s tell how full a tank is only with its shape; describe the tank, or choose the scale \"mark\"", unit.Symbol())
}

func noDensity() error {
	return fmt.Errorf("marks in kg tell how full a tank is only with the density of what is in it, which isn't known; take marks in L, or choose the scale \"mark\"")
}

// throughTank is the filling of heights of the surface, or of the marks of a
// sender that follows it.
func throughTank(t *tank.Tank, sender tank.Sender, words string) scale.Filling {
	levels, capacity := t.Ready(), t.Capacity()
	height := func(mark float64) quantity.Metre {
		if sender == nil {
			return quantity.Metre(mark)
		}
		h, _ := sender.Height(mark) // beyond its travel where it stands still
		return h
	}
	return scale.Filling{
		Share: func(mark float64) float64 {
			return min(1, max(0, float64(levels.Volume(height(mark))/capacity)))
		},
		Mark: func(share float64) float64 {
			// Held to what the tank holds, so that there is no error.
			h, _ := levels.HeightOf(quantity.CubicMetre(min(1, max(0, share))) * capacity)
			if sender == nil {
				return float64(h)
			}
			mark, _ := sender.Mark(h)
			return mark
		},
		Capacity: capacity,
		Words:    words,
	}
}
