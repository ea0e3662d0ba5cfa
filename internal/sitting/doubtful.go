package sitting

import (
	"fmt"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Doubtful says whether reading i of the bench is one that the curve sets aside
// as a suspected mistake, and then in words what to do. A bench of which no
// curve can be made yet has no doubtful readings. i must be a reading of the
// bench, or Doubtful panics.
func Doubtful(t job.Tank, i int) (words string, doubtful bool) {
	words = Doubts(t)[i]
	return words, words != ""
}

// Doubts gives for each reading of the bench what Doubtful says of it, "" for one
// that isn't doubtful.
func Doubts(t job.Tank) []string {
	out := make([]string, len(t.Bench.Readings))
	sheet, err := t.Sheet()
	if err != nil {
		return out
	}
	// By the readings alone, also where the sender's type is known.
	c, err := curve.Fit(sheet, curve.Options{Doubts: t.Doubts()})
	if err != nil {
		return out
	}
	sheet.Readings = leadsOff(t, sheet.Readings)
	aside := setAside(c)
	for i, r := range sheet.Readings {
		if !aside[pairOf(r)] {
			continue
		}
		out[i] = "it doesn't go with the others: take it again"
		if n, agree := repeated(c, sheet.Readings, r.Mark); agree {
			out[i] = fmt.Sprintf("the sender gave this %d times at %s, and it doesn't go with the marks beside it: the track or the windings may be damaged there", n, c.Unit().Text(r.Mark))
		}
	}
	return out
}

// pair is what a curve judges a reading by: two readings that are the same in
// both are set aside together or not at all.
type pair struct {
	mark float64
	ohm  quantity.Ohm
}

func pairOf(r curve.Reading) pair { return pair{r.Mark, r.Ohm} }

func setAside(c *curve.Curve) map[pair]bool {
	out := map[pair]bool{}
	for _, r := range c.SetAside() {
		out[pairOf(r)] = true
	}
	return out
}

// agreePart is how near repeated readings lie to one another to say the same, in
// parts of the span; it is what the curve takes for the same as well.
const agreePart = 0.05

// repeated says how often a mark was read, and whether it was more than once and
// to the same effect.
func repeated(c *curve.Curve, readings []curve.Reading, mark float64) (n int, agree bool) {
	var low, high quantity.Ohm
	for _, r := range readings {
		if r.Mark != mark {
			continue
		}
		if n == 0 {
			low, high = r.Ohm, r.Ohm
		}
		low, high, n = min(low, r.Ohm), max(high, r.Ohm), n+1
	}
	return n, n > 1 && high-low < agreePart*c.Span()
}

// apartPart and apartTimes are how far two readings of one mark lie apart for one
// of them to be wrong: in parts of the span, as a curve has it for a wild repeat,
// and in times what is usual at the other marks, so that no hysteresis is taken
// for a slip.
const (
	apartPart  = 0.08
	apartTimes = 3
	apartMarks = 3 // marks that have to be read more than once to say what is usual
	apartMost  = 5 // readings of one mark; then it is left to the curve
)

// toSettle gives the last reading of a mark of which readings that the curve
// keeps lie so far apart that one of them must be wrong, and how far. Of two the
// curve can't tell which it is, and of two against two neither.
func toSettle(c *curve.Curve, readings []curve.Reading) (i int, apart quantity.Ohm, ok bool) {
	type both struct {
		n, last   int
		low, high quantity.Ohm
	}
	marks, read := map[float64]both{}, map[float64]int{}
	aside := setAside(c)
	for i, r := range readings {
		read[r.Mark]++
		if aside[pairOf(r)] {
			continue
		}
		m := marks[r.Mark]
		if m.n == 0 {
			m.low, m.high = r.Ohm, r.Ohm
		}
		marks[r.Mark] = both{m.n + 1, i, min(m.low, r.Ohm), max(m.high, r.Ohm)}
	}
	var spreads []float64
	for _, m := range marks {
		if m.n > 1 {
			spreads = append(spreads, float64(m.high-m.low))
		}
	}
	if len(spreads) < apartMarks {
		return 0, 0, false
	}
	slices.Sort(spreads)
	limit := max(apartPart*float64(c.Span()), apartTimes*spreads[len(spreads)/2])
	for mark, m := range marks {
		if s := m.high - m.low; m.n > 1 && read[mark] < apartMost && float64(s) > limit && (!ok || m.last > i) {
			i, apart, ok = m.last, s, true
		}
	}
	return i, apart, ok
}

// enoughRepeats is how often a mark is read before a doubt about it is left to
// the curve: of three readings it tells which one is wrong.
const enoughRepeats = 3

// toRepeat gives the last reading whose mark wants to be read again: all that
// was read there is set aside, it isn't the same each time, and it isn't enough
// yet.
func toRepeat(c *curve.Curve, readings []curve.Reading) (int, bool) {
	aside := setAside(c)
	if len(aside) == 0 {
		return 0, false
	}
	good := map[float64]bool{}
	for _, r := range readings {
		good[r.Mark] = good[r.Mark] || !aside[pairOf(r)]
	}
	for i := len(readings) - 1; i >= 0; i-- {
		if mark := readings[i].Mark; !good[mark] {
			if n, agree := repeated(c, readings, mark); n < enoughRepeats && !agree {
				return i, true
			}
		}
	}
	return 0, false
}
