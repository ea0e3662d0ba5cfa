package docket

import (
	"fmt"
	"math"
)

// When end values are proposed: how probable it has to be that they show nearer to the
// truth, how much less the largest error has to be, in parts of the scale, and how
// many dockets there have to be.
const (
	proposeBetter = 0.95
	proposeGain   = 0.01
	proposeCount  = 3
	fullFrom      = 0.6 // from which level on a gas tank errs on showing full early
)

// propose works out end values that show nearer to what the dockets say.
func (t *Tank) propose(l *Learned, p *posterior) {
	if t.Signal == nil {
		l.Reason = "What the sender gives at each level isn't known, so no end values can be told."
		return
	}
	now := [2]float64{t.Lower, t.Upper}
	if now[0] == now[1] {
		now = [2]float64{t.Signal(0), t.Signal(1)}
	}
	shows := func(ends [2]float64) func(cell int) float64 {
		return func(cell int) float64 {
			return min(1, max(0, (t.Signal(float64(cell)/cells)-ends[0])/(ends[1]-ends[0])))
		}
	}
	ends, ok := t.best(p, now)
	if !ok {
		l.Reason = "No two end values were found that show what the dockets say."
		return
	}
	better, was, is := p.against(shows(now), shows(ends))
	unit := t.SignalUnit
	if unit == "" {
		unit = "Ω"
	}
	switch {
	case l.N < proposeCount:
		l.Reason = fmt.Sprintf("Dockets that count: %d. End values are proposed from %d on.", l.N, proposeCount)
	case ends == now || was-is < proposeGain:
		l.Reason = fmt.Sprintf("Other end values wouldn't show much better: the largest error to be expected is %s points with these, and %s with the best.", points(was), points(is))
	case better < proposeBetter:
		l.Reason = fmt.Sprintf("Other end values might show better, but that isn't beyond doubt yet: the probability is %s.", percent(better))
	default:
		l.Propose, l.Lower, l.Upper = true, ends[0], ends[1]
		l.Reason = fmt.Sprintf("By %d dockets the largest error to be expected between a tenth and eight tenths falls from %s to %s points with %s and %s %s in place of %s and %s.",
			l.N, points(was), points(is), number(ends[0]), number(ends[1]), unit, number(now[0]), number(now[1]))
	}
}

// number gives an end value.
func number(v float64) string { return fmt.Sprintf("%g", math.Round(v*1000)/1000) }

// best gives the end values, on a step that can be keyed in, whose largest deviation from
// the mean between a tenth and eight tenths is least. For gas they show a standard
// uncertainty more than the mean, at the least, where it is rather full.
func (t *Tank) best(p *posterior, now [2]float64) (ends [2]float64, ok bool) {
	span := now[1] - now[0]
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(span)/100)))
	worst := func(e [2]float64) float64 {
		if (e[1]-e[0])*span <= 0 || math.Abs(e[1]-e[0]) < 0.2*math.Abs(span) {
			return math.Inf(1)
		}
		w := 0.0
		for i := from; i <= to; i += 2 {
			d := (t.Signal(float64(i)/cells)-e[0])/(e[1]-e[0]) - p.mean[i]
			if t.Gas && p.mean[i] >= fullFrom && d < p.u[i] {
				return math.Inf(1)
			}
			w = max(w, math.Abs(d))
		}
		return w
	}
	// For a gain the best offset is the middle of what is left, so the search is in one
	// dimension; the steps around it are tried after.
	least := math.Inf(1)
	try := func(e [2]float64) {
		if w := worst(e); w < least-1e-12 {
			least, ends = w, e
		}
	}
	for k := -60; k <= 60; k++ {
		gain := math.Exp(float64(k)*0.005) / span
		low, high, full := math.Inf(1), math.Inf(-1), math.Inf(-1)
		for i := from; i <= to; i += 2 {
			d := p.mean[i] - gain*t.Signal(float64(i)/cells)
			low, high = min(low, d), max(high, d)
			if t.Gas && p.mean[i] >= fullFrom {
				full = max(full, d+p.u[i])
			}
		}
		offset := max((low+high)/2, full)
		lower := -offset / gain
		upper := lower + 1/gain
		for a := -1.0; a <= 1; a++ {
			for b := -1.0; b <= 1; b++ {
				try([2]float64{quantum(lower, step) + a*step, quantum(upper, step) + b*step})
			}
		}
	}
	for i := range ends {
		ends[i] = quantum(ends[i], step)
	}
	return ends, !math.IsInf(least, 1)
}

func quantum(v, step float64) float64 {
	v = math.Round(v/step) * step
	return math.Round(v*1e9) / 1e9
}
