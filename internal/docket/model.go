package docket

import "math"

// The model. A sender's level, turned into content by the stated shape and capacity, is
// x, in parts of the full scale. What is in the tank is
//
//	κ·(x + e(x))
//
// in parts of the stated full scale, with κ the true capacity by the stated one and e a
// smooth correction, straight between knots. Given κ every docket is linear in e, so
// the posterior is normal; κ is on a grid, how far senders like this are off is one of
// a few scales, and which dockets are wrong altogether is a set: the whole is a
// mixture of normals, known in closed form. What isn't monotone is cut off it.

const (
	knots = 11        // of e, evenly from 0 to 1
	stop  = knots     // where the state has the offset of the filling stop
	width = knots + 1 // of the state
)

// state is a normal distribution of the correction at the knots and the offset of the
// stop.
type state struct {
	mean [width]float64
	cov  [width][width]float64
}

// row is a linear observation: a·state = y with a variance.
type row struct {
	a    [width]float64
	y, v float64
}

// take conditions the state on a row and gives the log density of what was observed
// (the scalar Kalman update; R. E. Kalman, 1960).
func (s *state) take(r *row) float64 {
	var g [width]float64 // cov·a
	v, mean := r.v, 0.0
	for i := range g {
		sum := 0.0
		for j, a := range r.a {
			if a != 0 {
				sum += s.cov[i][j] * a
			}
		}
		g[i] = sum
	}
	for i, a := range r.a {
		v += a * g[i]
		mean += a * s.mean[i]
	}
	d := r.y - mean
	for i := range g {
		k := g[i] / v
		s.mean[i] += k * d
		for j := range i + 1 {
			s.cov[i][j] -= k * g[j]
			s.cov[j][i] = s.cov[i][j]
		}
	}
	return -0.5 * (d*d/v + math.Log(2*math.Pi*v))
}

// at puts into a row the weights of e at a content x, times a factor.
func at(a *[width]float64, x, factor float64) {
	p := min(max(x, 0), 1) * (knots - 1)
	i := min(int(p), knots-2)
	f := p - float64(i)
	a[i] += factor * (1 - f)
	a[i+1] += factor * f
}

// correction gives e at a content.
func correction(e *[width]float64, x float64) float64 {
	p := min(max(x, 0), 1) * (knots - 1)
	i := min(int(p), knots-2)
	f := p - float64(i)
	return (1-f)*e[i] + f*e[i+1]
}

// reach is a scale of how far senders are off: standard deviations at each end, and of
// the bend between them.
type reach struct{ ends, bend, weight float64 }

// reaches say what is thought of a sender before any docket: a good one, the usual
// one, which is off by some points at either end, one with a bend, and one that is
// far off. The figures are common practice, no source.
var reaches = []reach{
	{0.008, 0.004, 0.20},
	{0.045, 0.015, 0.30},
	{0.045, 0.040, 0.35},
	{0.080, 0.040, 0.15},
}

// bendLength is over how much of the scale a bend carries on.
const bendLength = 0.35

// prior gives the state before any docket.
func (r reach) prior(stopMean, stopU float64) state {
	var s state
	for i := range knots {
		for j := range knots {
			x, y := float64(i)/(knots-1), float64(j)/(knots-1)
			d := (x - y) / bendLength
			s.cov[i][j] = r.ends*r.ends*((1-x)*(1-y)+x*y) + r.bend*r.bend*math.Exp(-d*d/2)
		}
		s.cov[i][i] += 1e-10
	}
	s.mean[stop], s.cov[stop][stop] = stopMean, stopU*stopU
	return s
}

// What is thought of a stated capacity: mostly it is right to a percent or two, and
// now and then it is another one altogether (common practice, no source).
const (
	goodCapacity  = 0.010
	wrongCapacity = 0.075
	wrongPart     = 0.35
	unknownFull   = 0.25 // where the capacity isn't known but guessed from the dockets
	kappaFar      = 0.36
	kappaCount    = 41
	kappaBent     = 3.0 // the grid is finer about 1
)

// kappas gives a grid of κ with its prior weights: of log κ, from −0.36 to 0.36.
func kappas(stated bool) (list, weight []float64) {
	sum := 0.0
	normal := func(v, u float64) float64 { return math.Exp(-v*v/(2*u*u)) / u }
	for i := range kappaCount {
		place := kappaBent * (2*float64(i)/(kappaCount-1) - 1)
		l := kappaFar * math.Sinh(place) / math.Sinh(kappaBent)
		w := normal(l, unknownFull)
		if stated {
			w = (1-wrongPart)*normal(l, goodCapacity) + wrongPart*normal(l, wrongCapacity)
		}
		w *= math.Cosh(place) // how far apart they are there
		list, weight, sum = append(list, math.Exp(l)), append(weight, w), sum+w
	}
	for i := range weight {
		weight[i] /= sum
	}
	return list, weight
}
