package tank

import "math"

// revolveSegment gives the area of a disc of a radius that lies below a chord
// at s above its middle, and half the chord's length:
// ρ²(θ − sin θ cos θ) with cos θ = −s/ρ. Small areas keep their relative
// accuracy.
func revolveSegment(radius, s float64) (area, half float64) {
	switch {
	case !(s > -radius):
		return 0, 0
	case s >= radius:
		return math.Pi * radius * radius, 0
	}
	if s > 0 {
		area, half = revolveSegment(radius, -s)
		return math.Pi*radius*radius - area, half
	}
	q := (radius + s) / (2 * radius) // sin²(θ/2)
	sine := 2 * math.Sqrt(q*(1-q))   // sin θ
	half = radius * sine
	if q < 1e-3 {
		// Its derivative by q is 8 √(q(1−q)); that, integrated term by term.
		root := math.Sqrt(q)
		return radius * radius * q * root * (16.0/3 - q*(8.0/5+q*(2.0/7+q*(1.0/9+q*(5.0/88+q*7.0/208))))), half
	}
	theta := 2 * math.Asin(math.Sqrt(q))
	return radius * radius * (theta - sine*(1-2*q)), half
}

// revolveSegmentSum gives ∫ of [revolveSegment] over s from −radius: with
// k = s/ρ, ρ³[k(π/2 + asin k) + √(1−k²) − (1−k²)^(3/2)/3].
func revolveSegmentSum(radius, s float64) float64 {
	switch {
	case !(s > -radius):
		return 0
	case s >= radius:
		return math.Pi * radius * radius * s
	}
	k := s / radius
	c2 := (1 - k) * (1 + k)
	c := math.Sqrt(c2)
	return radius * radius * radius * (k*(math.Pi/2+math.Atan2(k, c)) + c*(1-c2/3))
}
