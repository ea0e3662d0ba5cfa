package contents_test

import (
	"math"
	"testing"

	"gaugewright/internal/contents"
	"gaugewright/internal/peer"
)

// The cooling of a tank that gives more than its wall lets in, integrated by
// SciPy from the differential equation, against the closed form.
func TestBurstAgainstSciPy(t *testing.T) {
	type given struct {
		UA, Burn, Heat, Air, Start, Coldest, Liquid, LiquidHeat, Steel, SteelHeat float64
	}
	var cases []given
	var ours []float64
	for _, c := range []struct{ wetted, burn, air, start, liquid, steel, propane float64 }{
		{0.3, 2, -10, 0, 10, 20, 1}, {0.3, 1.2, -10, 0, 10, 0, 1}, {0.2, 3, 5, 0, 20, 25, 0.6}, {0.2, 0.6, 0, 15, 3, 10, 0.5},
		{1.5, 6, 10, 0, 150, 200, 0.3}, {0.25, 0.8, -20, 18, 8, 12, 1}, {0.5, 5, 30, 0, 30, 0, 0.1}, {0.02, 0.8, 0, 0, 30, 10, 1},
	} {
		o := contents.Offtake{Ambient: c.air + 273.15, Wetted: contents.Exactly(c.wetted), Wall: contents.Exactly(10),
			Boiling: contents.MixBoiling(contents.Mix{Propane: c.propane, NButane: 1 - c.propane})}
		start := 0.0
		if c.start != 0 {
			start = c.start + 273.15
		}
		b, err := o.Burst(contents.Exactly(c.burn/3600), contents.Exactly(c.liquid), contents.Exactly(c.steel), start)
		if err != nil {
			t.Fatal(err)
		}
		g, err := o.Steady()
		if err != nil {
			t.Fatal(err)
		}
		if b.Sustained || b.Time.Low >= 0.999*c.liquid/c.burn*3600 || b.Time.Low <= 0 {
			t.Fatalf("%+v doesn't end by the cold: %+v", c, b)
		}
		if start == 0 {
			start = o.Ambient
		}
		cases = append(cases, given{10 * c.wetted, c.burn / 3600, g.Heat, o.Ambient, start, g.Coldest, c.liquid, contents.LiquidHeat.Low, c.steel, contents.SteelHeat.Low})
		ours = append(ours, b.Time.Low)
	}
	var answers []float64
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.integrate import solve_ivp
out = []
for c in json.load(sys.stdin):
    def slope(t, y):
        store = (c["Liquid"] - c["Burn"]*t)*c["LiquidHeat"] + c["Steel"]*c["SteelHeat"]
        return [(c["UA"]*(c["Air"] - y[0]) - c["Burn"]*c["Heat"])/store]
    def cold(t, y):
        return y[0] - c["Coldest"]
    cold.terminal, cold.direction = True, -1
    end = 0.999*c["Liquid"]/c["Burn"]
    s = solve_ivp(slope, (0, end), [c["Start"]], method="DOP853", events=cold, rtol=1e-11, atol=1e-11, max_step=end/50)
    out.append(float(s.t_events[0][0]))
print(json.dumps(out))
`, cases, &answers)
	for i, a := range answers {
		if math.Abs(ours[i]/a-1) > 1e-6 {
			t.Errorf("case %d: %v s, SciPy integrates to %v", i, ours[i], a)
		}
	}
}
