package doubt

import "math"

// Rectangular gives the standard uncertainty of a quantity known only to lie
// within ±halfWidth, every value there as likely as another: a/√3.
// Source: JCGM 100:2008, 4.3.7.
func Rectangular(halfWidth float64) float64 { return halfWidth / math.Sqrt(3) }

// Resolution gives the standard uncertainty that a display step of the given
// size brings: step/√12. Source: JCGM 100:2008, F.2.2.1.
func Resolution(step float64) float64 { return step / math.Sqrt(12) }

// UsualFactor is how many standard uncertainties the doubt that is shown
// reaches either way: k = 2, about 95 % where it is near to normal.
// Source: JCGM 100:2008, 6.3.3 and G.6.6.
const UsualFactor = 2

// Combine gives the combined standard uncertainty of independent
// contributions, each already in the unit of the result: the root of the sum
// of squares. Source: JCGM 100:2008, 5.1.2.
func Combine(contributions ...float64) float64 {
	sum := 0.0
	for _, u := range contributions {
		sum = math.Hypot(sum, u)
	}
	return sum
}
