package curve_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
)

func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, v := range row {
			m[rows[0][i]] = v
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Published cases: the isoreg examples of the R statistics manual, the test
// case of a machine-learning library, the pituitary data of J. Stat. Softw.
// 32(5) 2009; closed forms of our own. The file names each.
func TestIsotonicPublished(t *testing.T) {
	type data struct{ x, y, w, fit []float64 }
	cases := map[string]*data{}
	for _, row := range table(t, "testdata/isotonic_cases.csv") {
		c := cases[row["case"]]
		if c == nil {
			c = &data{}
			cases[row["case"]] = c
		}
		c.x = append(c.x, number(t, row["x"]))
		c.y = append(c.y, number(t, row["y"]))
		c.w = append(c.w, number(t, row["weight"]))
		c.fit = append(c.fit, number(t, row["fit"]))
	}
	if len(cases) != 7 {
		t.Fatalf("%d cases read", len(cases))
	}
	for name, c := range cases {
		sign := 1.0
		if name == "F_decreasing" {
			sign = -1
		}
		// Values at one x are pooled before order is restored, as readings at
		// one mark are.
		var y, w []float64
		var at []int
		for i := range c.x {
			if i == 0 || c.x[i] != c.x[i-1] {
				y, w = append(y, 0), append(w, 0)
			}
			k := len(y) - 1
			y[k] = (y[k]*w[k] + sign*c.y[i]*c.w[i]) / (w[k] + c.w[i])
			w[k] += c.w[i]
			at = append(at, k)
		}
		got := curve.Isotonic(y, w)
		for i := range c.fit {
			if math.Abs(sign*got[at[i]]-c.fit[i]) > 1e-9 {
				t.Errorf("case %s, value %d: %.12g, published %.12g", name, i+1, sign*got[at[i]], c.fit[i])
			}
		}
	}
}

func TestIsotonicLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		y := rapid.SliceOfN(rapid.Float64Range(-1000, 1000), n, n).Draw(t, "y")
		w := rapid.SliceOfN(rapid.Float64Range(0.1, 10), n, n).Draw(t, "w")
		fit := curve.Isotonic(y, w)
		var before, after float64
		for i := range fit {
			if i > 0 && fit[i] < fit[i-1] {
				t.Fatalf("falls at %d: %v", i, fit)
			}
			before += w[i] * y[i]
			after += w[i] * fit[i]
		}
		if math.Abs(before-after) > 1e-9*(1+math.Abs(before)+1000*float64(n)) {
			t.Fatalf("Σw·y went from %g to %g", before, after)
		}
		again := curve.Isotonic(fit, w)
		for i := range fit {
			if again[i] != fit[i] {
				t.Fatalf("fitted again, value %d went from %v to %v", i, fit[i], again[i])
			}
		}
	})
}

// scikit-learn's IsotonicRegression on random weighted data, and SciPy's
// PchipInterpolator with its inverse by root finding, where they are installed.
func TestIsotonicAgainstScikitLearn(t *testing.T) {
	type data struct {
		Y []float64 `json:"y"`
		W []float64 `json:"w"`
	}
	var in []data
	for k := range 60 {
		n := 2 + k%23
		d := data{}
		for i := range n {
			d.Y = append(d.Y, math.Round(100*(float64(i)+8*math.Sin(float64(37*i+11*k))))/100)
			d.W = append(d.W, 1+math.Abs(math.Round(4*math.Cos(float64(13*i+5*k)))))
		}
		in = append(in, d)
	}
	var out [][]float64
	peer.Python(t, []string{"sklearn.isotonic", "numpy"}, `
import json, sys
import numpy as np
from sklearn.isotonic import isotonic_regression
data = json.load(sys.stdin)
json.dump([list(isotonic_regression(np.array(d["y"]), sample_weight=np.array(d["w"]))) for d in data], sys.stdout)
`, in, &out)
	for k, d := range in {
		for i, got := range curve.Isotonic(d.Y, d.W) {
			if math.Abs(got-out[k][i]) > 1e-9 {
				t.Fatalf("case %d, value %d: %.12g, scikit-learn %.12g", k, i, got, out[k][i])
			}
		}
	}
}
