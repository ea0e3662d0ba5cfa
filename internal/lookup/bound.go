package lookup

// lowerBound gives an error, in steps, that no table of at most so many points
// that is right at both ends stays below, up to searchStep: links that needn't even meet would be too few
// to pass all doors. At both ends a level stretch comes free.
func lowerBound(truth []float64, most int, worst float64) float64 {
	low, high := 0.0, worst
	for high-low > searchStep/2 {
		e := (low + high) / 2
		if newDoors(truth, e).loose(most - 1) {
			high = e
		} else {
			low = e
		}
	}
	return low
}

// loose says whether at most so many straight lines that needn't meet pass all
// the doors between a level start and a level end.
func (d doors) loose(most int) bool {
	if !d.open {
		return false
	}
	n := len(d.lo)
	start, hi := 0, d.hi[0]
	for start < n && d.lo[start] <= hi { // lows rise: only the least high counts
		start++
	}
	end := n
	for lo := d.lo[n-1]; end > start && d.hi[end-1] >= lo; {
		end--
	}
	for ; start < end; most-- {
		if most == 0 {
			return false
		}
		start = d.longest(start, end)
	}
	return true
}

// longest gives the first count that a straight line through the doors from one
// count on can't also pass. A line with the slope b passes all of them when no
// two doors forbid b: from one's upper edge up to the other's lower, and
// from one's lower edge to the other's upper.
func (d doors) longest(from, end int) int {
	var edges []int
	least, greatest := 0.0, 1e18
	for i := from; i < end; i++ {
		if i > from && !d.ends[i] {
			continue
		}
		for _, j := range edges {
			w := float64(i - j)
			least = max(least, (float64(d.lo[i]-d.hi[j])-1)/w)
			greatest = min(greatest, (float64(d.hi[i]-d.lo[j])+1)/w)
		}
		if least > greatest+1e-12 {
			return i
		}
		edges = append(edges, i)
	}
	return end
}
