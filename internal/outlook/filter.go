package outlook

import "math"

// filter is a Kalman filter whose state is what has been drawn so far and the mean
// use of a day, which walks:
//
//	drawn[t] = drawn[t-1] + part[t]·(rate[t] + day to day scatter)
//	rate[t]  = rate[t-1] + drift
//	seen[t]  = drawn[t] + the doubt of the level
//
// The doubt is that of levels, so neighbouring days, which are differences of levels,
// have errors that are negatively correlated, as they should. Without any doubt and
// with part 1 it is the local level model of J. Durbin and S. J. Koopman, Time Series
// Analysis by State Space Methods, chapter 2, for the use of days.
type filter struct {
	drawn, rate float64
	// Variances: of drawn, of both together, of rate.
	pdd, pdr, prr float64
	like          float64 // log-likelihood so far, but for its constant
}

// foretell goes on by a step: part is what part of the mean it has, scatter the
// variance that the step adds to what is drawn, drift that which it adds to the rate.
func (f *filter) foretell(part, scatter, drift float64) {
	f.prr += drift
	f.drawn += part * f.rate
	f.pdd += 2*part*f.pdr + part*part*f.prr + scatter
	f.pdr += part * f.prr
}

// take takes in what was seen to be drawn so far, with its variance.
func (f *filter) take(seen, noise float64) {
	s := f.pdd + noise
	if !(s > 0) {
		return
	}
	v := seen - f.drawn
	kd, kr := f.pdd/s, f.pdr/s
	f.drawn += kd * v
	f.rate += kr * v
	f.prr = max(0, f.prr-kr*f.pdr)
	f.pdr -= kr * f.pdd
	f.pdd -= kd * f.pdd
	f.pdd = max(0, f.pdd)
	f.like -= 0.5 * (math.Log(s) + v*v/s)
}
