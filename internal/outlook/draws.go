package outlook

import "math"

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

// draws are worked out as the program starts (0.2 ms), so that models share them
// without a lock.
var draws = func() *tables {
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
}()

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

// root is that of x^9 = x+1, whose powers spread points evenly over as many axes as
// there are below (a Kronecker lattice).
const root = 1.0850702454914509

// axes along which the paths are spread.
const (
	axisKind = iota
	axisRate
	axisLevel
	axisShape
	axisAfterUse
	axisAfterIdle
	axisLongIdle
	axisLaidUp
	axisLeak
	axes
)

// lattice is where each path is along each axis, 0..1, and the normal quantile of that.
var lattice = func() *[axes][paths]struct{ u, z float64 } {
	t := new([axes][paths]struct{ u, z float64 })
	step := 1.0
	for a := range axes {
		step /= root
		for p := range paths {
			u := math.Mod(0.5+step*float64(p+1), 1)
			u = min(max(u, 1e-4), 1-1e-4)
			t[a][p].u = u
			t[a][p].z = math.Sqrt2 * math.Erfinv(2*u-1)
		}
	}
	return t
}()
