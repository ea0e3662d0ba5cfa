package curve_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
)

// Chebyshev's best straight lines from textbooks of approximation (closed
// forms, recomputed): √x on [1/4, 1] is 17/48 + 2x/3 with error 1/48 at 0.25,
// 0.5625, 1; √x on [0, 1] is 1/8 + x with error 1/8; eˣ on [−1, 1] is
// 1.26427904902 + 1.17520119364 x with error 0.278801585796.
func TestMinimaxLineTextbook(t *testing.T) {
	tests := []struct {
		name                    string
		f                       func(float64) float64
		from, to                float64
		intercept, slope, error float64
		at                      []float64
	}{
		{"square root on 1/4 … 1", math.Sqrt, 0.25, 1, 17.0 / 48, 2.0 / 3, 1.0 / 48, []float64{0.25, 0.5625, 1}},
		{"square root on 0 … 1", math.Sqrt, 0, 1, 1.0 / 8, 1, 1.0 / 8, []float64{0, 0.25, 1}},
		{"exponential on −1 … 1", math.Exp, -1, 1, 1.26427904902, 1.17520119364, 0.278801585796, []float64{-1, 0.161439361571, 1}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var x, y []float64
			for i := range 2001 {
				v := test.from + float64(i)/2000*(test.to-test.from)
				// The inner point of the alternation has to be among the samples.
				if inner := test.at[1]; i > 0 && x[i-1] < inner && v >= inner && len(x) == i {
					x, y = append(x, inner), append(y, test.f(inner))
					if v == inner {
						continue
					}
				}
				x, y = append(x, v), append(y, test.f(v))
			}
			line := curve.MinimaxLine(x, y)
			for what, pair := range map[string][2]float64{
				"intercept": {line.Intercept, test.intercept}, "slope": {line.Slope, test.slope}, "error": {line.Error, test.error},
			} {
				if math.Abs(pair[0]-pair[1]) > 2e-11 {
					t.Errorf("%s %.12g, textbook %.12g", what, pair[0], pair[1])
				}
			}
			if len(line.At) != 3 {
				t.Fatalf("stands off at %d places, want the alternation's three", len(line.At))
			}
			for k, i := range line.At {
				if math.Abs(x[i]-test.at[k]) > 1e-9 {
					t.Errorf("stands off at %v, want %v", x[i], test.at[k])
				}
			}
			// For a convex or concave curve the best line errs half as much as
			// the line through the ends (closed form).
			if end := curve.TerminalLine(x, y).Error; math.Abs(end-2*line.Error) > 1e-11 {
				t.Errorf("end to end %.12g, best %.12g; want twice as much", end, line.Error)
			}
		})
	}
}

func TestLinesLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rising(t)
		best, zero := curve.MinimaxLine(x, y), curve.ZeroLine(x, y)
		size := 1 + math.Abs(y[0]) + y[len(y)-1] - y[0]
		if len(x) > 2 && len(best.At) < 3 && best.Error > 1e-9*size {
			t.Fatalf("stands off at %v only", best.At)
		}
		worst := func(intercept, slope float64) float64 {
			e := 0.0
			for i := range x {
				e = max(e, math.Abs(y[i]-intercept-slope*x[i]))
			}
			return e
		}
		if e := worst(best.Intercept, best.Slope); math.Abs(e-best.Error) > 1e-9*size {
			t.Fatalf("error %v, says %v", e, best.Error)
		}
		for range 60 {
			da, db := rapid.Float64Range(-3, 3).Draw(t, "da"), rapid.Float64Range(-3, 3).Draw(t, "db")
			if e := worst(best.Intercept+da, best.Slope+db); e < best.Error-1e-9*size {
				t.Fatalf("a line with error %v beats %v", e, best.Error)
			}
			slope := zero.Slope + db
			if e := worst(y[0]-slope*x[0], slope); e < zero.Error-1e-9*size {
				t.Fatalf("a line from zero with error %v beats %v", e, zero.Error)
			}
		}
		end := curve.TerminalLine(x, y).Error
		if best.Error > zero.Error+1e-9*size || zero.Error > end+1e-9*size {
			t.Fatalf("independent %v, zero-based %v, terminal-based %v: out of order", best.Error, zero.Error, end)
		}
	})
}

// The minimax line as a linear programme, solved by SciPy.
func TestMinimaxLineAgainstLinearProgramme(t *testing.T) {
	type data struct {
		X []float64 `json:"x"`
		Y []float64 `json:"y"`
	}
	var in []data
	for k := range 25 {
		d := data{}
		for i := range 3 + k {
			d.X = append(d.X, float64(i))
			d.Y = append(d.Y, float64(2*i)+5*math.Sin(float64(3*i+7*k)))
		}
		in = append(in, d)
	}
	var out [][]float64
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.optimize import linprog
out = []
for d in json.load(sys.stdin):
    x, y = np.array(d["x"]), np.array(d["y"])
    one = np.ones_like(x)
    A = np.vstack([np.column_stack([one, x, -one]), np.column_stack([-one, -x, -one])])
    r = linprog([0, 0, 1], A_ub=A, b_ub=np.concatenate([y, -y]), bounds=[(None, None)] * 3, method="highs")
    z = linprog([0, 1], A_ub=np.vstack([np.column_stack([x - x[0], -one]), np.column_stack([x[0] - x, -one])]),
                b_ub=np.concatenate([y - y[0], y[0] - y]), bounds=[(None, None)] * 2, method="highs")
    out.append([r.fun, z.fun])
json.dump(out, sys.stdout)
`, in, &out)
	for k, d := range in {
		if got := curve.MinimaxLine(d.X, d.Y).Error; math.Abs(got-out[k][0]) > 1e-7 {
			t.Errorf("case %d: independent %.10g, linear programme %.10g", k, got, out[k][0])
		}
		if got := curve.ZeroLine(d.X, d.Y).Error; math.Abs(got-out[k][1]) > 1e-7 {
			t.Errorf("case %d: zero-based %.10g, linear programme %.10g", k, got, out[k][1])
		}
	}
}
