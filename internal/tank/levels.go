package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Levels is a tank at one tilt. It is not changed after it was made and may be
// used by many at once.
type Levels struct {
	tank        *Tank
	tilt        Tilt
	cut         Cut
	base, slope float64 // a plane at height h of the sensor has d = base + slope·h
	low, high   float64 // d of the lowest and the highest inside point
	capacity    float64
}

// Tank gives the tank.
func (l *Levels) Tank() *Tank { return l.tank }

// Tilt gives the tilt it was prepared for.
func (l *Levels) Tilt() Tilt { return l.tilt }

func (l *Levels) plane(h quantity.Metre) float64 { return l.base + l.slope*float64(h) }

// Reach gives the heights at the sensor between which the volume changes: the
// surface touching the tank's lowest, and its highest inside point. Of a tilted
// tank both may lie beyond the tank at the sensor's place.
func (l *Levels) Reach() (low, high quantity.Metre) {
	return quantity.Metre((l.low - l.base) / l.slope), quantity.Metre((l.high - l.base) / l.slope)
}

// Volume gives the volume in the tank when the surface stands at a height of
// the sensor. It never falls with the height; beyond the reach it is nothing,
// or the capacity.
func (l *Levels) Volume(h quantity.Metre) quantity.CubicMetre {
	v, _ := l.below(l.plane(h))
	return quantity.CubicMetre(v)
}

// Surface gives the free surface in m² at a height of the sensor. Volume
// changes with the height at this rate times the cosine between the sensor's
// axis and the true upright; see Slope.
func (l *Levels) Surface(h quantity.Metre) float64 {
	_, s := l.below(l.plane(h))
	return s
}

// Slope gives dV/dh in m² at a height of the sensor.
func (l *Levels) Slope(h quantity.Metre) float64 { return l.Surface(h) * l.slope }

// Centroid gives the centroid of the liquid in the tank's frame; NaN in every
// coordinate where there is none.
func (l *Levels) Centroid(h quantity.Metre) r3.Vec {
	d := l.plane(h)
	v, _ := l.below(d)
	if !(v > 0) {
		return r3.Vec{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}
	}
	return r3.Scale(1/v, l.cut.Moment(d))
}

func (l *Levels) below(d float64) (volume, surface float64) {
	v, s := l.cut.Below(d)
	return min(l.capacity, max(0, v)), max(0, s)
}

// HeightOf gives the height of the sensor at which the tank holds a volume: the
// exact reverse of Volume, to the last few digits of the volume. At nothing and
// at the capacity it is the end of the reach. The error says that the tank
// can't hold so much, or so little.
func (l *Levels) HeightOf(volume quantity.CubicMetre) (quantity.Metre, error) {
	v := float64(volume)
	// What was reckoned to be the capacity on another way may be off it by its
	// last digits.
	const slack = 1e-9
	if !(v >= -slack*l.capacity && v <= (1+slack)*l.capacity) {
		return 0, fmt.Errorf("the tank holds 0 L to %s; found %s", quantity.CubicMetre(l.capacity), volume)
	}
	return quantity.Metre((l.planeOf(v) - l.base) / l.slope), nil
}

// planeOf finds d with Below(d) = v by Newton's steps held within a bracket
// that shrinks by half at least every second step.
func (l *Levels) planeOf(v float64) float64 {
	switch {
	case v <= 0:
		return l.low
	case v >= l.capacity:
		return l.high
	}
	lo, hi := l.low, l.high
	d := lo + (hi-lo)*(v/l.capacity)
	last := hi - lo
	for range 200 {
		f, slope := l.cut.Below(d)
		f -= v
		switch {
		case f == 0:
			return d
		case f < 0:
			lo = d
		default:
			hi = d
		}
		next := d - f/slope
		// A step that leaves the bracket, or shrinks it too little, is halved.
		if !(next > lo && next < hi) || 2*math.Abs(next-d) > last {
			next = lo + (hi-lo)/2
		}
		last = math.Abs(next - d)
		if next == d || next <= lo || next >= hi {
			return d
		}
		d = next
	}
	return d
}
