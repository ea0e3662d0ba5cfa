package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Place is a place in plan for an upright sensor.
type Place struct {
	X, Y   quantity.Metre      // forward and to port of the middle of the plan
	Worst  quantity.CubicMetre // the largest error there, either way, over what was looked at
	Now    quantity.CubicMetre // the same at the place where the sensor is
	Inside bool                // whether the place lies over the tank's inside
	Tilt   Tilt                // what was looked at: pitch or roll of this much, either way
}

// BestPlace gives the place in plan where the error of tilt is least: the
// largest over 25, 50 and 75 % of the capacity, 3° nose up, nose down, starboard
// down and port down. Of a prism that is the place under the centroid of the
// plan, where the error is nothing as long as the surface touches neither floor
// nor roof.
func BestPlace(t *Tank) (Place, error) {
	const angle = 3
	p := Place{Tilt: Degrees(angle, angle)}
	low, high := t.Box()
	pitch, err := placeAlong(t, Degrees(angle, 0), r3.Vec{X: 1})
	if err != nil {
		return Place{}, err
	}
	roll, err := placeAlong(t, Degrees(0, angle), r3.Vec{Y: 1})
	if err != nil {
		return Place{}, err
	}
	x, y := pitch.least(low.X, high.X), roll.least(low.Y, high.Y)
	p.X, p.Y = quantity.Metre(x), quantity.Metre(y)
	p.Worst = quantity.CubicMetre(max(pitch.worst(x), roll.worst(y)))
	s := t.Sensor()
	p.Now = quantity.CubicMetre(max(pitch.worst(s.X), roll.worst(s.Y)))
	_, _, p.Inside = senderChord(t, r3.Vec{X: x, Y: y}, r3.Vec{Z: 1})
	return p, nil
}

// placeLevel is one level at one tilt: its plane, and the volume below it.
type placeLevel struct {
	up     r3.Vec
	d, v   float64
	across r3.Vec
}

type placeLevels struct {
	upright Cut
	levels  []placeLevel
}

// placeAlong prepares the levels of a tilt either way. A pure pitch changes the
// height only along x, a pure roll only along y, so each axis is looked at alone.
func placeAlong(t *Tank, tilt Tilt, across r3.Vec) (placeLevels, error) {
	p := placeLevels{upright: t.Upright().cut}
	for _, to := range []Tilt{tilt, {-tilt.Pitch, -tilt.Roll}} {
		l, err := t.At(to)
		if err != nil {
			return p, err
		}
		for _, share := range []float64{0.25, 0.5, 0.75} {
			v := share * float64(t.Capacity())
			p.levels = append(p.levels, placeLevel{up: to.Up(), d: l.planeOf(v), v: v, across: across})
		}
	}
	return p, nil
}

// worst is the largest error, either way, at a place along the axis.
func (p placeLevels) worst(at float64) (worst float64) {
	for _, l := range p.levels {
		z := (l.d - r3.Dot(l.up, r3.Scale(at, l.across))) / l.up.Z
		reads, _ := p.upright.Below(z)
		worst = max(worst, math.Abs(reads-l.v))
	}
	return worst
}

// least narrows the place down. Each level's error goes one way along the axis,
// so the largest of them has one valley.
func (p placeLevels) least(low, high float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := high-ratio*(high-low), low+ratio*(high-low)
	fa, fb := p.worst(a), p.worst(b)
	for high-low > 1e-7 {
		if fa <= fb {
			high, b, fb = b, a, fa
			a = high - ratio*(high-low)
			fa = p.worst(a)
		} else {
			low, a, fa = a, b, fb
			b = low + ratio*(high-low)
			fb = p.worst(b)
		}
	}
	return (low + high) / 2
}

// Sentence tells the place, to 10 mm, and what it is worth.
func (p Place) Sentence(capacity quantity.CubicMetre) string {
	step := effectStep(capacity, 0)
	where := placeWords(float64(p.X), "forward of", "aft of")
	if side := placeWords(float64(p.Y), "to port of", "to starboard of"); side != "" {
		if where != "" {
			where += " and "
		}
		where += side
	}
	if where == "" {
		where = "over"
	}
	amount := func(v quantity.CubicMetre) string {
		if r := effectRound(v, step); r > 0 {
			return "at most " + effectLitres(r)
		}
		return "less than " + effectLitres(step)
	}
	text := fmt.Sprintf("Parked askew the error is least with the sensor %s the middle of the plan: %s at 3° either way, from a quarter to three quarters full", where, amount(p.Worst))
	if !p.Inside {
		text += "; but that place lies outside the tank, so the nearest to it that can be had is best"
	}
	return text + fmt.Sprintf(". Where it is now: %s.", amount(p.Now))
}

func placeWords(v float64, plus, minus string) string {
	mm := math.Round(v*100) * 10
	switch {
	case mm > 0:
		return quantity.Short(mm, 0) + " mm " + plus
	case mm < 0:
		return quantity.Short(-mm, 0) + " mm " + minus
	}
	return ""
}
