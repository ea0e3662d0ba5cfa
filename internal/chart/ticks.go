package chart

import (
	"math"

	"gaugewright/internal/quantity"
)

// ruler is a numbered scale from lo to hi: major divisions of 1, 2 or 5 times
// a power of ten, each cut into finer ones.
type ruler struct {
	lo, hi   float64
	step     float64 // between numbered divisions
	cuts     int     // parts of one step; 1 where there is no finer division
	decimals int     // of the figures
}

// step125 gives the least of 1, 2, 5 times a power of ten that cuts a span
// into no more than so many parts.
func step125(span float64, most int) float64 {
	raw := span / float64(max(1, most))
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= raw*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// widened makes sure that a range has a size that can be divided.
func widened(lo, hi float64) (float64, float64) {
	least := max(1e-3, 1e-6*max(math.Abs(lo), math.Abs(hi)))
	if hi-lo < least {
		middle := lo + (hi-lo)/2
		return middle - least/2, middle + least/2
	}
	return lo, hi
}

// newRuler divides a range for a length in pixels, so that figures of a size,
// side by side (or one above the other, when upright), keep clear of each
// other.
func newRuler(lo, hi, pixels float64, upright bool) ruler {
	lo, hi = widened(lo, hi)
	r := ruler{lo: lo, hi: hi}
	for most := 12; ; most-- {
		r.step = step125(hi-lo, most)
		r.decimals = int(min(6, max(0, math.Ceil(-math.Log10(r.step)-1e-9))))
		room := pixels * r.step / (hi - lo)
		need := 1.7 * usual
		if !upright {
			need = max(textWidth(r.figure(lo), usual), textWidth(r.figure(hi), usual)) + usual
		}
		if room >= need || most == 1 {
			break
		}
	}
	// The finest division that still leaves four pixels between ticks. A step
	// of 2 is cut into 2 or 4 parts, of 1 or 5 into 5 or 10, so that each part
	// is a round figure again.
	r.cuts = 1
	choices := []int{10, 5, 2}
	if lead := r.step / math.Pow(10, math.Floor(math.Log10(r.step)+1e-9)); math.Abs(lead-2) < 1e-6 {
		choices = []int{4, 2}
	} else if math.Abs(lead-5) < 1e-6 {
		choices = []int{5}
	}
	for _, c := range choices {
		if pixels*r.step/(hi-lo)/float64(c) >= 4 {
			r.cuts = c
			break
		}
	}
	return r
}

// rounded gives the range carried on to the next finest division at both ends.
func (r ruler) rounded() (lo, hi float64) {
	part := r.step / float64(r.cuts)
	return math.Floor(r.lo/part+1e-6) * part, math.Ceil(r.hi/part-1e-6) * part
}

// tick is one division of a ruler.
type tick struct {
	value float64
	rank  int // 0 numbered, 1 half way, 2 the finest
}

// ticks gives the divisions within the range, rising.
func (r ruler) ticks() []tick {
	part := r.step / float64(r.cuts)
	first, last := math.Ceil(r.lo/part-1e-6), math.Floor(r.hi/part+1e-6)
	var out []tick
	for k := first; k <= last && len(out) < 400; k++ {
		rank := 2
		switch {
		case math.Mod(k, float64(r.cuts)) == 0:
			rank = 0
		case r.cuts%2 == 0 && math.Mod(k, float64(r.cuts/2)) == 0:
			rank = 1
		}
		out = append(out, tick{min(r.hi, max(r.lo, k*part)), rank})
	}
	return out
}

// figure prints a value at a numbered division.
func (r ruler) figure(v float64) string { return minus(quantity.Digits(v, r.decimals)) }

// minus sets a true minus sign, as wide as a figure, for a hyphen.
func minus(s string) string {
	if len(s) > 0 && s[0] == '-' {
		return "−" + s[1:]
	}
	return s
}
