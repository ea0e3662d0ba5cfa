package tank_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/peer"
	"gaugewright/internal/tank"
)

// SciPy's PchipInterpolator takes the same slopes at inner rows (the weighted
// harmonic mean of Fritsch and Butland), so that all pieces but the first and
// the last are the same. At the ends SciPy has a rule of its own, which gives
// another slope where ours would leave the range of the rows; there only the
// rows themselves have to agree.
func TestSmoothStrappingAgainstSciPy(t *testing.T) {
	heights, volumes := strappingPoured()
	c := extrudeCutOf(t, strappingMade(t, heights, volumes, tank.Smooth, 0, 0), r3.Vec{Z: 1})
	var at []float64
	for k := range 200 {
		at = append(at, 0.31*float64(k)/200)
	}
	var expected struct{ V, Slope []float64 }
	peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
from scipy.interpolate import PchipInterpolator
given = json.load(sys.stdin)
p = PchipInterpolator(given["H"], given["V"])
print(json.dumps({"V": list(p(given["At"])), "Slope": list(p(given["At"], 1))}))
`, map[string]any{"H": heights, "V": volumes, "At": at}, &expected)
	var compared int
	for i, h := range at {
		if h < heights[1] || h >= heights[len(heights)-2] {
			continue
		}
		v, slope := c.Below(h)
		outlineNear(t, "volume", v, expected.V[i], 1e-15)
		outlineNear(t, "slope", slope, expected.Slope[i], 1e-12*math.Max(1, slope))
		compared++
	}
	t.Logf("%d heights compared", compared)
	if compared < 100 {
		t.Errorf("only %d heights were compared", compared)
	}
}
