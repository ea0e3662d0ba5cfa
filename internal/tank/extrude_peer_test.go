package tank_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/peer"
	"gaugewright/internal/tank"
)

// Outlines described as chords at each B, integrated in SciPy over B and along
// each chord, at every tilt: no boundary integral, no arc in closed terms.
func TestExtrudeAgainstSciPy(t *testing.T) {
	notch, bow := [2]float64{0.3, 0.2}, [2]float64{0.3, 0.3}
	outlines := map[string]tank.Outline{
		"stadium": outlineMade(t, outlineRounded(0.15, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3)...),
		"rounded": outlineMade(t, outlineRounded(0.05, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3)...),
		"notch": outlineMade(t, []tank.Vertex{{A: 0, B: 0}, {A: 0.6, B: 0}, {A: 0.6, B: 0.3}, {A: 0.4, B: 0.3},
			{A: 0.2, B: 0.3, Through: &notch}, {A: 0, B: 0.3}}...),
		// A rectangle of 0.6 by 0.2 under an arc that rises 0.1: radius 0.5.
		"vault": outlineMade(t, []tank.Vertex{{A: 0, B: 0}, {A: 0.6, B: 0}, {A: 0.6, B: 0.2}, {A: 0, B: 0.2, Through: &bow}}...),
	}
	type query struct {
		Outline string
		Axis    string
		Up      [3]float64
		D       float64
	}
	var queries []query
	var got []float64
	tilts := []r3.Vec{
		{X: 0.05, Y: 0.02, Z: 1}, {X: -0.1, Y: 0.3, Z: 1}, {X: 0.7, Y: -0.4, Z: 1}, {X: 1, Y: 0.1, Z: 0.2}, {X: 0.1, Y: 1, Z: -0.3},
		{X: 1e-3, Y: 2e-3, Z: 1}, {X: 1e-5, Y: -1e-5, Z: 1}, {X: 1e-7, Y: 1e-6, Z: 1}, {X: 3e-4, Z: 1}, {Y: 2e-4, Z: 1},
	}
	for name, o := range outlines {
		for _, axis := range []tank.Axis{'x', 'y', 'z'} {
			s := extrudeMade(t, o, axis, 0.8)
			for _, up := range tilts {
				up = r3.Unit(up)
				c := extrudeCutOf(t, s, up)
				low, high := c.Span()
				for _, share := range []float64{0.05, 0.62, 0.95} {
					d := low + share*(high-low)
					v, _ := c.Below(d)
					queries = append(queries, query{name, string(rune(axis)), [3]float64{up.X, up.Y, up.Z}, d})
					got = append(got, v)
				}
			}
		}
	}
	var expected []float64
	peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
x, w = np.polynomial.legendre.leggauss(40)

def chords(name, b):
    """pairs of arrays: where the outline is, at heights b"""
    zero = np.zeros_like(b)
    if name in ("stadium", "rounded"):
        r = 0.15 if name == "stadium" else 0.05
        out = np.maximum(0, np.maximum(r - b, b - (0.3 - r)))
        cut = r - np.sqrt(np.maximum(0, r*r - out*out))
        return [(cut, 0.6 - cut)]
    if name == "notch":
        half = np.sqrt(np.maximum(0, 0.01 - (b - 0.3)**2))
        return [(zero, 0.3 - half), (0.3 + half, zero + 0.6)]
    half = np.where(b < 0.2, 0.3, np.sqrt(np.maximum(0, 0.25 - (b + 0.2)**2)))
    return [(0.3 - half, 0.3 + half)]

breaks = {"stadium": [0, 0.15, 0.3], "rounded": [0, 0.05, 0.25, 0.3], "notch": [0, 0.2, 0.3], "vault": [0, 0.2, 0.3]}
answers = []
for q in json.load(sys.stdin):
    ux, uy, uz = q["Up"]
    ua, ub, ut, t0 = {"x": (uy, uz, ux, -0.4), "y": (ux, uz, uy, -0.4), "z": (ux, uy, uz, 0.0)}[q["Axis"]]
    t1 = t0 + 0.8
    # Length below the plane along the axis at (a, b): held between 0 and 0.8.
    # Turned so that it grows as the plane rises.
    if ut < 0:
        ut, t0, t1 = -ut, -t1, -t0
    def above(s):  # integral of the clipped length, s = (d - ua a - ub b)/ut - t0, over s
        s = np.asarray(s)
        return np.where(s <= 0, 0, np.where(s >= 0.8, 0.32 + 0.8*(s - 0.8), s*s/2))
    def along(a0, a1, b):
        """integral over a of the clipped length"""
        s0, s1 = [(q["D"] - ua*a - ub*b)/ut - t0 for a in (a0, a1)] if ut else (None, None)
        if ut == 0:
            if ua == 0:
                return 0.8*(a1 - a0)*(q["D"] > ub*b)
            edge = np.clip((q["D"] - ub*b)/ua, a0, a1)
            return 0.8*(edge - a0 if ua > 0 else a1 - edge)
        if ua == 0 or abs(ua/ut) < 1e-9:
            return np.clip(s0, 0, 0.8)*(a1 - a0)
        return (above(s1) - above(s0))/(-ua/ut)
    # Break where the clipped length starts or ends at an end of a chord as well:
    # found on a fine grid, closely enough for 40 points a piece.
    grid = np.linspace(0, 0.3, 601)
    cuts = list(breaks[q["Outline"]])
    for k in range(len(chords(q["Outline"], grid))):
        for side in (0, 1):
            def f(b, target):
                a = chords(q["Outline"], np.atleast_1d(b))[k][side]
                return q["D"] - ua*a - ub*np.atleast_1d(b) - ut*target
            for target in (t0, t1):
                v = f(grid, target)
                for i in np.nonzero(v[:-1]*v[1:] <= 0)[0]:
                    lo, hi = grid[i], grid[i+1]
                    flo = v[i] if v[i] else -v[i+1]
                    for _ in range(45):
                        mid = (lo + hi)/2
                        fm = f(mid, target)[0]
                        if fm*flo > 0: lo = mid
                        else: hi = mid
                    cuts.append((lo + hi)/2)
    cuts = sorted(set(cuts))
    total = 0.0
    for lo, hi in zip(cuts[:-1], cuts[1:]):
        # Square roots at the ends of a piece become smooth.
        s = (x + 1)/2
        b = lo + (hi - lo)*s*s*(3 - 2*s)
        weight = w/2*6*s*(1 - s)*(hi - lo)
        for a0, a1 in chords(q["Outline"], b):
            total += float(np.sum(weight*along(a0, a1, b)))
    answers.append(total)
print(json.dumps(answers))
`, queries, &expected)
	var worst float64
	for i, q := range queries {
		capacity := 0.8 * outlines[q.Outline].Area()
		off := math.Abs(got[i]-expected[i]) / capacity
		worst = max(worst, off)
		// Dividing by a slight tilt costs the reference as many digits.
		lean := 1.0
		for _, u := range q.Up {
			if u != 0 {
				lean = min(lean, math.Abs(u))
			}
		}
		if off > 2e-11+2e-15/lean {
			t.Errorf("%s along %s, up %v, d %v: got %.14g, expected %.14g (%.2g of the whole)", q.Outline, q.Axis, q.Up, q.D, got[i], expected[i], off)
		}
	}
	t.Logf("%d volumes, the worst off by %.2g of the whole", len(queries), worst)
}
