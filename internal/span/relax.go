package span

import "math"

// tie is how close, in points, two worst errors count as equal.
const tie = 1e-9

// relax finds the least score that any two real end values can reach, and a
// pair that reaches it; false where no pair is allowed whatever its score.
//
// With shown = a + b·R (b > 0), every reading asks a + b·R ≤ its ceiling for a
// score of E, unless that is 100 or more, where holding the display to 100
// takes care of it; and likewise a + b·R ≥ its floor, unless that is 0 or less.
// Floor and ceiling are target ∓ E, in proportion to a weight, or with one of
// them standing still. What may be keyed in
// asks the same kind of thing: an upper value of no less than V is
// a + b·V ≤ 100, and so on. So for a given E the allowed (a, b) are an
// intersection of half-planes that only grows with E, and the least E is found
// by halving. It ends at 1e-12 points; the bound returned is the last E shown
// to be impossible, so it holds in spite of rounding.
func (p *problem) relax() (bound float64, best pair, ok bool) {
	lo, hi := 0.0, p.objective.greatestScore()
	if v, ok := p.feasible(0); ok {
		return 0, v, true
	}
	if best, ok = p.feasible(hi); !ok {
		return 0, pair{}, false
	}
	for range 200 {
		mid := (lo + hi) / 2
		if hi-lo < 1e-12 || mid == lo || mid == hi {
			break
		}
		if v, ok := p.feasible(mid); ok {
			hi, best = mid, v
		} else {
			lo = mid
		}
	}
	return lo, best, true
}

// half is one half-plane: a + b·x ≤ y (an upper one) or ≥ y (a lower one).
type half struct{ x, y float64 }

// feasible finds end values with a worst error of at most e points, or says
// that there are none.
func (p *problem) feasible(e float64) (pair, bool) {
	upper, lower := make([]half, 0, len(p.readings)+2), make([]half, 0, len(p.readings)+2)
	for i := range p.readings {
		r := &p.readings[i]
		if ceiling := r.ceiling(e); ceiling < 100 {
			upper = append(upper, half{r.ohm, ceiling})
		}
		if floor := r.floor(e); floor > 0 {
			lower = append(lower, half{r.ohm, floor})
		}
	}
	// lower value ≥ lowest: nothing is shown there yet, and so on.
	upper = appendFinite(upper, p.lowest, 0)
	lower = appendFinite(lower, p.highestLower, 0)
	upper = appendFinite(upper, p.lowestUpper, 100)
	lower = appendFinite(lower, p.highest, 100)
	b, ok := crossing(upper, lower)
	if !ok {
		return pair{}, false
	}
	// Any a between the two bounds will do: the middle, where both exist.
	top, bottom := math.Inf(1), math.Inf(-1)
	for _, h := range upper {
		top = min(top, h.y-b*h.x)
	}
	for _, h := range lower {
		bottom = max(bottom, h.y-b*h.x)
	}
	a := (top + bottom) / 2
	switch {
	case math.IsInf(bottom, -1):
		a = top
	case math.IsInf(top, 1):
		a = bottom
	}
	return pair{-a / b, (100 - a) / b}, true
}

func appendFinite(list []half, x, y float64) []half {
	if math.IsInf(x, 0) {
		return list
	}
	return append(list, half{x, y})
}

// crossing finds a slope b > 0 at which some a has a + b·x ≤ y for every upper
// half-plane and ≥ y for every lower one. The room between the two,
// min(y−b·x) − max(y−b·x), is concave in b; its greatest value is found by
// walking along it: at any b the nearest upper and the nearest lower one give
// its slope, and the best b seen so far on either side gives the next to try.
func crossing(upper, lower []half) (float64, bool) {
	room := func(b float64) (width, slope float64) {
		top, bottom := math.Inf(1), math.Inf(-1)
		var xTop, xBottom float64
		for _, h := range upper {
			if v := h.y - b*h.x; v < top || (v == top && h.x > xTop) {
				top, xTop = v, h.x
			}
		}
		for _, h := range lower {
			if v := h.y - b*h.x; v > bottom || (v == bottom && h.x < xBottom) {
				bottom, xBottom = v, h.x
			}
		}
		return top - bottom, xBottom - xTop
	}
	if len(upper) == 0 || len(lower) == 0 {
		return 1, true
	}
	type side struct{ b, width, slope float64 }
	width, slope := room(0)
	if slope <= 0 {
		// Widest for a display that never moves: one that hardly moves will do,
		// if there is any room at all.
		for b := 1.0; width > 0 && b > 1e-15; b /= 4 {
			if w, _ := room(b); w >= 0 {
				return b, true
			}
		}
		return 0, false
	}
	// The widest place lies between a slope where the room still grows and one
	// where it shrinks.
	rising, falling := side{0, width, slope}, side{}
	b := 1.0
	for falling.b == 0 {
		if b > 1e18 {
			return 0, false
		}
		width, slope = room(b)
		if width >= 0 {
			return b, true
		}
		if slope <= 0 {
			falling = side{b, width, slope}
		} else {
			rising = side{b, width, slope}
		}
		b *= 4
	}
	for range 200 {
		// Where the two tangents meet is above every value in between.
		b = (falling.width - falling.slope*falling.b - rising.width + rising.slope*rising.b) / (rising.slope - falling.slope)
		if rising.width+rising.slope*(b-rising.b) < 0 || !(b > rising.b && b < falling.b) {
			return 0, false // even that bound leaves no room, or it is reached
		}
		width, slope = room(b)
		switch {
		case width >= 0:
			return b, true
		case slope > 0:
			rising = side{b, width, slope}
		default:
			falling = side{b, width, slope}
		}
	}
	return 0, false
}
