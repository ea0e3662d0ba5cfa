package alarm

import (
	"math"
	"time"

	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// From which probability on something counts. A wide doubt alone can't raise an alarm:
// where the level is above a setpoint, no doubt makes it likelier than not that it is
// below. What is sure counts after the delay. What is likelier than not, at all times of
// a long while, counts too (see patient), or the alarm of a sender that is known
// badly would never be raised. All else neither raises an alarm nor clears it.
const (
	Sure   = 0.9
	Likely = 0.5
)

// patient is for how long something has to be likelier than not: six delays, and half an
// hour at the least.
func patient(delay time.Duration) time.Duration { return max(6*delay, 30*time.Minute) }

// odds are the probabilities that what an alarm is about is there, and that it isn't and
// has come back by the deadband too.
type odds struct{ there, back float64 }

// phi is the standard normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// below is the probability that a value of a normal distribution is below a limit; a
// spread of 0 is no doubt at all.
func below(limit, mid, u float64) float64 {
	if !(u > 0) {
		switch {
		case mid < limit:
			return 1
		case mid > limit:
			return 0
		}
		return 0.5
	}
	return phi((limit - mid) / u)
}

// believed says whether a level tells anything: it is shown, and isn't being checked.
func believed(l watch.Level) bool {
	return l.Shown && l.Status != watch.Failure && l.Status != watch.Check
}

// levelOdds are those of a rule that is about the level.
func levelOdds(r Rule, l watch.Level) odds {
	share, u := float64(l.Share), float64(l.U)
	if r.Kind == High {
		return odds{there: 1 - below(r.Setpoint, share, u), back: below(r.Setpoint-r.Deadband, share, u)}
	}
	return odds{there: below(r.Setpoint, share, u), back: 1 - below(r.Setpoint+r.Deadband, share, u)}
}

// z90 is the 95 % point of the standard normal distribution: the ends of an outlook's
// interval, which holds nine of ten.
const z90 = 1.6448536269514722

// leftOdds are those of a rule that is about the time left, which is taken to be
// lognormal on either side of its middle.
func leftOdds(r Rule, l outlook.Left) odds {
	less := func(limit time.Duration) float64 {
		mid, low, high := float64(l.Mid), float64(l.Low), float64(l.High)
		switch {
		case mid <= 0:
			return 1
		case limit <= 0:
			return 0
		}
		d := math.Log(float64(limit) / mid)
		side := high / mid
		if d < 0 {
			side = mid / max(low, 1)
		}
		return below(d, 0, math.Log(max(side, 1))/z90)
	}
	back := time.Duration(float64(r.Left) * (1 + r.Deadband))
	return odds{there: less(r.Left), back: 1 - less(back)}
}
