package series

// Fold rolls the values of readings up by their times: the bucket at i of into
// takes those from from + i·width up to but without from + (i+1)·width. What lies
// outside of all buckets is left out. Times may be in any order; those that rise
// are quickest. The sum of a bucket wraps around where it overflows.
//
// It panics where there are not as many values as times, or the width isn't above 0.
func Fold(times, values []int64, from, width int64, into []Roll) {
	if len(times) != len(values) {
		panic("series: not as many values as times")
	}
	if width <= 0 {
		panic("series: a bucket without width")
	}
	for i := 0; i < len(times); {
		at := int(-1)
		// Unsigned differences are right for any two times.
		if behind := uint64(times[i]) - uint64(from); times[i] >= from && behind/uint64(width) < uint64(len(into)) {
			at = int(behind / uint64(width))
		}
		if at < 0 {
			i++
			continue
		}
		begins := uint64(from) + uint64(at)*uint64(width)
		r := into[at]
		j := i
		for ; j < len(times) && uint64(times[j])-begins < uint64(width) && times[j] >= from; j++ {
			v := values[j]
			if r.N == 0 {
				r.Min, r.Max = v, v
			}
			r.Min, r.Max = min(r.Min, v), max(r.Max, v)
			r.N++
			r.Sum += v
		}
		into[at] = r
		i = j
	}
}
