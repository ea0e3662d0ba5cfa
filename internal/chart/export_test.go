package chart

// What tests from outside need to measure.
var (
	TextWidth = textWidth
	Fitted    = fitted
	Wrapped   = wrapped
	Hatching  = hatch
	Straight  = straightened
	Step125   = step125
)

// HatchGap is the distance between hatching strokes along an axis.
const HatchGap = hatchGap

// LetteringSize gives the size of lettering of a role.
func LetteringSize(r Role) float64 { return looks[r].size }

// Divisions gives the numbered values of a ruler, its figures, and the least
// distance between divisions in pixels.
func Divisions(lo, hi, pixels float64, upright bool) (values []float64, figures []string, closest float64) {
	r := newRuler(lo, hi, pixels, upright)
	closest = pixels
	ticks := r.ticks()
	for i, t := range ticks {
		if i > 0 {
			closest = min(closest, (t.value-ticks[i-1].value)/(r.hi-r.lo)*pixels)
		}
		if t.rank == 0 {
			values, figures = append(values, t.value), append(figures, r.figure(t.value))
		}
	}
	return values, figures, closest
}

// Tones gives the palette by name.
func Tones(dark bool) map[string]string {
	out := map[string]string{}
	for _, list := range [][]ink{inks, accents} {
		for _, k := range list {
			out[k.name] = k.light
			if dark {
				out[k.name] = k.dark
			}
		}
	}
	return out
}
