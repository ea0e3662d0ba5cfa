package outlook

import (
	"math"
	"sync"
)

// Paths are how many ways it may go on are looked at. The 5th of a hundred is then
// known to about one in a hundred.
const paths = 512

// fineness is how many values each table of draws has, a power of 2.
const fineness = 1024

// tables are the values draws are taken from: quantiles, so that each table has the
// mean and spread it should have. There is no chance in them; what follows what is
// mixed by a hash of path and day.
type tables struct {
	normal [fineness]float64
	day    [len(scatters)][fineness]float64 // a day's use over the mean
}

var draws = sync.OnceValue(func() *tables {
	t := new(tables)
	for i := range fineness {
		z := math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/fineness-1)
		t.normal[i] = z
		for s, cv := range scatters {
			v := math.Log1p(cv * cv)
			t.day[s][i] = math.Exp(math.Sqrt(v)*z - v/2)
		}
	}
	for s := range t.day { // the tables' own mean is 1 exactly
		level(t.day[s][:])
	}
	return t
})

func level(x []float64) {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	for i := range x {
		x[i] *= float64(len(x)) / sum
	}
}

// mix is a hash of a path and a day (splitmix64, S. Vigna, public domain).
func mix(path, day int) uint64 {
	z := uint64(path)<<32 ^ uint64(uint32(day)) ^ 0x5851f42d4c957f2d
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// spread gives path p of all a place in 0..1 along one of several axes, so that the
// paths are spread evenly over all axes together (a Kronecker lattice with the powers
// of the root of x^9 = x+1).
func spread(p, axis int) float64 {
	const root = 1.0850702454914509
	a := math.Pow(root, -float64(axis+1))
	x := 0.5 + a*float64(p+1)
	return x - math.Floor(x)
}

// axes of spread.
const (
	axisKind = iota
	axisRate
	axisLevel
	axisShape
	axisAfterUse
	axisAfterIdle
	axisLongIdle
	axisLaidUp
	axisNoise
	axes
)

// lattice has spread for all paths, and the normal quantile of each.
var lattice = sync.OnceValue(func() *[axes][paths]struct{ u, z float64 } {
	t := new([axes][paths]struct{ u, z float64 })
	for a := range axes {
		for p := range paths {
			u := spread(p, a)
			u = min(max(u, 1e-4), 1-1e-4)
			t[a][p].u = u
			t[a][p].z = math.Sqrt2 * math.Erfinv(2*u-1)
		}
	}
	return t
})
