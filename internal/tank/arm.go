package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Arm is a float on an arm that swings about a pivot in an upright plane. Its
// marks are shares of the angle's travel, so heights go as the sine:
//
//	h = Pivot + Length·sin(angle) + Sinks, angle = Low + mark·(High − Low)
//
// Lengths in metres, angles in radians above the horizontal, upward positive.
type Arm struct {
	Pivot     float64 // the pivot above the level of the lowest inside point
	Length    float64 // from the pivot to the middle of the float
	Low, High float64 // the stops, within ±π/2, Low the lower
	// Sinks is how far the middle of the float lies below the surface: 0 for
	// a float that is half in, less than nothing for one that rides high.
	Sinks float64
	Float float64 // height of the float; 0 where only its middle matters
	// Towards is the direction in plan in which the arm points, from forward
	// to port. Together with the sensor's place, which is taken for the
	// pivot's, it says what the float may strike.
	Towards float64
}

// Check refuses stops beyond upright, or in the wrong order, and lengths that
// can't be.
func (a Arm) Check() error {
	names := []string{"the height of the pivot", "the length of the arm", "the height of the float"}
	if err := senderLengths("swinging arm", names, a.Pivot, a.Length, a.Float); err != nil {
		return err
	}
	if !(a.Length > 0) {
		return fmt.Errorf("swinging arm: it has no length; expected the distance from the pivot to the middle of the float")
	}
	if !(a.Low >= -math.Pi/2 && a.High <= math.Pi/2 && a.Low < a.High) {
		return fmt.Errorf("swinging arm: it swings from %s to %s of the horizontal; expected −90° to 90°, the lower stop first", senderDegrees(a.Low), senderDegrees(a.High))
	}
	if !(math.Abs(a.Sinks) <= max(a.Float, a.Length)) {
		return fmt.Errorf("swinging arm: the middle of the float is said to lie %s below the surface; expected less than the float's height", quantity.Metre(a.Sinks))
	}
	if math.IsNaN(a.Towards) || math.IsInf(a.Towards, 0) {
		return fmt.Errorf("swinging arm: the direction in plan isn't a number")
	}
	return nil
}

func (a Arm) at(angle float64) float64 { return a.Pivot + a.Length*math.Sin(angle) + a.Sinks }

// Reach gives the heights of the surface with the arm at its stops.
func (a Arm) Reach() (low, high quantity.Metre) {
	return quantity.Metre(a.at(a.Low)), quantity.Metre(a.at(a.High))
}

// Height gives the height of the surface at a share of the angle's travel.
func (a Arm) Height(mark float64) (quantity.Metre, bool) {
	held, ok := senderHold(mark, 0, 1)
	// Weighed from both ends, so that each is met to the last digit.
	return quantity.Metre(a.at(a.Low*(1-held) + a.High*held)), ok
}

// Mark gives the share of the angle's travel at a height of the surface. Near
// to an upright arm it tells the angle poorly: a small change of height is a
// large one of angle there.
func (a Arm) Mark(h quantity.Metre) (float64, bool) {
	held, ok := senderHold(float64(h), a.at(a.Low), a.at(a.High))
	sine := min(1, max(-1, (held-a.Sinks-a.Pivot)/a.Length))
	mark, _ := senderHold((math.Asin(sine)-a.Low)/(a.High-a.Low), 0, 1)
	return mark, ok
}

// direction is where the arm points in plan, a unit vector.
func (a Arm) direction() r3.Vec {
	s, c := math.Sincos(a.Towards)
	return r3.Vec{X: c, Y: s}
}

// end gives the middle of the float at an angle, in the frame of a tank whose
// sensor's place is the pivot's.
func (a Arm) end(t *Tank, angle float64) r3.Vec {
	s, c := math.Sincos(angle)
	pivot := r3.Vec{X: t.Sensor().X, Y: t.Sensor().Y, Z: a.Pivot}
	return r3.Add(pivot, r3.Add(r3.Scale(a.Length*c, a.direction()), r3.Vec{Z: a.Length * s}))
}

// armAngles gives angles over the travel, the ends and the horizontal among
// them, where the float reaches lowest, highest and farthest.
func (a Arm) armAngles() []float64 {
	const steps = 24
	angles := make([]float64, 0, steps+2)
	for i := range steps + 1 {
		angles = append(angles, a.Low+(a.High-a.Low)*float64(i)/steps)
	}
	if a.Low < 0 && a.High > 0 {
		angles = append(angles, 0)
	}
	return angles
}
