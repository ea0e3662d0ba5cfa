package curve

import "math"

// roundFigures are the steps, as shown, on which a mark can be set by hand:
// the coarse ones first.
var roundFigures = [...][]float64{
	Dial:   {5, 1},
	Height: {50, 10, 5, 1},
	Volume: {50, 10, 5, 1, 0.5, 0.1},
	Mass:   {50, 10, 5, 1, 0.5, 0.1},
}

const (
	// worthFiner is how much less doubt a finer figure has to leave, to be
	// preferred to a rounder one.
	worthFiner = 0.9
	// mostTried is how many marks of one step are tried in a gap.
	mostTried = 20
	// worthReading is by how much a reading has to lower the doubt, at the
	// worst or on the whole, to be worth taking at all.
	worthReading = 0.999
)

// choice is a reading that might be planned, and what it would leave.
type choice struct {
	s     float64
	again bool
	left  float64 // greatest doubt in the gap it is for
	sum   float64 // variance over the length of that gap and those beside it
}

func (c choice) beats(d choice) bool {
	return c.left < d.left/hair || c.left <= d.left*hair && c.sum < d.sum/hair
}

// best gives the reading that leaves the least doubt where there is most now,
// as a share of the way from empty to full; among equals the one that leaves
// least on the whole. False where no reading lowers it.
func (o *outline) best() (s float64, again, ok bool) {
	w := o.worst()
	before := choice{left: o.gaps[w].u}
	for i := max(0, w-1); i <= min(w+1, len(o.gaps)-1); i++ {
		before.sum += o.gaps[i].sum
	}
	var chosen choice
	for _, marks := range o.figures(w) {
		finest := o.after(w, marks[0], false)
		for _, s := range marks[1:] {
			if c := o.after(w, s, false); c.beats(finest) {
				finest = c
			}
		}
		if !ok || finest.left < worthFiner*chosen.left {
			chosen, ok = finest, true
		}
	}
	for _, i := range []int{w - 1, w} {
		if i >= 0 && i < len(o.knots) && o.scatter > 0 {
			if c := o.after(w, o.knots[i].s, true); !ok || c.beats(chosen) {
				chosen, ok = c, true
			}
		}
	}
	// Where two marks are equally doubtful, one reading lowers only the whole.
	worth := chosen.left < before.left*worthReading || chosen.sum < before.sum*worthReading
	return chosen.s, chosen.again, ok && worth
}

// after gives what a reading at s, for gap w, would leave. It is tried on the
// few marks about the gap: three to either side have all that matters.
func (o *outline) after(w int, s float64, again bool) choice {
	from, to := max(0, w-3), min(len(o.knots), w+3)
	local := *o
	var room [7]knot
	local.knots = append(room[:0], o.knots[from:to]...)
	w -= from
	own := 1 // gaps that the gap becomes
	i := w
	if again {
		if w > 0 && local.knots[w-1].s == s {
			i = w - 1
		}
		local.knots[i].n++
	} else {
		local.insert(i, s)
		own = 2
	}
	c := choice{s: s, again: again}
	for k := max(0, w-1); k <= min(w+own, len(local.knots)); k++ {
		g := local.measure(k)
		if k >= w && k < w+own {
			c.left = max(c.left, g.u)
		}
		c.sum += g.sum
	}
	return c
}

// figures gives the marks in round figures within gap w, those of the coarsest
// step that has any, then those of the next finer one; for a gap at an end that
// wasn't reached, the end itself, round or not.
func (o *outline) figures(w int) [][]float64 {
	from, to := 0.0, 1.0
	if w > 0 {
		from = max(from, o.knots[w-1].s)
	}
	if w < len(o.knots) {
		to = min(to, o.knots[w].s)
	}
	const apart = 1e-6
	inside := func(s float64) bool { return s > from+apart && s < to-apart }
	// An end that wasn't reached comes first: beyond the readings nothing
	// holds the curve.
	if w == 0 && to > apart {
		return [][]float64{{0}}
	}
	if w == len(o.knots) && from < 1-apart {
		return [][]float64{{1}}
	}
	var out [][]float64
	low, high := o.unit.ToShown(o.mark(from)), o.unit.ToShown(o.mark(to))
	for _, step := range roundFigures[o.unit] {
		var marks []float64
		first, last := math.Ceil(low/step), math.Floor(high/step)
		stride := max(1, math.Ceil((last-first+1)/mostTried))
		// Counted, as with scale ends of 1e300 a step further is the same number.
		for i := range int(min(mostTried, max(0, math.Floor((last-first)/stride)+1))) {
			k := first + float64(i)*stride
			if s := (o.unit.FromShown(k*step) - o.empty) / (o.full - o.empty); inside(s) {
				marks = append(marks, s)
			}
		}
		if len(marks) > 0 {
			out = append(out, marks)
		}
		if len(out) == 2 || len(marks) > mostTried/2 {
			break
		}
	}
	return out
}
