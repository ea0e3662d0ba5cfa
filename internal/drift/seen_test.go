package drift_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// looked draws a check of a display that is off by error, its step one point.
func looked(random *rand.Rand, off func(m float64) float64, marks ...float64) []span.Seen {
	var out []span.Seen
	for _, m := range marks {
		stands := m + 0.005*(2*random.Float64()-1)
		shown := math.Round(100*(stands+off(stands))) / 100
		out = append(out, span.Seen{Mark: m, Shown: quantity.Share(min(1, max(0, shown)))})
	}
	return out
}

func TestCompareSeen(t *testing.T) {
	s, err := scale.New(scale.Mark, 0, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 9))
	d := span.UsualDoubt()
	d.Step = 0.01
	same := func(m float64) float64 { return 0.01 * m }
	alarms, found, many := 0, 0, 300/raced
	var unseen float64
	for range many {
		left := looked(random, same, 0.1, 0.3, 0.5, 0.7, 0.9)
		r, err := drift.CompareSeen(left, looked(random, same, 0.1, 0.4, 0.7), curve.Dial, s, d, drift.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if r.Changed {
			alarms++
		}
		unseen = r.Unseen
		moved := func(m float64) float64 { return same(m) + r.Unseen/100 }
		if r, err = drift.CompareSeen(left, looked(random, moved, 0.1, 0.4, 0.7), curve.Dial, s, d, drift.Options{}); err != nil {
			t.Fatal(err)
		}
		if r.Changed {
			found++
		}
	}
	t.Logf("%d of %d falsely; an even shift of %.2f points found in %d", alarms, many, unseen, found)
	if atMost(alarms-1, many, 0.01) > 0.999 {
		t.Errorf("%d false alarms in %d", alarms, many)
	}
	if atMost(found, many, 0.95) < 0.001 {
		t.Errorf("an even shift of %.2f points found %d times of %d; 95 in 100 were promised", unseen, found, many)
	}
	left := looked(random, same, 0.2, 0.8)
	r, err := drift.CompareSeen(left, []span.Seen{{Mark: 0.2, Shown: 0.26}, {Mark: 0.5, Shown: 0.56}, {Mark: 0.95, Shown: 1}}, curve.Dial, s, d, drift.Options{RecordDay: date("2025-11-03")})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Changed || len(r.Skipped) != 1 || r.Skipped[0] != 95 || !strings.HasPrefix(r.Findings[0].Text, "The display has changed: at ") {
		t.Errorf("%+v", r)
	}
	for _, bad := range [][2][]span.Seen{{nil, left}, {left, nil}, {left, {{Mark: 0.9, Shown: 0.9}}}} {
		if _, err := drift.CompareSeen(bad[0], bad[1], curve.Dial, s, d, drift.Options{}); err == nil {
			t.Errorf("compared %v", bad)
		}
	}
}
