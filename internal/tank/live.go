package tank

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// tableCut is a cut replaced by pieces of cubics that have its volumes and
// surfaces at their ends (Hermite), with an index in front, so that every answer
// costs the same few nanoseconds however the solid is made.
type tableCut struct {
	exact     Cut
	low, high float64
	knots     []float64
	coef      [][4]float64 // of d − knot
	whole     float64
	index     []int32
	perCell   float64
}

// tablePieces is more pieces than any sane solid needs.
const tablePieces = 1 << 15

// newTable tabulates a cut to a tolerance in m³. Pieces are halved until cubic and
// cut agree at three places within, to the tolerance and with slopes that keep
// the piece monotone.
func newTable(exact Cut, tolerance float64) (*tableCut, error) {
	c := &tableCut{exact: exact}
	c.low, c.high = exact.Span()
	c.whole, _ = exact.Below(math.Nextafter(c.high, math.Inf(1)))
	least := (c.high - c.low) * 1e-9
	type end struct{ d, v, s float64 }
	at := func(d float64) end {
		v, s := exact.Below(d)
		return end{d, v, s}
	}
	var split func(a, b end, depth int) error
	split = func(a, b end, depth int) error {
		width := b.d - a.d
		k := hermite(width, a.v, b.v, a.s, b.s)
		worst := 0.0
		for _, part := range [...]float64{0.21, 0.5, 0.79} {
			v, _ := exact.Below(a.d + part*width)
			worst = max(worst, math.Abs(cubic(k, part*width)-v))
		}
		secant := (b.v - a.v) / width
		steep := max(a.s, b.s) > 3*secant
		if (worst > tolerance || steep && b.v-a.v > tolerance) && width > least && depth < 48 {
			if len(c.knots) > tablePieces {
				return fmt.Errorf("the volumes of this tank can't be tabulated to %g m³", tolerance)
			}
			m := at(a.d + width/2)
			if err := split(a, m, depth+1); err != nil {
				return err
			}
			return split(m, b, depth+1)
		}
		if steep { // too thin to matter; straight is monotone
			k = [4]float64{a.v, secant, 0, 0}
		}
		c.knots = append(c.knots, a.d)
		c.coef = append(c.coef, k)
		return nil
	}
	// The surface may jump at the very ends (a flat floor), so they're taken
	// from within.
	a, b := at(c.low+least*1e-3), at(c.high-least*1e-3)
	a.d, a.v, b.d, b.v = c.low, 0, c.high, c.whole
	const start = 16
	from := a
	for i := range start {
		to := b
		if i < start-1 {
			to = at(c.low + (c.high-c.low)*float64(i+1)/start)
		}
		if err := split(from, to, 0); err != nil {
			return nil, err
		}
		from = to
	}
	c.index = make([]int32, 2*len(c.knots))
	c.perCell = float64(len(c.index)) / (c.high - c.low)
	for i := range c.index {
		d := c.low + float64(i)/c.perCell
		c.index[i] = int32(max(0, sort.SearchFloat64s(c.knots, math.Nextafter(d, math.Inf(1)))-1))
	}
	return c, nil
}

// hermite gives the cubic through both ends of a piece.
func hermite(width, v0, v1, s0, s1 float64) [4]float64 {
	secant := (v1 - v0) / width
	return [4]float64{v0, s0, (3*secant - 2*s0 - s1) / width, (s0 + s1 - 2*secant) / (width * width)}
}

func cubic(k [4]float64, t float64) float64 { return k[0] + t*(k[1]+t*(k[2]+t*k[3])) }

func (c *tableCut) Span() (low, high float64) { return c.low, c.high }

func (c *tableCut) Below(d float64) (volume, surface float64) {
	switch {
	case !(d > c.low):
		return 0, 0
	case d >= c.high:
		return c.whole, 0
	}
	i := c.index[min(len(c.index)-1, int((d-c.low)*c.perCell))]
	for int(i)+1 < len(c.knots) && c.knots[i+1] <= d {
		i++
	}
	k, t := &c.coef[i], d-c.knots[i]
	return k[0] + t*(k[1]+t*(k[2]+t*k[3])), max(0, k[1]+t*(2*k[2]+t*3*k[3]))
}

func (c *tableCut) Moment(d float64) r3.Vec { return c.exact.Moment(d) }

// Tabulated gives the same levels from a table of cubic pieces, to a tolerance of
// volume: as fast for a vessel whose every volume is an integral as for a box.
// The table is monotone.
func (l *Levels) Tabulated(tolerance quantity.CubicMetre) (*Levels, error) {
	if !(tolerance > 0) {
		return nil, fmt.Errorf("a table needs a tolerance above nothing; found %s", tolerance)
	}
	cut, err := newTable(l.cut, max(float64(tolerance), 1e-12*l.capacity))
	if err != nil {
		return nil, err
	}
	tabulated := *l
	tabulated.cut = cut
	return &tabulated, nil
}

