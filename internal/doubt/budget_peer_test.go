package doubt_test

import (
	"testing"

	"gaugewright/internal/doubt"
	"gaugewright/internal/peer"
)

// A display's figure 100·(R − L)/(U − L) with R, L and U all in doubt: the
// budget with its sensitivities worked by hand, against the uncertainties
// package, which differentiates by itself.
func TestBudgetAgainstUncertainties(t *testing.T) {
	type in struct{ R, UR, L, UL, U, UU float64 }
	cases := []in{
		{40, 0.3, 0.6, 0.2, 90, 0.5},
		{120, 0.8, 240, 1.1, 33, 0.4}, // falling
		{199.6, 0.1, 0, 0.05, 200, 0.2},
	}
	var out []float64
	peer.Python(t, []string{"uncertainties"}, `
import json, sys
from uncertainties import ufloat
out = []
for c in json.load(sys.stdin):
    r, l, u = ufloat(c["R"], c["UR"]), ufloat(c["L"], c["UL"]), ufloat(c["U"], c["UU"])
    out.append((100 * (r - l) / (u - l)).std_dev)
json.dump(out, sys.stdout)
`, cases, &out)
	for i, c := range cases {
		span := c.U - c.L
		b := doubt.Budget{Lines: []doubt.Line{
			{U: c.UR, Sensitivity: 100 / span},
			{U: c.UL, Sensitivity: 100 * (c.R - c.U) / (span * span)},
			{U: c.UU, Sensitivity: -100 * (c.R - c.L) / (span * span)},
		}}
		near(t, "combined", b.Combined(), out[i], 1e-12)
	}
}
