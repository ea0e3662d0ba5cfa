package span_test

import (
	"math"
	"math/rand"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// SciPy as an outside check. Written as shown = a + b·R, the least worst error
// of two end values is a linear programme in (a, b, E) where the display is held
// nowhere, and so are the weighted and the one-sided one; the least sum of
// squares is an ordinary fit. The readings are kept off both ends of the scale,
// so that no display worth having is held; where the answer would be, the case
// is left out on both sides by the same test.
func TestEndsAgainstSciPy(t *testing.T) {
	type sender struct{ Ohm, Target []float64 }
	var in struct {
		Senders []sender
		Margin  float64
	}
	in.Margin = 0.5
	var curves []*curve.Curve
	random := rand.New(rand.NewSource(5))
	for range 60 {
		n := 3 + random.Intn(20)
		bend := 0.6*random.Float64() - 0.3
		var sheet curve.Sheet
		for i := range n {
			mark := 0.25 + 0.5*float64(i)/float64(n-1)
			ohm := 10 + 170*(mark+bend*mark*(1-mark)) + 2*random.NormFloat64()
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
		}
		c, err := curve.Fit(sheet, curve.Options{KeepAll: true})
		if err != nil || !c.Ordered() {
			continue
		}
		var s sender
		for _, r := range c.Used() {
			s.Ohm, s.Target = append(s.Ohm, float64(r.Ohm)), append(s.Target, 100*r.Mark)
		}
		in.Senders, curves = append(in.Senders, s), append(curves, c)
	}
	var want []map[string]float64
	peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy as np
from scipy.optimize import linprog, lsq_linear
given = json.load(sys.stdin)
out = []
for s in given["Senders"]:
    R, T = np.array(s["Ohm"]), np.array(s["Target"])
    one = np.ones_like(R)
    top = max(R) + given["Margin"]
    # lower value of 0 ohm or more, upper value beyond the sender: a <= 0, a + b*top <= 100
    limits = [[1, 0, 0], [1, top, 0]]
    room = [0, 100]
    answer = {}
    for name, up, down in (("worst", one, one), ("near-empty", 1/(1+3*(1-T/100)), 1/(1+3*(1-T/100))), ("never-high", 0*one, one)):
        A = np.vstack([np.column_stack([one, R, -up]), np.column_stack([-one, -R, -down]), limits])
        b = np.concatenate([T, -T, room])
        r = linprog([0, 0, 1], A_ub=A, b_ub=b, bounds=[(None, None), (1e-6, None), (0, None)], method="highs")
        answer[name] = r.fun if r.status == 0 else -1
        a, k = r.x[:2]
        if min(a + k*R) < 0 or max(a + k*R) > 100: answer[name] = -1
    # the same two limits for the squares, as bounds: a = -p, a + b*top = 100 - q
    # with p, q >= 0, so shown = -p + (100 - q + p) R/top
    r = lsq_linear(np.column_stack([R/top - 1, -R/top]), T - 100*R/top, bounds=([0, 0], [np.inf, np.inf]), tol=1e-14)
    p, q = r.x
    shown = -p + (100 - q + p)*R/top
    answer["rms"] = float(np.sqrt(np.mean((shown - T)**2))) if min(shown) >= 0 and max(shown) <= 100 else -1
    out.append(answer)
print(json.dumps(out))
`, in, &want)
	s := onScale(t, scale.Mark, 1)
	compared := 0
	for i, c := range curves {
		for _, o := range span.Objectives {
			ref := want[i][string(o)]
			best, err := span.BestEndsFor(c, s, span.Readout{}, span.Margin{Ohm: 0.5}, o)
			if err != nil {
				t.Fatal(err)
			}
			held := false
			for _, row := range best.Rows {
				held = held || row.Shown <= 0 || row.Shown >= 1
			}
			if ref < 0 || held {
				continue
			}
			compared++
			if c.Direction() == curve.Rising && math.Abs(float64(best.Score)*100-ref) > 1e-5 {
				t.Errorf("sender %d, %s: %.9f points, SciPy %.9f", i, o, float64(best.Score)*100, ref)
			}
		}
	}
	if compared < 100 {
		t.Errorf("%d answers compared, want 100 or more", compared)
	}
}