// Live is a tank prepared once for tilts that change all the time: a grid of
// tabulated levels over pitch and roll, between which volumes are interpolated
// bilinearly. So a volume never falls as the height rises, at any tilt.
type Live struct {
	most  float64 // largest pitch and roll, rad
	step  float64 // of the grid
	side  int     // nodes along one axis
	nodes []*Levels
	worst float64
}

// liveNodes is the most nodes along one axis of tilt.
const liveNodes = 65

// NewLive prepares a tank for pitch and roll up to a limit in radians either
// way. The grid is refined until, in the middle of every cell and at a range of
// heights, interpolated and exact volumes agree to the tolerance, or until it has
// 65 × 65 nodes; Worst tells the largest difference seen.
func NewLive(t *Tank, limit float64, tolerance quantity.CubicMetre) (*Live, error) {
	if !(limit > 0 && limit <= MaxTilt/2) {
		return nil, fmt.Errorf("a live table of tilts up to %g° can't be made; expected above 0, up to %g°", limit*180/math.Pi, MaxTilt/2*180/math.Pi)
	}
	if !(tolerance > 0) {
		return nil, fmt.Errorf("a live table needs a tolerance above nothing; found %s", tolerance)
	}
	var coarser *Live
	for side := 5; ; side = 2*side - 1 {
		v := &Live{most: limit, side: side, step: 2 * limit / float64(side-1)}
		v.nodes = make([]*Levels, side*side)
		for i := range v.nodes {
			row, column := i/side, i%side
			if coarser != nil && row%2 == 0 && column%2 == 0 {
				v.nodes[i] = coarser.nodes[row/2*coarser.side+column/2]
				continue
			}
			levels, err := t.At(Tilt{v.angle(row), v.angle(column)})
			if err != nil {
				return nil, err
			}
			if v.nodes[i], err = levels.Tabulated(tolerance / 10); err != nil {
				return nil, err
			}
			v.nodes[i].cut.(*tableCut).exact = nil // a large mesh is not kept a thousand times
		}
		var err error
		if v.worst, err = v.off(t); err != nil {
			return nil, err
		}
		if v.worst <= float64(tolerance) || 2*side-1 > liveNodes {
			return v, nil
		}
		coarser = v
	}
}

// off gives the largest difference from the tank's exact volumes in the middles
// of the grid's cells, where an interpolation is at its worst.
func (v *Live) off(t *Tank) (float64, error) {
	worst := 0.0
	for i := range (v.side - 1) * (v.side - 1) {
		tilt := Tilt{v.angle(i/(v.side-1)) + v.step/2, v.angle(i%(v.side-1)) + v.step/2}
		levels, err := t.At(tilt)
		if err != nil {
			return 0, err
		}
		const heights = 25
		for k := range heights {
			h := quantity.Metre((float64(k)+0.5)/heights) * t.Height()
			got, _ := v.Volume(h, tilt)
			worst = max(worst, math.Abs(float64(got-levels.Volume(h))))
		}
	}
	return worst, nil
}

func (v *Live) angle(i int) float64 { return -v.most + float64(i)*v.step }

// Worst gives the largest error of a volume that was found between the nodes.
func (v *Live) Worst() quantity.CubicMetre { return quantity.CubicMetre(v.worst) }

// Volume gives the volume at a height of the sensor and a tilt; false where the
// tilt lies beyond what was prepared.
func (v *Live) Volume(h quantity.Metre, tilt Tilt) (quantity.CubicMetre, bool) {
	row, down, ok := v.cell(tilt.Pitch)
	column, right, ok2 := v.cell(tilt.Roll)
	if !ok || !ok2 {
		return 0, false
	}
	at := func(r, c int) float64 { return float64(v.nodes[r*v.side+c].Volume(h)) }
	top := at(row, column)*(1-right) + at(row, column+1)*right
	bottom := at(row+1, column)*(1-right) + at(row+1, column+1)*right
	return quantity.CubicMetre(top*(1-down) + bottom*down), true
}

// cell finds the grid's cell of an angle and how far within it the angle lies.
func (v *Live) cell(angle float64) (int, float64, bool) {
	if !(math.Abs(angle) <= v.most*(1+1e-12)) {
		return 0, 0, false
	}
	at := min(float64(v.side-1), max(0, (angle+v.most)/v.step))
	i := min(v.side-2, int(at))
	return i, at - float64(i), true
}
