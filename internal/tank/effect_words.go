package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Sentence gives a leaning in words for the record: "Parked nose down 3°, it
// reads 6 L high at half full; at most 7 L high (at 80 %)." Figures are rounded
// to a step of 1, 2 or 5 that is no finer than the doubt given, nor than a
// hundredth of the capacity: the angle of a parked vehicle, and a tank's
// sizes, aren't known to better than that.
func (l Leaning) Sentence(doubt quantity.CubicMetre) string {
	step := effectStep(l.Capacity, doubt)
	half, worst := effectRound(l.Half.Error, step), effectRound(l.Worst.Error, step)
	text := "Standing level"
	if !l.Tilt.Level() {
		text = "Parked " + l.Tilt.String()
	}
	switch {
	case half == 0 && worst == 0:
		return fmt.Sprintf("%s, it reads right to within %s.", text, effectLitres(step))
	case half == 0:
		text += ", it reads right at half full"
	default:
		text += fmt.Sprintf(", it reads %s %s at half full", effectLitres(quantity.CubicMetre(math.Abs(float64(half)))), effectSide(half))
	}
	if l.Half.Wet != Met {
		text += effectWhy(l.Half.Wet)
	}
	if worst == half {
		return text + ", and nowhere more."
	}
	text += fmt.Sprintf("; at most %s %s (at %s", effectLitres(quantity.CubicMetre(math.Abs(float64(worst)))), effectSide(worst),
		quantity.Share(math.Round(float64(l.Worst.True/l.Capacity)*100)/100))
	if l.Worst.Wet != Met {
		text += effectWhy(l.Worst.Wet)
	}
	return text + ")."
}

func effectSide(v quantity.CubicMetre) string {
	if v < 0 {
		return "low"
	}
	return "high"
}

func effectWhy(w Wet) string {
	if w == Dry {
		return ", the sensor standing dry"
	}
	return ", the sensor standing under the surface altogether"
}

// effectStep is the least of 1, 2 and 5 times a power of ten that is no less
// than a hundredth of the capacity, nor than the doubt.
func effectStep(capacity, doubt quantity.CubicMetre) quantity.CubicMetre {
	least := max(float64(capacity)/100, float64(doubt))
	power := math.Pow(10, math.Floor(math.Log10(least)))
	for _, n := range []float64{1, 2, 5} {
		if n*power >= least*(1-1e-9) {
			return quantity.CubicMetre(n * power)
		}
	}
	return quantity.CubicMetre(10 * power)
}

func effectRound(v, step quantity.CubicMetre) quantity.CubicMetre {
	if r := math.Round(float64(v / step)); r != 0 {
		return quantity.CubicMetre(r) * step
	}
	return 0
}

func effectLitres(v quantity.CubicMetre) string {
	return quantity.Short(float64(v)*1000, 6) + " L"
}
