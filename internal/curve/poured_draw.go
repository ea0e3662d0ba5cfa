package curve

import (
	"math/rand/v2"
	"sort"
)

// mostRedraws is how often a draw that can't be is drawn again. With a pour's
// doubt below the pour itself, which Check sees to, at most one in six can't;
// so many in a row come once in 10²⁵ times, and then the mean stands.
const mostRedraws = 32

// Draw fills marks with one possible course of the pouring: the amounts in the
// tank in m³ at the start and after each pour, one more than there are pours.
// Anything else is the caller's slip and panics.
//
// The start and each pour are drawn from a normal distribution and the common
// part once for all, which gives the covariance of [Pouring.Marks]. A pour of
// nothing or less can't be and is drawn again, so the marks always rise; where
// the doubt is less than a third of the pour that changes next to nothing. The
// start may come out below nothing: it only moves all marks alike.
func (p Pouring) Draw(random *rand.Rand, marks []float64) {
	if len(marks) != len(p.Pours)+1 {
		panic("curve: a draw needs room for the start and every pour")
	}
	start, amount := float64(p.Start)+float64(p.StartU)*random.NormFloat64(), 0.0
	gain := positive(random, 1, p.Common)
	marks[0] = start
	for k, pour := range p.Pours {
		amount += positive(random, float64(pour.Amount), float64(pour.U))
		marks[k+1] = start + amount*gain
	}
}

// positive draws from a normal distribution until the value is above zero.
func positive(random *rand.Rand, mean, u float64) float64 {
	if u == 0 {
		return mean
	}
	for range mostRedraws {
		if v := mean + u*random.NormFloat64(); v > 0 {
			return v
		}
	}
	return mean
}

// Moved gives where a mark really was in a course drawn by Draw. Marks between
// two pours move in proportion, those beyond the last along with it.
func (p Pouring) Moved(drawn []float64, mark float64) float64 {
	at := float64(p.Start)
	if mark <= at {
		return drawn[0] + mark - at
	}
	for k, pour := range p.Pours {
		amount := float64(pour.Amount)
		if mark <= at+amount {
			return drawn[k] + (mark-at)/amount*(drawn[k+1]-drawn[k])
		}
		at += amount
	}
	return drawn[len(drawn)-1] + mark - at
}

func sortedCopy(values []float64) []float64 {
	out := append([]float64(nil), values...)
	sort.Float64s(out)
	return out
}
