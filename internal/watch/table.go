package watch

import "math"

// table is a function at evenly spaced points, with straight lines between them.
type table struct {
	from, perCell float64 // x of the first point; cells per unit of x
	y             []float64
}

// newTable makes a table of so many cells between two x, all of it 0.
func newTable(from, to float64, cells int) table {
	return table{from, float64(cells) / (to - from), make([]float64, cells+1)}
}

// x gives the x of a point.
func (t *table) x(i int) float64 { return t.from + float64(i)/t.perCell }

// at gives the value; beyond the ends, that at the end.
func (t *table) at(x float64) float64 {
	p := (x - t.from) * t.perCell
	n := len(t.y) - 1
	if !(p > 0) {
		return t.y[0]
	}
	if p >= float64(n) {
		return t.y[n]
	}
	i := int(p)
	f := p - float64(i)
	return t.y[i] + f*(t.y[i+1]-t.y[i])
}

// both gives the value and the slope there; beyond the ends, those at the end.
func (t *table) both(x float64) (y, slope float64) {
	p := (x - t.from) * t.perCell
	n := len(t.y) - 1
	i := 0
	switch {
	case !(p > 0):
		p = 0
	case p >= float64(n):
		p, i = float64(n), n-1
	default:
		i = int(p)
	}
	d := t.y[i+1] - t.y[i]
	return t.y[i] + (p-float64(i))*d, d * t.perCell
}

// inverse gives the table of x against y, for a table that never falls. On a
// stretch where y stands still it is the middle of it, but at the ends the edge
// towards the middle.
func (t *table) inverse(from, to float64, cells int) table {
	out := newTable(from, to, cells)
	n := len(t.y) - 1
	i := 0
	for k := range out.y {
		y := min(max(out.x(k), t.y[0]), t.y[n])
		for i < n-1 && t.y[i+1] < y {
			i++
		}
		low := t.x(i)
		if d := t.y[i+1] - t.y[i]; d > 0 {
			low += (y - t.y[i]) / d / t.perCell
		}
		j := i
		for j < n && t.y[j+1] <= y {
			j++
		}
		high := max(low, t.x(j))
		switch {
		case y <= t.y[0]:
			out.y[k] = high
		case y >= t.y[n]:
			out.y[k] = low
		default:
			out.y[k] = (low + high) / 2
		}
		if math.IsNaN(out.y[k]) {
			out.y[k] = low
		}
	}
	return out
}
