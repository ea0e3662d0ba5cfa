package tank

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// measuredModel is the volume of a form below a height, as a function of the
// dimensions that are fitted.
type measuredModel struct {
	d      Dimensions
	area   bool               // of a box only length × width
	names  []string           // of what is fitted
	start  map[string]float64 // held values, and where to begin
	priors []measuredPrior
}

// measuredPrior is a dimension that was measured: one more observation.
type measuredPrior struct {
	index    int
	value, u float64
}

// get finds a dimension among those fitted, or held.
func (m *measuredModel) get(p []float64, name string) (value float64, index int) {
	for i, n := range m.names {
		if n == name {
			return p[i], i
		}
	}
	return m.start[name], -1
}

// volume gives the volume below h and dV/dh; into grad, unless it is nil, the
// derivatives by what is fitted.
func (m *measuredModel) volume(p []float64, h float64, grad []float64) (v, byH float64) {
	set := func(index int, by float64) {
		if index >= 0 && grad != nil {
			grad[index] = by
		}
	}
	switch {
	case m.area:
		set(0, h)
		return p[0] * h, p[0]
	case m.d.Form == BoxForm:
		l, li := m.get(p, "length")
		w, wi := m.get(p, "width")
		set(li, w*h)
		set(wi, l*h)
		return l * w * h, l * w
	case m.d.Form == UprightForm:
		d, di := m.get(p, "diameter")
		set(di, math.Pi/2*d*h)
		return math.Pi / 4 * d * d * h, math.Pi / 4 * d * d
	}
	d, di := m.get(p, "diameter")
	l, li := m.get(p, "length")
	a, aD, aH := measuredSegment(d, h)
	e, eD, eH := measuredHeads(m.d.Heads, d, h)
	set(di, l*aD+eD)
	set(li, a)
	return l*a + e, l*aH + eH
}

// capacity gives the whole volume and its standard uncertainty: of a box and
// an upright cylinder the volume at the top, whose height has a doubt of its
// own.
func (m *measuredModel) capacity(p []float64, cov mat.Symmetric) (v, u quantity.CubicMetre) {
	grad := make([]float64, len(p))
	var whole, own float64
	if m.d.Form == LyingForm {
		// Just above the top; the length is that of the straight part.
		d, _ := m.get(p, "diameter")
		whole, _ = m.volume(p, d, grad)
	} else {
		if !m.d.Height.Known {
			return quantity.CubicMetre(math.NaN()), quantity.CubicMetre(math.NaN())
		}
		var byH float64
		whole, byH = m.volume(p, float64(m.d.Height.Value), grad)
		own = byH * float64(m.d.Height.U)
	}
	g := mat.NewVecDense(len(grad), grad)
	return quantity.CubicMetre(whole), quantity.CubicMetre(math.Sqrt(mat.Inner(g, cov, g) + own*own))
}

// starts gives the places to begin from. Of a lying cylinder the misfit can
// have more than one valley, so several diameters are tried.
func (m *measuredModel) starts(points []Poured) [][]float64 {
	highest, volume, slope := 0.0, 0.0, 0.0
	for _, p := range points {
		if h := float64(p.Height); h > highest {
			highest, volume = h, float64(p.Volume)
		}
	}
	slope = volume / highest
	set := func(diameter float64) []float64 {
		p := make([]float64, len(m.names))
		for i, name := range m.names {
			p[i] = m.start[name]
			if name == "diameter" && m.d.Form == LyingForm {
				p[i] = diameter
			}
		}
		for i, name := range m.names {
			if p[i] > 0 {
				continue
			}
			switch name {
			case "area":
				p[i] = slope
			case "width":
				l, _ := m.get(p, "length")
				p[i] = slope / max(l, MinExtent)
			case "length":
				p[i] = 1
				switch w, _ := m.get(p, "width"); m.d.Form {
				case BoxForm:
					p[i] = slope / max(w, MinExtent)
				default:
					d, _ := m.get(p, "diameter")
					a, _, _ := measuredSegment(d, highest)
					e, _, _ := measuredHeads(m.d.Heads, d, highest)
					p[i] = max((volume-e)/a, 0.01)
				}
			case "diameter":
				p[i] = math.Sqrt(slope * 4 / math.Pi)
			}
		}
		return p
	}
	if m.d.Form != LyingForm {
		return [][]float64{set(0)}
	}
	var list [][]float64
	if d := m.start["diameter"]; d > 0 {
		list = append(list, set(d))
	}
	for _, times := range []float64{1.01, 1.2, 1.6, 2.5, 5} {
		list = append(list, set(highest*times))
	}
	return list
}

// measuredList joins names: "diameter and length".
func measuredList(names []string) string { return wording.Several(names, "and") }
