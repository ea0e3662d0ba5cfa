package web

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

type nextMark struct {
	Known bool
	Mark  float64
	Sweep curve.Sweep
	Words string
}

func suggest(t job.Tank, sweep curve.Sweep, _ *float64) nextMark {
	low, high, step := benchRange(t)
	unit := t.Unit()
	done := map[float64]bool{}
	for _, r := range t.Bench.Readings {
		if m, _, ok := r.Mark(); ok && r.Sweep == sweep.String() {
			done[m] = true
		}
	}
	for k := 0; k <= 10; k++ {
		m := low + float64(2*k)*step
		if sweep == curve.Down {
			m = high - float64(2*k)*step
		}
		if !done[m] && m >= low && m <= high {
			return nextMark{true, unit.FromShown(m), sweep, "next: " + unit.Text(unit.FromShown(m)) + ", going " + sweep.String()}
		}
	}
	return nextMark{Words: "Every mark was read this way; turn round."}
}

func doubtful(t job.Tank, i int) (string, bool) {
	c, err := t.Curve()
	if err == nil {
		m, u, _ := t.Bench.Readings[i].Mark()
		for _, a := range c.SetAside() {
			if a.Mark == u.FromShown(m) && float64(a.Ohm) == t.Bench.Readings[i].Ohm {
				return "it doesn't go with the others: take it again", true
			}
		}
	}
	return "", false
}
