package flow

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Swing is how far the reading goes up and down with the day by itself, as with its
// warmth, from the lowest to the highest, in parts of what the full scale holds; Low to
// High is its 90 % interval.
type Swing struct {
	Known          bool // false: there weren't two quiet days yet
	Low, Mid, High float64
}

// Of a swing with the day.
const (
	swingTerms = 5  // a steady draw, and the sine and cosine of a day and of half a day
	swingLeast = 80 // quiet half hours
	swingParts = 8  // of the day, each of which has to be known by a quarter of two days
)

// DaySwing gives how far the reading swings with the day, by the quiet half hours of the
// last eight days. How fast the level fell in each is fitted by a steady draw and the
// first two harmonics of a day (harmonic regression, as in Bloomfield, Fourier Analysis of
// Time Series, 1976), by least squares that are weighted anew by the bisquare of the
// residuals, so that use counts little. What is drawn faster by day than by night looks
// like a swing, but for that the level never rises: the interval reaches from what it
// rises by in a day to all that it goes up and down by about its mean fall.
func (t *Tracker) DaySwing() Swing {
	at, fell := t.quietHalves()
	if len(at) < swingLeast {
		return Swing{}
	}
	const w = 2 * math.Pi / 24
	n := len(at)
	weight := make([]float64, n)
	rows := make([][swingTerms]float64, n)
	for i, h := range at {
		weight[i] = 1
		rows[i] = [swingTerms]float64{1, w * math.Sin(w*h), -w * math.Cos(w*h), 2 * w * math.Sin(2*w*h), -2 * w * math.Cos(2*w*h)}
	}
	size := make([]float64, n)
	var x mat.VecDense
	var inverse mat.Dense
	rest := make([]float64, n)
	for range 6 {
		var xtx [swingTerms * swingTerms]float64
		var xty [swingTerms]float64
		for i := range rows {
			for j, a := range rows[i] {
				for k, b := range rows[i] {
					xtx[swingTerms*j+k] += weight[i] * a * b
				}
				xty[j] += weight[i] * a * fell[i]
			}
		}
		if inverse.Inverse(mat.NewDense(swingTerms, swingTerms, xtx[:])) != nil {
			return Swing{}
		}
		x.MulVec(&inverse, mat.NewVecDense(swingTerms, xty[:]))
		for i := range rows {
			rest[i] = fell[i]
			for j, a := range rows[i] {
				rest[i] -= a * x.AtVec(j)
			}
			size[i] = math.Abs(rest[i])
		}
		slices.Sort(size)
		far := max(4.685*1.483*size[n/2], 0.02)
		for i := range weight {
			v := min(1, math.Abs(rest[i])/far)
			weight[i] = (1 - v*v) * (1 - v*v)
		}
	}
	level := func(h float64) [swingTerms]float64 {
		return [swingTerms]float64{0, math.Cos(w * h), math.Sin(w * h), math.Cos(2 * w * h), math.Sin(2 * w * h)}
	}
	var high, low [swingTerms]float64
	was := 0.0
	most, least, rise := math.Inf(-1), math.Inf(1), 0.0
	for q := range 97 {
		g, v := level(float64(q)/4), 0.0
		for j := range g {
			v += g[j] * x.AtVec(j)
		}
		if q > 0 {
			rise += max(0, v-was-0.25*x.AtVec(0))
		}
		was = v
		if v > most {
			most, high = v, g
		}
		if v < least {
			least, low = v, g
		}
	}
	var g mat.VecDense
	g.SubVec(mat.NewVecDense(swingTerms, high[:]), mat.NewVecDense(swingTerms, low[:]))
	steady := 0.15 * max(0, x.AtVec(0)) / w
	stair := t.s.Use.stair() // hides a swing that is less
	u := math.Sqrt(mat.Inner(&g, &inverse, &g)*scatterOf(rest, weight) + steady*steady + 0.3*stair*stair)
	whole := math.Sqrt(max(0, (most-least)*(most-least)-u*u)) // noise alone gives a swing of about u
	if rise = min(rise, whole); rise == 0 {
		return Swing{true, 0, 0, (whole + z90*u) / 100}
	}
	by := min(1, 2*rise/whole) // what rises by so much is no use
	return Swing{true, max(0, rise-z90*u) / 100, (rise + by*(whole-rise)) / 100, (whole + z90*u) / 100}
}

// scatterOf gives the variance of what is left of a fit, so much larger that what
// neighbours have in common is in it.
func scatterOf(rest, weight []float64) float64 {
	sum, n, with := 0.0, 0.0, 0.0
	for i, r := range rest {
		sum += weight[i] * r * r
		n += weight[i]
		if i > 0 {
			with += math.Sqrt(weight[i]*weight[i-1]) * r * rest[i-1]
		}
	}
	alike := 0.0
	if sum > 0 {
		alike = min(max(0, with/sum), 0.8)
	}
	return sum / max(1, n-swingTerms) * (1 + alike) / (1 - alike)
}

// quietHalves gives the middles of the half hours in which nothing stood out, hours, and
// how fast the level fell in them, points/h; none where a part of the day is unknown.
func (t *Tracker) quietHalves() (at, fell []float64) {
	s := &t.s
	var parts [swingParts]int
	var busy [binsSize]bool
	mark := func(from, to int64) {
		for c := max(from/halfHour, s.Bins.Cell-int64(s.Bins.Has)+1); c <= min(to/halfHour, s.Bins.Cell); c++ {
			busy[(c%binsSize+binsSize)%binsSize] = true
		}
	}
	for i := range t.events {
		if e := &t.events[i]; e.P > 0.5 && e.End != 0 {
			mark(e.Start, e.End)
		} else if e.P > 0.5 {
			mark(e.Start, s.Newest)
		}
	}
	for i := range t.drawn {
		mark(t.drawn[i].Start, t.drawn[i].End)
	}
	for i := s.Bins.Has - 1; i >= 0; i-- {
		v := s.Bins.back(i)
		cell := s.Bins.Cell - int64(i)
		if !v.Known || busy[(cell%binsSize+binsSize)%binsSize] {
			continue
		}
		of := (cell%48 + 48) % 48
		at, fell = append(at, 0.5*float64(cell)+0.25), append(fell, v.Quiet)
		parts[of*swingParts/48]++
	}
	if slices.Min(parts[:]) < 2*48/swingParts/4 {
		return nil, nil
	}
	return at, fell
}
