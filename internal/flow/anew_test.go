package flow_test

import (
	"testing"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// A level that steps because it is shown by another curve is no refill and no drain,
// and no use either; without that word it is one of them.
func TestAnew(t *testing.T) {
	for _, by := range []float64{0.12, -0.36} {
		for _, told := range []bool{true, false} {
			f := flow.New(flow.Config{})
			at := time.Date(2026, 11, 3, 8, 0, 0, 0, time.UTC)
			level := 0.5
			for i := range 2 * 1440 {
				if i == 1440 {
					level += by
					if told {
						f.Anew()
					}
				}
				f.Take(watch.Level{Time: at.Add(time.Duration(i) * time.Minute), Shown: true, Share: quantity.Share(level), U: 0.002, Motion: watch.Standing})
			}
			if n := len(f.Events()); n > 0 == told {
				t.Errorf("a step by %g, told of it: %v: %d events: %+v", by, told, n, f.Events())
			}
			use := 0.0
			for _, d := range f.Model().Days(10) {
				use += d.Amount
			}
			if use > 0.01 || use < -0.01 {
				t.Errorf("a step by %g, told of it: %v: %g was used", by, told, use)
			}
		}
	}
}
