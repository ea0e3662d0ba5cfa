package tank

import (
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r3"
)

// extrudeNodes are those of Gauss–Legendre's rule of 12 points on [0, 1] under
// x = s²(3 − 2s), which makes square roots at both ends smooth.
var extrudeNodes = func() (nodes [12]struct{ x, weight float64 }) {
	var s, w [12]float64
	quad.Legendre{}.FixedLocations(s[:], w[:], 0, 1)
	for i := range nodes {
		nodes[i].x = s[i] * s[i] * (3 - 2*s[i])
		nodes[i].weight = w[i] * 6 * s[i] * (1 - s[i])
	}
	return nodes
}()

// mean integrates along the axis where it is nearly level, outward from the
// middle of the axis: c at both ends would differ by rounding as much as by the
// rise.
func (c *extrudeCut) mean(d float64) (volume, surface float64) {
	middle, step := (d-c.base)/c.lean, c.rise*c.half/c.lean
	for i := c.bands.first(middle, step); i < len(c.bands.level); i++ {
		from, to := c.bands.stretch(i, middle, step)
		for _, n := range extrudeNodes {
			w := n.weight * (to - from) / step * c.half
			width, area := c.bands.area(middle + from + (to-from)*n.x)
			volume, surface = volume+w*area, surface+w*width/c.lean
		}
		if to == step {
			break
		}
	}
	return volume, surface
}

// first gives the band in which a step below a level lies.
func (b *outlineBands) first(level, step float64) int {
	i := max(0, b.find(level-step))
	for i > 0 && b.level[i]-level > -step { // the step is lost in the digits of the level
		i--
	}
	return i
}

// stretch gives the part of a band within a step either side of a level, counted
// from the level.
func (b *outlineBands) stretch(i int, level, step float64) (from, to float64) {
	from, to = max(-step, b.level[i]-level), step
	if i+1 < len(b.level) {
		to = min(step, b.level[i+1]-level)
	}
	return min(from, to), to
}

// meanMoment integrates along the axis, as mean does.
func (c *extrudeCut) meanMoment(d float64) r3.Vec {
	var volume, mu, mv, mt float64
	middle, step := (d-c.base)/c.lean, c.rise*c.half/c.lean
	for i := c.bands.first(middle, step); i < len(c.bands.level); i++ {
		from, to := c.bands.stretch(i, middle, step)
		for _, n := range extrudeNodes {
			w, x := n.weight*(to-from)/step*c.half, from+(to-from)*n.x
			t, u := c.bands.all(middle + x)
			volume += w * t[1]
			mu += w * u[1]
			mv += w * ((middle+x)*t[1] - t[2])
			mt -= w * x / step * c.half * t[1]
		}
		if to == step {
			break
		}
	}
	return c.place(volume, mu, mv, mt)
}
