package tank

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Limits of a tank's extents along any axis and of its sizes, in metres.
// Beyond them a unit was mixed up: a fitter's tank of 400 m is one of 400 mm.
const (
	MinExtent = 0.005
	MaxExtent = 50
)

// Sensor is where the height is read: a place in plan, in metres from the
// middle of the plan, and the direction along which it is measured upward from
// the level of the lowest inside point. The zero Axis is upright.
type Sensor struct {
	X, Y float64
	Axis r3.Vec
}

// Tank is an inside volume with a sensor in it. It is not changed after New and
// may be used by many at once.
type Tank struct {
	solid    Solid // in the tank's frame
	low      r3.Vec
	high     r3.Vec
	sensor   Sensor
	capacity float64
	level    *Levels
	readied  sync.Once
	ready    *Levels
}

// New makes a tank of a solid, which may stand anywhere in its own frame. The
// error says what can't be right: no volume, an extent beyond the limits, a
// sensor outside the plan.
func New(solid Solid, sensor Sensor) (*Tank, error) {
	low, high := solid.Box()
	size := r3.Sub(high, low)
	for _, e := range []struct {
		name   string
		extent float64
	}{{"length", size.X}, {"width", size.Y}, {"height", size.Z}} {
		if !(e.extent <= MaxExtent) || !(e.extent >= MinExtent) && !(e.extent == 0 && e.name != "height") {
			return nil, fmt.Errorf("the tank's inside %s comes to %s; expected %s to %s; is it in another unit?",
				e.name, quantity.Metre(e.extent), quantity.Metre(MinExtent), quantity.Metre(MaxExtent))
		}
	}
	move := r3.Vec{X: -(low.X + high.X) / 2, Y: -(low.Y + high.Y) / 2, Z: -low.Z}
	t := &Tank{solid: Placed{Solid: solid, At: move}, low: r3.Add(low, move), high: r3.Add(high, move)}
	if sensor.Axis == (r3.Vec{}) {
		sensor.Axis = r3.Vec{Z: 1}
	}
	length := r3.Norm(sensor.Axis)
	if !(length > 0) || math.IsInf(length, 0) || !(sensor.Axis.Z/length >= math.Cos(MaxTilt)-1e-12) {
		return nil, fmt.Errorf("the sensor's axis (%g, %g, %g) must point upward, within 60° of the tank's upright", sensor.Axis.X, sensor.Axis.Y, sensor.Axis.Z)
	}
	sensor.Axis = r3.Scale(1/length, sensor.Axis)
	const slack = 1e-9
	if !(math.Abs(sensor.X) <= t.high.X+slack) || !(math.Abs(sensor.Y) <= t.high.Y+slack) {
		if size.X > 0 && size.Y > 0 || sensor.X != 0 || sensor.Y != 0 {
			return nil, fmt.Errorf("the sensor stands %s forward and %s to port of the middle, outside the tank, which reaches %s and %s from its middle",
				quantity.Metre(sensor.X), quantity.Metre(sensor.Y), quantity.Metre(t.high.X), quantity.Metre(t.high.Y))
		}
	}
	t.sensor = sensor
	levels, err := t.levels(Tilt{}, nil)
	if err != nil {
		return nil, err
	}
	t.level, t.capacity = levels, levels.capacity
	if !(t.capacity > 0) || math.IsInf(t.capacity, 0) {
		return nil, fmt.Errorf("the tank's inside volume comes to %g m³; expected more than nothing", t.capacity)
	}
	return t, nil
}

// Capacity is the whole inside volume: the water capacity.
func (t *Tank) Capacity() quantity.CubicMetre { return quantity.CubicMetre(t.capacity) }

// Height is the inside height, from the lowest to the highest inside point of
// the upright tank.
func (t *Tank) Height() quantity.Metre { return quantity.Metre(t.high.Z) }

// Box gives the corners of the box around the inside, in the tank's frame.
func (t *Tank) Box() (low, high r3.Vec) { return t.low, t.high }

// Sensor gives where the height is read, its axis a unit vector.
func (t *Tank) Sensor() Sensor { return t.sensor }

// Contains says whether a point of the tank's frame lies inside.
func (t *Tank) Contains(p r3.Vec) bool { return t.solid.Contains(p) }

// Facets gives the inside as a mesh in the tank's frame; see [Solid].
func (t *Tank) Facets(tolerance float64) Facets { return t.solid.Facets(tolerance) }

// Upright gives the levels of the tank standing upright.
func (t *Tank) Upright() *Levels { return t.level }

// Ready gives the levels of the tank standing upright for whoever asks for
// thousands of them: those of Upright where a formula gives them, and where they
// are integrals a table of them, good to 1e-9 of the capacity and made when it
// is first asked for.
func (t *Tank) Ready() *Levels {
	t.readied.Do(func() {
		t.ready = t.level
		if !integrates(t.level.cut) {
			return
		}
		if table, err := t.level.Tabulated(quantity.CubicMetre(1e-9 * t.capacity)); err == nil {
			t.ready = table
		}
	})
	return t.ready
}

// integrates says whether a cut finds its volumes by integrals that take
// microseconds.
func integrates(c Cut) bool {
	switch c := c.(type) {
	case placedCut:
		return integrates(c.cut)
	case sumCut:
		for _, part := range c.cuts {
			if integrates(part) {
				return true
			}
		}
	case *revolveTiltedCut:
		return true
	}
	return false
}

// At prepares the tank for a tilt; this is where the work is done that doesn't
// depend on the level. The error says why the tank can't be tilted so.
func (t *Tank) At(tilt Tilt) (*Levels, error) {
	if tilt.Level() {
		return t.level, nil
	}
	if !(math.Abs(tilt.Pitch) <= MaxTilt) || !(math.Abs(tilt.Roll) <= MaxTilt) {
		return nil, fmt.Errorf("a tilt of %s can't be reckoned with; expected up to 60° of pitch and of roll", tilt)
	}
	return t.levels(tilt, nil)
}

// levels prepares for a tilt; a cut given stands in for the solid's own.
func (t *Tank) levels(tilt Tilt, cut Cut) (*Levels, error) {
	up := tilt.Up()
	if cut == nil {
		var err error
		if cut, err = t.solid.Cut(up); err != nil {
			return nil, err
		}
	}
	foot := r3.Vec{X: t.sensor.X, Y: t.sensor.Y}
	l := &Levels{tank: t, tilt: tilt, cut: cut, base: r3.Dot(up, foot), slope: r3.Dot(up, t.sensor.Axis)}
	if !(l.slope > 0.1) {
		return nil, fmt.Errorf("with the tank %s the sensor lies almost along the surface, so that it tells nothing", tilt)
	}
	l.low, l.high = cut.Span()
	l.capacity, _ = cut.Below(math.Nextafter(l.high, math.Inf(1)))
	return l, nil
}
