package kin

import (
	"math"
	"testing"

	"gaugewright/internal/peer"
)

// Six batches of a dyestuff, five preparations of each (O. L. Davies, Statistical
// Methods in Research and Production, 1947; data and estimates from memory). The
// balanced analysis of variance and REML agree there: 1764 between batches, 2451
// within.
func TestNestedDyestuff(t *testing.T) {
	yields := []float64{
		1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495, 1595, 1550, 1605, 1510, 1560,
		1445, 1440, 1595, 1465, 1545, 1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445,
	}
	batches := make([]string, len(yields))
	for i := range batches {
		batches[i] = string(rune('A' + i/5))
	}
	c := Nested(yields, batches)
	if math.Abs(c.Unit-2451.25) > 0.01 || math.Abs(c.Batch-1764.05) > 0.01 || c.UnitDF != 24 || c.BatchDF != 5 {
		t.Errorf("%+v", c)
	}
}

// Batches of any sizes: the expected mean squares worked out as traces of the
// quadratic forms' matrices, and Satterthwaite's degrees of freedom, in NumPy.
func TestNestedAgainstNumPy(t *testing.T) {
	type in struct {
		Values  []float64
		Batches []int
	}
	cases := []in{
		{[]float64{1, 1.4, 0.8, 3, 3.3, 2.7, 2.9, 5}, []int{0, 0, 0, 1, 1, 1, 1, 2}},
		{[]float64{10.2, 9.7, 10.9, 14, 8.1, 8.4}, []int{0, 0, 1, 2, 3, 3}},
		{[]float64{0.1, -0.4, 2.2, 1.7, 1.9, 2.4, -1, -1.2, -0.7, -0.9, 0.5}, []int{0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 0}},
	}
	var out [][3]float64
	peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
out = []
for c in json.load(sys.stdin):
    y = np.array(c["Values"]); g = np.array(c["Batches"]); n = len(y)
    z = (g[:, None] == np.unique(g)[None, :]).astype(float); b = z.shape[1]
    p = z @ np.linalg.inv(z.T @ z) @ z.T
    one = np.full((n, n), 1 / n)
    between, within = p - one, np.eye(n) - p
    # E[y'Ay] = tr(A) unit + tr(A z z') batch
    m = np.array([[np.trace(a), np.trace(a @ z @ z.T)] for a in (between, within)])
    unit, batch = np.linalg.solve(m, [y @ between @ y, y @ within @ y])
    w = (b - 1) / np.trace(between @ z @ z.T)
    u, v = w * (y @ between @ y) / (b - 1), (1 - w) * (y @ within @ y) / (n - b)
    out.append([unit, batch, (u + v) ** 2 / (u * u / (b - 1) + v * v / (n - b))])
json.dump(out, sys.stdout)
`, cases, &out)
	for i, c := range cases {
		batches := make([]string, len(c.Batches))
		for j, b := range c.Batches {
			batches[j] = string(rune('A' + b))
		}
		got := Nested(c.Values, batches)
		for j, v := range []float64{got.Unit, got.Batch, got.DF} {
			if math.Abs(v-out[i][j]) > 1e-9*math.Abs(out[i][j]) {
				t.Errorf("case %d: %+v, NumPy %v", i, got, out[i])
				break
			}
		}
	}
}

func TestNestedAtItsEnds(t *testing.T) {
	one := Nested([]float64{1, 2, 3}, []string{"A", "A", "A"})
	if one.BatchKnown || one.Unit != 1 || one.DF != 2 || one.Batch != 0 {
		t.Errorf("one batch: %+v", one)
	}
	each := Nested([]float64{1, 2, 3}, []string{"A", "B", "C"})
	if each.UnitKnown || each.Unit != 1 || each.DF != 2 {
		t.Errorf("one unit each: %+v", each)
	}
	// Batches that are more alike than their units: a negative estimate is nought,
	// and all are one batch: 8 about the mean 2 over 3 degrees of freedom.
	alike := Nested([]float64{0, 4, 2, 2}, []string{"A", "A", "B", "B"})
	if alike.Batch != 0 || math.Abs(alike.Unit-8.0/3) > 1e-12 || alike.DF != 3 {
		t.Errorf("alike: %+v", alike)
	}
}
