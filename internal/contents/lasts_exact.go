package contents

import (
	"fmt"
	"math"
)

// BurnTime tells for how long, while it runs, one load can draw from a supply:
//
//	t = max(0, left − heel) / (count · rate)
//
// Hours and days of the load don't enter; it is taken to run without a pause.
// Low and High hold the time with 95 %, Mid has as much below as above. Where
// everything is known exactly all three are the same. Where a plate doesn't say
// whether its kilowatts are net or gross, Low comes from the net value, which
// takes more fuel for the same figure, and High from the gross one.
//
// With a normal doubt of what is left and a rectangular one of the rate the
// distribution is known in closed form and is used; where what is left or the
// heel is a range, it is found as by [Lasts]. A rate of nothing is an error.
func BurnTime(s Supply, l Load) (Duration, error) {
	if err := s.lastsCheckLoad(l); err != nil {
		return Duration{}, err
	}
	if l.Kind > CubicMetresPerSecond {
		return Duration{}, fmt.Errorf("%s is counted by the day or by the use; state what it draws while it runs", l.loadsName())
	}
	if l.Rate.High == 0 {
		return Duration{}, fmt.Errorf("%s draws nothing; expected a rate above 0", l.loadsName())
	}
	if s.Left.Half > 0 || s.Heel.Low < s.Heel.High {
		l.HoursPerDay, l.DaysShare = Exactly(24), Exactly(1)
		found, err := Lasts(s, []Load{l})
		if found.Nothing {
			return Duration{Longest, Longest, Longest}, err
		}
		return found.Left, err
	}
	per, err := s.lastsPer(l)
	if err != nil {
		return Duration{}, err
	}
	q := lastsQuotient{mean: s.Left.Value - s.Heel.Low, u: s.Left.U}
	for _, p := range per {
		q.rates = append(q.rates, l.Rate.loadsTimes(p*l.loadsCount()))
	}
	// Two plates that are exact leave a gap in the middle; the median is taken
	// for the middle of the gap.
	const beside = 1e-12
	return Duration{q.quantile(0.025), (q.quantile(0.5-beside) + q.quantile(0.5+beside)) / 2, q.quantile(0.975)}, nil
}

// lastsQuotient is the distribution of max(0, m)/r with m normal and r
// rectangular over one of several ranges, each as likely as another.
type lastsQuotient struct {
	mean, u float64
	rates   []Between
}

// below gives the probability of a quotient of t or less, t ≥ 0:
//
//	P = E Φ((t·r − m)/u) = [g(z_b) − g(z_a)]/(z_b − z_a),  g(z) = z·Φ(z) + φ(z),
//
// since g′ = Φ, with z_a and z_b for both ends of the range of r.
func (q lastsQuotient) below(t float64) float64 {
	sum := 0.0
	for _, r := range q.rates {
		sum += q.one(t, r)
	}
	return sum / float64(len(q.rates))
}

func (q lastsQuotient) one(t float64, r Between) float64 {
	low, high := t*r.Low-q.mean, t*r.High-q.mean
	if q.u <= max(1e-12*math.Abs(q.mean), 1e-15) { // m is exact, or a picogram from it
		switch {
		case low >= 0:
			return 1
		case high < 0:
			return 0
		}
		return high / (high - low)
	}
	a, b := low/q.u, high/q.u
	if b-a < 1e-3 {
		// The mean over so short a stretch is the value in its middle, to within
		// (b−a)²/24·max|φ′| = 1e-8.
		return lastsPhi((a + b) / 2)
	}
	return (lastsRamp(b) - lastsRamp(a)) / (b - a)
}

func lastsPhi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

func lastsRamp(z float64) float64 {
	return z*lastsPhi(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
}

// quantile gives the least t, 0 to Longest, with a probability of p or more of
// being that or less, by halving.
func (q lastsQuotient) quantile(p float64) float64 {
	low, high := 0.0, Longest
	if q.below(0) >= p {
		return 0
	}
	if q.below(high) < p {
		return Longest
	}
	for range 200 {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			break
		}
		if q.below(mid) >= p {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
