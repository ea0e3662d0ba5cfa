package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// direction is how a cause moves the places, for a small change.
type direction struct {
	cause    Cause
	from, to int       // the places it moves, to itself left out; all of them for most causes
	d        []float64 // values per unit of the cause's parameter
	both     bool      // either sign is possible; else above zero alone
	z        float64   // the statistic along it
	a        []float64 // the same in the frame, of unit length; only where draws are made
	size     float64   // its length there: the change that is one standard uncertainty is 1/size
}

// longestRun is how many neighbouring places are looked at together for wear.
const longestRun = 6

// directions gives every direction that is physically possible, those of length
// zero left out.
func (b *bench) directions() []direction {
	n := len(b.places)
	var list []direction
	whole := func(cause Cause, both bool, load func(p place) float64) {
		d := make([]float64, n)
		for i, p := range b.places {
			d[i] = load(p)
		}
		list = append(list, direction{cause: cause, to: n, d: d, both: both})
	}
	sign := float64(b.record.Direction())
	ohmic := b.ohmic()
	if ohmic {
		whole(Series, false, func(place) float64 { return 1 })
		whole(Leak, false, func(p place) float64 { return -p.expected * p.expected })
	} else {
		whole(Offset, true, func(place) float64 { return 1 })
	}
	whole(Gain, true, func(p place) float64 { return p.expected })
	whole(Shift, true, func(p place) float64 { return sign * p.slope })
	if b.arm() {
		whole(Lever, true, func(p place) float64 { return sign * p.slope * (p.mark - b.first()) })
	}
	run := func(cause Cause, from, to int, both bool) {
		d := make([]float64, n)
		for i := from; i < to; i++ {
			d[i] = 1
		}
		list = append(list, direction{cause: cause, from: from, to: to, d: d, both: both})
	}
	for long := 2; long <= min(n/2, longestRun); long++ {
		for from := 0; from+long <= n; from++ {
			run(Wear, from, from+long, !ohmic)
		}
	}
	for i := range n {
		run(Misread, i, i+1, true)
	}
	return moving(list)
}

func moving(list []direction) []direction {
	out := list[:0]
	for _, l := range list {
		if dot(l.d, l.d) > 0 {
			out = append(out, l)
		}
	}
	return out
}

// measured fills in the statistic along each direction and gives how many tests
// that is, one of either sign counting twice.
func measured(list []direction, f *frame, r []float64) int {
	n := len(r)
	var inverse mat.SymDense
	if err := f.chol.InverseTo(&inverse); err != nil {
		// A warning about the conditioning; the figures stand.
		_ = err
	}
	w := make([]float64, n)
	for i := range n {
		for k := range n {
			w[i] += inverse.At(i, k) * r[k]
		}
	}
	tests := 0
	for i := range list {
		l := &list[i]
		var top, below float64
		for j := l.from; j < l.to; j++ {
			top += l.d[j] * w[j]
			for k := l.from; k < l.to; k++ {
				below += l.d[j] * inverse.At(j, k) * l.d[k]
			}
		}
		l.size = math.Sqrt(max(below, 1e-300))
		l.z = top / l.size
		tests++
		if l.both {
			l.z = math.Abs(l.z)
			tests++
		}
	}
	return tests
}
