package flow

import (
	"math"
	"slices"
)

// notchLeast is by how much a level has to turn down within a filling for a notch, points.
const notchLeast = 1.0

// notches gives what was drawn in the middle of a filling, where the level turned down and
// then rose on: it came in meanwhile as fast as before and after, so that what was drawn
// is the notch and what came in in its time. Where the filling paused elsewhere, it may
// have paused there too. No more than two: a surface that swings turns more often.
func (s *state) notches(from, to int64) (drawn, u float64) {
	var at, x, rate [ringSize]float64 // h, points, points/h
	n := 0
	for i := min(s.Blocks.Has, ringSize) - 1; i >= 0; i-- {
		b := s.Blocks.back(i)
		if b.At < from || b.At > to {
			continue
		}
		if n > 0 && b.New {
			return 0, 0
		}
		at[n], x[n] = float64(b.At-from)/float64(hour), b.X
		if n > 0 {
			rate[n] = (x[n] - x[n-1]) / (at[n] - at[n-1])
		}
		n++
	}
	if n < 6 || at[n-1] > 3 {
		return 0, 0
	}
	var up [ringSize]float64
	rising := 0
	for i := 1; i < n; i++ {
		if rate[i] > 0 {
			up[rising] = rate[i]
			rising++
		}
	}
	if rising < 4 {
		return 0, 0
	}
	fill := middle(up[:rising])
	least := max(notchLeast, 8*s.Noise, 1.5*max(s.Grain.points(), s.Stairs.step()))
	begins, ends := 1, n-1
	for begins < ends && rate[begins] < 0.5*fill {
		begins++
	}
	for ends > begins && rate[ends] < 0.5*fill {
		ends--
	}
	paused, found := 0, 0
	for i := 1; i < n; i++ {
		if math.Abs(rate[i]) < 0.1*fill && i > begins && i < ends {
			paused++
		}
		if rate[i] >= 0 {
			continue
		}
		first, last, fell := i, i, 0.0
		for ; last < n && rate[last] < 0; last++ {
			fell -= x[last] - x[last-1]
		}
		if i = last - 1; fell < least {
			continue
		}
		// A tap is opened and shut within a block.
		for first > 1 && rate[first-1] < 0.85*fill && first > i-12 {
			first--
		}
		for last < n && rate[last] < 0.85*fill && last < i+12 {
			last++
		}
		if first < 3 || last > n-2 {
			continue // what was before or after it isn't seen
		}
		before, after := middle(slices.Clone(rate[max(1, first-5):first])), middle(slices.Clone(rate[last:min(n, last+5)]))
		if before < 0.3*fill || after < 0.3*fill {
			continue
		}
		if found++; found > 2 {
			return 0, 0
		}
		long := at[last-1] - at[first-1]
		d := 0.5*(before+after)*long - (x[last-1] - x[first-1])
		drawn += d
		u = math.Sqrt(u*u + 0.05*d*0.05*d + 0.3*(before-after)*long*0.3*(before-after)*long + 2*s.Noise*s.Noise)
	}
	if found > 0 && paused > 1 {
		drawn, u = 0.7*drawn, math.Hypot(u, 0.25*drawn)
	}
	return drawn, u
}

// middle gives the median, and sorts.
func middle(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}
