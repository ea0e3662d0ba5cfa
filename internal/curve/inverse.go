package curve

import (
	"math"
	"sort"
)

// Inverter turns ohms into marks many times over, for one curve that doesn't
// change: the exact inverse is tabulated once on even steps of y, and straight
// lines between are used wherever they are good to a millionth of the range;
// elsewhere (beside the points, where the curve is flat) the exact inverse is
// asked.
type Inverter struct {
	cubic  *Cubic
	low    float64
	factor float64 // cells per unit of y
	cells  [invertCells + 1]cell
}

// cell is one step of the table.
type cell struct {
	x    float64 // at its lower end
	rise float64 // of x over the cell; not a number where the exact inverse is needed
}

// invertCells is how many steps the table has: 2¹⁰, 16 KiB, so that it stays in
// the nearest cache.
const (
	invertCells = 1 << 10
	invertMask  = invertCells - 1
)

// NewInverter prepares the inverse of a cubic.
func NewInverter(c *Cubic) *Inverter {
	n := len(c.y)
	span := c.y[n-1] - c.y[0]
	v := &Inverter{cubic: c, low: c.y[0], factor: invertCells / span}
	exactly := func(cell float64) float64 {
		lo, hi := c.Inverse(min(c.y[n-1], c.y[0]+span*cell/invertCells))
		return (lo + hi) / 2
	}
	for k := range v.cells {
		v.cells[k] = cell{exactly(float64(k)), math.NaN()}
	}
	limit := 1e-6 * (c.x[n-1] - c.x[0])
	for k := range invertCells {
		x, rise := v.cells[k].x, v.cells[k+1].x-v.cells[k].x
		if math.Abs(exactly(float64(k)+0.5)-(x+rise/2)) <= limit {
			v.cells[k].rise = rise
		}
	}
	for _, y := range c.y { // a point of the curve is a kink of its inverse
		v.cells[min(invertCells, int((y-v.low)*v.factor))].rise = math.NaN()
	}
	return v
}

// At gives the x at which the curve has the value y, and its end beyond; the
// middle of the stretch where it is flat.
func (v *Inverter) At(y float64) float64 {
	f := (y - v.low) * v.factor
	if !(f >= 0 && f <= invertCells) {
		return v.exact(y)
	}
	k := int(f)
	x := v.cells[k].x + (f-float64(k))*v.cells[k].rise
	if x != x {
		return v.exact(y)
	}
	return x
}

func (v *Inverter) exact(y float64) float64 {
	lo, hi := v.cubic.Inverse(y)
	return (lo + hi) / 2
}

// sketch is a curve drawn in one trial: the same arithmetic as Cubic, in room
// that is used again and again, and continued in a straight line beyond its
// ends.
type sketch struct {
	x, y, slope []float64 // x is the curve's own
	w           []float64 // weights of the points
	mean, sum   []float64 // of blocks, while order is put right
	count       []int
}

func newSketch(x, w []float64) *sketch {
	n := len(x)
	return &sketch{x: x, w: w, y: make([]float64, n), slope: make([]float64, n), mean: make([]float64, n), sum: make([]float64, n), count: make([]int, n)}
}

// settle puts the y in order and finds the slopes, as Isotonic and NewCubic do.
func (s *sketch) settle() {
	n := len(s.y)
	rising := true
	for i := 1; i < n; i++ {
		rising = rising && s.y[i] > s.y[i-1]
	}
	if !rising {
		b := 0
		for i := range n {
			s.mean[b], s.sum[b], s.count[b] = s.y[i], s.w[i], 1
			for b > 0 && s.mean[b-1] >= s.mean[b] {
				w := s.sum[b-1] + s.sum[b]
				s.mean[b-1] += (s.mean[b] - s.mean[b-1]) * (s.sum[b] / w)
				s.sum[b-1] = w
				s.count[b-1] += s.count[b]
				b--
			}
			b++
		}
		i := 0
		for k := range b {
			for range s.count[k] {
				s.y[i] = s.mean[k]
				i++
			}
		}
	}
	slopesOf(s.x, s.y, s.slope)
}

// invert gives the x where the sketch has the value y; hint is the piece to
// begin looking at, and the piece found comes back. On a flat stretch the place
// is spread by u, 0..1.
func (s *sketch) invert(y, u float64, hint int) (float64, int) {
	n := len(s.y)
	if y <= s.y[0] || y >= s.y[n-1] {
		return s.beyond(y, u), hint
	}
	i := hint
	for i < n-2 && s.y[i+1] < y {
		i++
	}
	for i > 0 && s.y[i] > y {
		i--
	}
	if s.y[i+1] == y { // the right end of this piece, and perhaps a flat one
		j := i + 1
		for j+1 < n && s.y[j+1] == y {
			j++
		}
		return s.x[i+1] + u*(s.x[j]-s.x[i+1]), i
	}
	h, dy := s.x[i+1]-s.x[i], s.y[i+1]-s.y[i]
	a, b := h*s.slope[i], h*s.slope[i+1]
	c2, c3 := 3*dy-2*a-b, a+b-2*dy
	want := y - s.y[i]
	t := want / dy
	lo, hi := 0.0, 1.0
	for range 40 {
		f := t*(a+t*(c2+t*c3)) - want
		if math.Abs(f) <= 1e-12*dy {
			break
		}
		if f < 0 {
			lo = t
		} else {
			hi = t
		}
		if t -= f / (a + t*(2*c2+t*3*c3)); !(t > lo && t < hi) {
			t = (lo + hi) / 2
		}
	}
	return s.x[i] + t*h, i
}

// beyond gives x at or beyond an end: along the straight line of the outermost
// piece that isn't flat.
func (s *sketch) beyond(y, u float64) float64 {
	n := len(s.y)
	if y <= s.y[0] {
		j := sort.SearchFloat64s(s.y, math.Nextafter(s.y[0], math.Inf(1)))
		if y == s.y[0] {
			return s.x[0] + u*(s.x[max(j-1, 0)]-s.x[0])
		}
		if j == n {
			return s.x[0]
		}
		return s.x[0] + (y-s.y[0])*(s.x[j]-s.x[j-1])/(s.y[j]-s.y[j-1])
	}
	j := sort.SearchFloat64s(s.y, s.y[n-1]) // the first point at the top
	if y == s.y[n-1] {
		return s.x[j] + u*(s.x[n-1]-s.x[j])
	}
	if j == 0 {
		return s.x[n-1]
	}
	return s.x[n-1] + (y-s.y[n-1])*(s.x[j]-s.x[j-1])/(s.y[j]-s.y[j-1])
}
