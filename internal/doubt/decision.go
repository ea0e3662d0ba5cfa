package doubt

import (
	"fmt"
	"math"
)

// Verdict is what a decision rule with guard bands says of a result, from the
// best to the worst. The four words are those of ILAC-G8:09/2019, 4.2, for a
// decision that is more than a plain yes or no.
type Verdict int

const (
	// Pass: inside the tolerance by at least the guard band.
	Pass Verdict = iota
	// ConditionalPass: inside the tolerance, by less than the guard band.
	ConditionalPass
	// ConditionalFail: outside the tolerance, by no more than the guard band.
	ConditionalFail
	// Fail: outside the tolerance by more than the guard band.
	Fail
)

// String gives "pass", "conditional pass", "conditional fail" or "fail".
func (v Verdict) String() string {
	return [...]string{"pass", "conditional pass", "conditional fail", "fail"}[v]
}

// MarshalText writes the verdict as its words.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Within says whether the result itself lies inside the tolerance, its doubt
// left out: simple acceptance (JCGM 106:2012, 8.2).
func (v Verdict) Within() bool { return v <= ConditionalPass }

// UsualGuard is the guard band in parts of the expanded uncertainty that is
// taken where nobody chose another: the whole of it.
const UsualGuard = 1

// decisionHair is what reckoning may add to a figure that stands on a border,
// in parts of the tolerance. It is far below the last digit of any display.
const decisionHair = 1e-7

// Decision is one result held against a symmetrical tolerance.
type Decision struct {
	Verdict     Verdict
	Probability float64 // that the true value lies within the tolerance, 0..1
	GuardBand   float64 // w, in the unit of the result; 0 or more
	// Coarse says that the guard band leaves nothing of the tolerance: no
	// result, not even one without any error, could pass.
	Coarse bool
}

// Decide holds an error e, known with the standard uncertainty u, against the
// tolerance ±T. All three are in one unit. The guard band is w = r·U with
// U = 2u, and the verdict is
//
//	|e| ≤ T − w      pass
//	|e| ≤ T          conditional pass
//	|e| ≤ T + w      conditional fail
//	beyond           fail
//
// A figure on a border has the better verdict. With u = 0 or r = 0 there is no
// guard band, and so no condition. With w ≥ T no result passes.
//
// The probability is [Conformity]'s. With r = 1 a pass has a probability above
// 95.4 %, and of 97.7 % or more where T is at least 3u.
//
// It needs a finite e, u of 0 or more, T above 0 and r of 0 or more; anything
// else is an error.
//
// Source: JCGM 106:2012, 7.4 (probability of conformity), 8.2 and 8.3 (simple
// and guarded acceptance, guarded rejection).
func Decide(e, u, tolerance, r float64) (Decision, error) {
	switch {
	case math.IsNaN(e) || math.IsInf(e, 0):
		return Decision{}, fmt.Errorf("an error of %g can't be judged; expected a number", e)
	case !(u >= 0 && u <= math.MaxFloat64):
		return Decision{}, fmt.Errorf("a standard uncertainty of %g can't be; expected a number, 0 or more", u)
	case !(tolerance > 0 && tolerance <= math.MaxFloat64):
		return Decision{}, fmt.Errorf("a tolerance of %g can't be; expected a number above 0", tolerance)
	case !(r >= 0 && r <= math.MaxFloat64):
		return Decision{}, fmt.Errorf("a guard band of %g times the expanded uncertainty can't be; expected a number, 0 or more", r)
	}
	d := Decision{Probability: Conformity(e, u, tolerance), GuardBand: r * UsualFactor * u}
	if math.IsInf(d.GuardBand, 1) {
		return Decision{}, fmt.Errorf("a guard band of %g times %g is too large to reckon with", UsualFactor*r, u)
	}
	d.Coarse = d.GuardBand >= tolerance
	size, hair := math.Abs(e), decisionHair*tolerance
	switch {
	case size <= tolerance-d.GuardBand+hair && !d.Coarse:
		d.Verdict = Pass
	case size <= tolerance+hair:
		d.Verdict = ConditionalPass
	case size <= tolerance+d.GuardBand+hair:
		d.Verdict = ConditionalFail
	default:
		d.Verdict = Fail
	}
	return d, nil
}

// Conformity gives the probability, 0..1, that a true value lies within ±T when
// it was found as e with the standard uncertainty u:
//
//	P = Φ((T − e)/u) − Φ((−T − e)/u)
//
// With u = 0 it is 1 within the tolerance and 0 beyond.
//
// It takes what is known of e for normal and knows nothing of e beforehand.
// Where u is mostly that of one rectangular source, such as a display's last
// digit, the true probability near the border goes in a straight line instead
// and differs by up to 0.06; for two equal rectangular sources by up to 0.02.
//
// Arguments that Decide refuses panic.
//
// Source: JCGM 106:2012, 7.4.
func Conformity(e, u, tolerance float64) float64 {
	if !(u >= 0) || !(tolerance > 0) || math.IsNaN(e) {
		panic(fmt.Sprintf("doubt: no probability for an error of %g, an uncertainty of %g and a tolerance of %g", e, u, tolerance))
	}
	e = math.Abs(e)
	near, far := tolerance-e, tolerance+e // to the two limits; far > 0
	if u == 0 {
		if near >= -decisionHair*tolerance {
			return 1
		}
		return 0
	}
	near, far = near/u/math.Sqrt2, far/u/math.Sqrt2
	if near >= 0 {
		return (math.Erf(near) + math.Erf(far)) / 2
	}
	// Outside, both tails are small: their complements would lose the digits.
	return (math.Erfc(-near) - math.Erfc(far)) / 2
}
