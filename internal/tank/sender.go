package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Sender turns marks into heights of the surface at the sensor and back. A mark
// is what the sender is marked in: a share 0..1 of a dial or of an arm's travel,
// or metres of a float's travel or of the surface's height.
//
// A mark or a height outside the travel gives false, and with it the nearest
// end: where the sender stands still, and what it goes on showing.
type Sender interface {
	Height(mark float64) (quantity.Metre, bool)
	Mark(h quantity.Metre) (float64, bool)
	// Reach gives the heights of the surface between which it follows.
	Reach() (low, high quantity.Metre)
	// Check says what of it can't be right. The other methods of a sender that
	// it refuses give nothing of use.
	Check() error
}

// senderSlack is how far beyond an end, in parts of the travel, a value is
// still taken for that end: what is left over from reckoning there and back.
const senderSlack = 1e-12

// senderHold holds a value to low..high, and says whether it lay there.
func senderHold(v, low, high float64) (float64, bool) {
	slack := senderSlack * (high - low)
	ok := v >= low-slack && v <= high+slack
	return min(high, max(low, v)), ok
}

// senderLengths refuses a negative or endless length, by its name.
func senderLengths(what string, names []string, values ...float64) error {
	for i, v := range values {
		if !(v >= 0 && v <= MaxExtent) {
			return fmt.Errorf("%s: %s is %s; expected 0 mm to %s", what, names[i], quantity.Metre(v), quantity.Metre(MaxExtent))
		}
	}
	return nil
}

// senderChord finds where a line that starts in plan at foot, on the level of
// the lowest inside point, and goes along axis enters the tank first and leaves
// it last; both in metres along the axis. False where it misses the tank, or
// the shape isn't known. What is thinner than a sixty-fourth of the height may
// be missed.
func senderChord(t *Tank, foot, axis r3.Vec) (low, high float64, ok bool) {
	const samples, halvings = 64, 44
	_, top := t.Box()
	end := top.Z / axis.Z
	inside := func(s float64) bool { return t.Contains(r3.Add(foot, r3.Scale(s, axis))) }
	at := func(i int) float64 { return end * (float64(i) + 0.5) / samples }
	first, last := -1, -1
	for i := range samples {
		if inside(at(i)) {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return 0, 0, false
	}
	skin := func(out, in float64) float64 {
		for range halvings {
			if mid := out + (in-out)/2; inside(mid) {
				in = mid
			} else {
				out = mid
			}
		}
		return out + (in-out)/2
	}
	low, high = 0, end
	if first > 0 {
		low = at(first - 1)
	}
	if last < samples-1 {
		high = at(last + 1)
	}
	return skin(low, at(first)), skin(high, at(last)), true
}

// senderFloorRoof gives the floor and the roof along the sensor's own axis.
// Where the shape isn't known these are the ends of the upright tank's reach.
func senderFloorRoof(t *Tank) (floor, roof float64, known bool) {
	s := t.Sensor()
	if low, high, ok := senderChord(t, r3.Vec{X: s.X, Y: s.Y}, s.Axis); ok {
		return low, high, true
	}
	low, high := t.Upright().Reach()
	return float64(low), float64(high), false
}

// senderUpright says whether the sensor's axis is the tank's upright.
func senderUpright(t *Tank) bool { return t.Sensor().Axis.Z > 1-1e-12 }

// senderDegrees prints an angle in radians.
func senderDegrees(a float64) string {
	text := quantity.Short(math.Abs(a)*180/math.Pi, 1) + "°"
	if a < 0 && text != "0°" {
		return "−" + text
	}
	return text
}

// SensorInside says whether the sensor's line goes through the inside at all: in
// the hole of a ring, or beyond a curved wall, it reads nothing. True where the
// shape isn't known.
func (t *Tank) SensorInside() bool {
	if len(t.Facets(float64(t.Height())/20).Triangles) == 0 {
		return true
	}
	_, _, ok := senderChord(t, r3.Vec{X: t.sensor.X, Y: t.sensor.Y}, t.sensor.Axis)
	return ok
}
