package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// revolveAxialCut cuts a body square to its axis: every piece has a closed form.
type revolveAxialCut struct {
	revolveFrame
	full     []float64 // the volume of each piece
	capacity float64
}

func newRevolveAxialCut(f revolveFrame) *revolveAxialCut {
	c := &revolveAxialCut{revolveFrame: f, full: make([]float64, len(f.pieces))}
	for i := range f.pieces {
		p := &f.pieces[i]
		c.full[i] = p.volume(p.from, p.to)
		if p.inner {
			c.full[i] = -c.full[i]
		}
		c.capacity += c.full[i]
	}
	return c
}

func (c *revolveAxialCut) Span() (low, high float64) { return c.low, c.high }

func (c *revolveAxialCut) Below(d float64) (volume, surface float64) {
	switch {
	case !(d > c.low):
		return 0, 0
	case d >= c.high:
		return c.capacity, 0
	}
	for i := range c.pieces {
		p := &c.pieces[i]
		switch {
		case d >= p.to:
			volume += c.full[i]
		case d > p.from:
			rho := p.radius(d)
			v, s := p.volume(p.from, d), math.Pi*rho*rho
			if p.inner {
				v, s = -v, -s
			}
			volume, surface = volume+v, surface+s
		}
	}
	return max(0, volume), max(0, surface)
}

func (c *revolveAxialCut) Moment(d float64) r3.Vec {
	var lever float64
	for i := range c.pieces {
		p := &c.pieces[i]
		if d > p.from {
			v := p.lever(p.from, min(d, p.to))
			if p.inner {
				v = -v
			}
			lever += v
		}
	}
	return r3.Scale(lever, c.along)
}

// revolveFlatRingCut cuts a ring that lies flat and whose tube doesn't reach
// the axis. A section at a level is an annulus of the area 4πRw, w half the
// chord of the tube, so that the volume is 2πR times the segment of the tube.
type revolveFlatRingCut struct {
	along               r3.Vec
	around, tube, level float64 // 2πR, the tube's radius, its middle
}

func newRevolveFlatRingCut(f revolveFrame) *revolveFlatRingCut {
	p := f.pieces[0]
	return &revolveFlatRingCut{along: f.along, around: 2 * math.Pi * p.offset, tube: p.along, level: p.centre}
}

func (c *revolveFlatRingCut) Span() (low, high float64) {
	return c.level - c.tube, c.level + c.tube
}

func (c *revolveFlatRingCut) Below(d float64) (volume, surface float64) {
	area, half := revolveSegment(c.tube, d-c.level)
	return c.around * area, 2 * c.around * half
}

func (c *revolveFlatRingCut) Moment(d float64) r3.Vec {
	area, half := revolveSegment(c.tube, d-c.level)
	return r3.Scale(c.around*(c.level*area-2.0/3*half*half*half), c.along)
}
