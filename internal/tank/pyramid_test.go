package tank_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

// The prismoidal formula h/6·(A0 + 4·Am + A1), and that of a frustum
// h/3·(A0 + √(A0·A1) + A1) where both ends have one shape (handbook formulas,
// from memory).
func TestPyramidVolumes(t *testing.T) {
	for _, c := range []struct {
		name           string
		bl, bw, tl, tw float64
		volume         float64
	}{
		{"box", 0.6, 0.4, 0.6, 0.4, 0.6 * 0.4 * 0.3},
		{"pyramid", 0.6, 0.4, 0, 0, 0.6 * 0.4 * 0.3 / 3},
		{"on its tip", 0, 0, 0.6, 0.4, 0.6 * 0.4 * 0.3 / 3},
		{"frustum", 0.6, 0.4, 0.3, 0.2, 0.1 * (0.24 + math.Sqrt(0.24*0.06) + 0.06)},
		{"hip roof", 0.6, 0.4, 0.3, 0, 0.05 * (0.24 + 4*0.45*0.2 + 0)},
		{"trough", 0.6, 0, 0.6, 0.4, 0.6 * 0.4 * 0.3 / 2},
		{"crossed lines", 0.6, 0, 0, 0.4, 0.05 * 4 * 0.3 * 0.2},
		{"sloping sides", 0.6, 0.3, 0.9, 0.5, 0.05 * (0.18 + 4*0.75*0.4 + 0.45)},
	} {
		s, err := tank.Pyramid(c.bl, c.bw, c.tl, c.tw, 0.3)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		cut := extrudeCutOf(t, s, r3.Vec{Z: 1})
		v, _ := cut.Below(0.3)
		outlineNear(t, c.name, v, c.volume, 1e-16)
		outlineNear(t, c.name+" as a mesh", facetsVolume(t, c.name, s.Facets(0)), c.volume, 1e-16)
		for _, up := range extrudeUps() {
			extrudeLaws(t, c.name, s, up, c.volume)
		}
		extrudeCount(t, c.name, s, r3.Vec{X: 0.2, Y: -0.1, Z: 1})
		mesh := extrudeCutOf(t, tank.NewPolyhedron(s.Facets(0)), r3.Vec{Z: 1})
		for _, z := range []float64{0.01, 0.1, 0.2, 0.29} {
			a, _ := cut.Below(z)
			b, _ := mesh.Below(z)
			outlineNear(t, c.name+" against its mesh", a, b, 1e-15)
			if m := r3.Sub(cut.Moment(z), mesh.Moment(z)); r3.Norm(m) > 1e-15 {
				t.Errorf("%s: the moment at %g differs from the mesh's by %v", c.name, z, m)
			}
		}
	}
}

func TestPyramidRefuses(t *testing.T) {
	for _, c := range []struct {
		bl, bw, tl, tw, h float64
		says              string
	}{
		{-1, 1, 1, 1, 1, "the bottom length of the pyramid is -1000 mm; expected 0 mm or more"},
		{1, 1, 1, math.NaN(), 1, "the top width of the pyramid is"},
		{1, 1, 1, 1, 0, "the height of the pyramid is 0 mm; expected more than 0 mm"},
		{0, 1, 0, 1, 1, "the pyramid is 0 mm long at the bottom and at the top"},
		{1, 0, 1, 0, 1, "the pyramid is 0 mm wide at the bottom and at the top"},
	} {
		if _, err := tank.Pyramid(c.bl, c.bw, c.tl, c.tw, c.h); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v, expected %s", err, c.says)
		}
	}
}
