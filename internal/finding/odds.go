package finding

import (
	"fmt"
	"math"
)

// InHundred words a probability 0..1: "97 in 100". It never says that something is
// certain, either way.
func InHundred(p float64) string {
	switch n := math.Round(100 * p); {
	case n >= 100:
		return "more than 99 in 100"
	case n < 1:
		return "less than 1 in 100"
	default:
		return fmt.Sprintf("%.0f in 100", n)
	}
}
