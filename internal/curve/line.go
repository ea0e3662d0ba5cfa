package curve

import "math"

// Line is the straight line y = Intercept + Slope·x, and the largest distance
// in y of the points it was drawn for.
type Line struct {
	Intercept, Slope float64
	Error            float64 // the largest |y − line|
	At               []int   // the points that stand that far off
}

// MinimaxLine gives the straight line whose largest distance from the points
// is least: the "independent" line of IEC 61298-2. The x rise strictly; one
// point or none is the caller's slip and panics.
//
// The vertical width of the point set seen along a slope is convex in the
// slope and breaks only at edges of its convex hull, so the least is found by
// going round the hull once: exact, no iteration. By Chebyshev's theorem three
// points then stand off equally far in turn (two where all lie on one line).
func MinimaxLine(x, y []float64) Line {
	if len(x) < 2 || len(x) != len(y) {
		panic("curve: a line needs two or more points")
	}
	upper, lower := hull(x, y, 1), hull(x, y, -1)
	best := Line{Error: math.Inf(1)}
	consider := func(slope float64) {
		hi, lo := math.Inf(-1), math.Inf(1)
		for _, i := range upper {
			hi = max(hi, y[i]-slope*x[i])
		}
		for _, i := range lower {
			lo = min(lo, y[i]-slope*x[i])
		}
		if e := (hi - lo) / 2; e < best.Error {
			best = Line{Intercept: (hi + lo) / 2, Slope: slope, Error: e}
		}
	}
	for _, edge := range [][]int{upper, lower} {
		for k := 1; k < len(edge); k++ {
			i, j := edge[k-1], edge[k]
			consider((y[j] - y[i]) / (x[j] - x[i]))
		}
	}
	return best.standing(x, y)
}

// hull gives the indices of the upper (sign 1) or lower (−1) convex hull.
func hull(x, y []float64, sign float64) []int {
	var h []int
	for i := range x {
		for len(h) >= 2 {
			a, b := h[len(h)-2], h[len(h)-1]
			if sign*((x[b]-x[a])*(y[i]-y[a])-(y[b]-y[a])*(x[i]-x[a])) < 0 {
				break
			}
			h = h[:len(h)-1]
		}
		h = append(h, i)
	}
	return h
}

// TerminalLine gives the line through the first and the last point: the
// "terminal-based" line of IEC 61298-2.
func TerminalLine(x, y []float64) Line {
	n := len(x) - 1
	slope := (y[n] - y[0]) / (x[n] - x[0])
	return Line{Intercept: y[0] - slope*x[0], Slope: slope}.measured(x, y)
}

// ZeroLine gives the line through the first point whose largest distance from
// the others is least: the "zero-based" line of IEC 61298-2.
//
// The largest distance is the maximum of straight lines in the slope, so the
// least stands where one falling and one rising of them cross. Each round
// replaces one of the two by the one now on top; it ends after at most as many
// rounds as there are points.
func ZeroLine(x, y []float64) Line {
	// |dy − m·dx| over the points: the rising part m·dx − dy, the falling dy − m·dx.
	top := func(m float64) (i int, rising bool) {
		worst := -1.0
		for k := 1; k < len(x); k++ {
			e := m*(x[k]-x[0]) - (y[k] - y[0])
			if math.Abs(e) > worst {
				worst, i, rising = math.Abs(e), k, e > 0
			}
		}
		return i, rising
	}
	dx := func(i int) float64 { return x[i] - x[0] }
	dy := func(i int) float64 { return y[i] - y[0] }
	// Start from the steepest and the flattest secant, which hold the answer.
	up, down := 1, 1
	for k := 2; k < len(x); k++ {
		if dy(k)/dx(k) < dy(up)/dx(up) {
			up = k
		}
		if dy(k)/dx(k) > dy(down)/dx(down) {
			down = k
		}
	}
	m := (dy(up) + dy(down)) / (dx(up) + dx(down))
	for range 2 * len(x) {
		i, rising := top(m)
		if (rising && i == up) || (!rising && i == down) {
			break
		}
		if rising {
			up = i
		} else {
			down = i
		}
		next := (dy(up) + dy(down)) / (dx(up) + dx(down))
		if next == m {
			break
		}
		m = next
	}
	return Line{Intercept: y[0] - m*x[0], Slope: m}.measured(x, y)
}

// measured fills in the largest distance and where it stands.
func (l Line) measured(x, y []float64) Line {
	l.Error = 0
	for i := range x {
		l.Error = max(l.Error, math.Abs(y[i]-l.Intercept-l.Slope*x[i]))
	}
	return l.standing(x, y)
}

// standing fills in the points at the largest distance.
func (l Line) standing(x, y []float64) Line {
	size := 0.0
	for i := range y {
		size = max(size, math.Abs(y[i]))
	}
	for i := range x {
		if math.Abs(y[i]-l.Intercept-l.Slope*x[i]) >= l.Error-1e-12*max(size, l.Error) {
			l.At = append(l.At, i)
		}
	}
	return l
}
