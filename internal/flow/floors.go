package flow

import (
	"math"
	"slices"
)

// floors is the half hours from the newest back, prepared to look for the least that was
// lost in any stretch of them: a leak never pauses, and what people draw does.
type floors struct {
	n    int32                 // half hours
	sum  [binsSize + 1]float64 // what was lost from the newest back to each, points
	tied [binsSize + 1]int32   // how many of them are known
	u    float64               // standard deviation of what a stretch lost by noise, points
}

func (b *bins) floors(f *floors, step float64) {
	f.n = b.Has
	f.u = 0
	for i := range b.Has {
		v := b.back(i)
		f.sum[i+1], f.tied[i+1] = f.sum[i], f.tied[i]
		if v.Tied {
			f.sum[i+1] += v.Fall
			f.tied[i+1]++
			f.u += v.U
		}
	}
	// Of a sender that moves in steps a stretch may have lost a part of one more, or less.
	f.u = math.Hypot(f.u*0.7/float64(max(1, f.tied[f.n])), 0.3*step)
}

// lost gives what was lost in the stretch of m half hours that ends i half hours back.
func (f *floors) lost(i, m int32) (points float64, known bool) {
	if i+m > f.n || f.tied[i+m]-f.tied[i] < m {
		return 0, false
	}
	return f.sum[i+m] - f.sum[i], true
}

// least gives the least that any stretch of m half hours lost between from and to, and
// how many are known.
func (f *floors) least(from, to, m int32) (least float64, known int32) {
	least = math.Inf(1)
	for i := from; i+m <= min(to, f.n); i++ {
		if v, ok := f.lost(i, m); ok {
			least = min(least, v)
			known++
		}
	}
	return least, known
}

// most gives the most that the least of a window of k half hours came to in the time
// before the newest k, and how many such windows are known.
func (f *floors) most(k, m int32) (most float64, windows int32) {
	most = math.Inf(-1)
	// The places of a window that may still be its least or that of one to come, the least
	// first.
	var queue [binsSize]int32
	var loss [binsSize]float64
	head, tail, known, next := 0, 0, int32(0), k
	for at := k; at+k <= f.n; at++ {
		for ; next <= at+k-m; next++ {
			v, ok := f.lost(next, m)
			if loss[next] = v; !ok {
				loss[next] = math.NaN()
				continue
			}
			for known++; tail > head && loss[queue[tail-1]] >= v; {
				tail--
			}
			queue[tail] = next
			tail++
		}
		if known >= (k-m+1)*2/3 {
			most = max(most, loss[queue[head]])
			windows++
		}
		if tail > head && queue[head] == at {
			head++
		}
		if loss[at] == loss[at] {
			known--
		}
	}
	return most, windows
}

// calm gives the mean of the lowest third of what stretches lost.
func (f *floors) calm(from, to, m int32) float64 {
	var x [binsSize]float64
	n := 0
	for i := from; i+m <= min(to, f.n); i++ {
		if v, ok := f.lost(i, m); ok {
			x[n] = v
			n++
		}
	}
	if n == 0 {
		return 0
	}
	slices.Sort(x[:n])
	sum := 0.0
	take := max(1, n/3)
	for _, v := range x[:take] {
		sum += v
	}
	return sum / float64(take)
}

// swung gives by how much the level rose by itself at the most in the two days before the
// newest k half hours, and how many hours of them are known.
func (f *floors) swung(k int32) (most, hours float64) {
	high := math.Inf(-1)
	for i := k; i < min(f.n, k+96); i++ {
		if f.tied[i+1] == f.tied[i] {
			high = math.Inf(-1)
			continue
		}
		high = max(high, f.sum[i])
		most = max(most, high-f.sum[i+1])
		hours += 0.5
	}
	return max(0, most-2*f.u), hours
}
