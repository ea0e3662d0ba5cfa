package tank

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/quantity"
)

// Summary says of the tilts that [Effects] gives which of them does most, in a
// sentence or two for the record: how far off the figure is at 3°, and at most
// at 1° and 5° of the same. Empty where there are none.
func Summary(list []Leaning, doubt quantity.CubicMetre) string {
	const usual = 3
	var worst *Leaning
	for i := range list {
		// Of two that are alike but for rounding, the first.
		if leaningDegrees(list[i]) == usual && (worst == nil || effectSize(list[i].Worst) > effectSize(worst.Worst)*(1+1e-9)) {
			worst = &list[i]
		}
	}
	if worst == nil {
		return ""
	}
	text := worst.Sentence(doubt)
	step := effectStep(worst.Capacity, doubt)
	var parts []string
	for _, l := range list {
		if d := leaningDegrees(l); d != usual && sameWay(l.Tilt, worst.Tilt) {
			size := effectRound(quantity.CubicMetre(math.Abs(float64(l.Worst.Error))), step)
			off := "by at most " + effectLitres(size)
			if size == 0 {
				off = "by less than " + effectLitres(step)
			}
			parts = append(parts, fmt.Sprintf("at %s° %s", quantity.Short(d, 0), off))
		}
	}
	if len(parts) == 0 || effectRound(worst.Worst.Error, step) == 0 && effectRound(worst.Half.Error, step) == 0 && allLess(parts) {
		return text
	}
	return text + " It is off " + strings.Join(parts, ", ") + "."
}

func allLess(parts []string) bool {
	for _, p := range parts {
		if !strings.Contains(p, "less than") {
			return false
		}
	}
	return true
}

// leaningDegrees gives the steeper of both angles to the nearest degree.
func leaningDegrees(l Leaning) float64 {
	return math.Round(max(math.Abs(l.Tilt.Pitch), math.Abs(l.Tilt.Roll)) * 180 / math.Pi)
}

// sameWay says whether two tilts lean the same way.
func sameWay(a, b Tilt) bool {
	sign := func(v float64) int {
		switch {
		case v > 0:
			return 1
		case v < 0:
			return -1
		}
		return 0
	}
	return sign(a.Pitch) == sign(b.Pitch) && sign(a.Roll) == sign(b.Roll)
}
