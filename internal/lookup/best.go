package lookup

import (
	"math"
	"slices"
)

// The search for points tries this many counts as places for them, evenly spread
// if there are more, and at each this many levels.
const (
	mostPlaces = 1024
	mostLevels = 9
	searchStep = 0.02 // steps of the table; a smaller gain isn't looked for
	// Ends of runs looked at: more than the figures 0 to 1000 can have. Of more,
	// some are passed over, which loosens the doors; a table found is held against
	// every count all the same.
	mostEnds = 4096
)

// bestPoints puts at most so many points where the worst error is least, and
// gives an error in steps that no such table stays below.
//
// For an allowed error e every count has a door: the whole steps within e of the
// truth, and so a stretch of unrounded values. The search asks whether few
// enough straight links, each between two places of the grid, pass all doors
// (breadth first, so the first way found has the fewest links), and halves the
// range of e. The ends of the way are those of the curve. On a grid of all counts and steps that is exact; on a coarser one
// Bound tells what may have been missed.
func bestPoints(truth []float64, first, most int, rising bool) ([]Point, float64) {
	// Falling truths are looked at from their other end.
	up := slices.Clone(truth)
	if !rising {
		slices.Reverse(up)
	}
	best := coarse(up, most)
	worst := worstOf(up, best)
	low := lowerBound(up, most, worst)
	// The best is seldom far above the bound, and wide doors take the longest.
	e := min((low+worst)/2, 1.2*low+0.5)
	for floor := low; worst-floor > searchStep; e = (floor + worst) / 2 {
		points, ok := newDoors(up, e).links(most - 1)
		if !ok {
			floor = e
			continue
		}
		if found := worstOf(up, points); found < worst {
			best, worst = points, found
		} else {
			floor = e
		}
	}
	out := make([]Point, len(best))
	for i, p := range best {
		if rising {
			out[i] = Point{first + p.Count, p.Level}
		} else {
			out[len(best)-1-i] = Point{first + len(truth) - 1 - p.Count, p.Level}
		}
	}
	return out, low
}

// coarse spreads the points evenly, to begin with.
func coarse(truth []float64, most int) []Point {
	n := min(most, len(truth))
	points := make([]Point, n)
	for i := range points {
		at := i * (len(truth) - 1) / (n - 1)
		points[i] = Point{at, nearest(truth[at])}
	}
	return points
}

func worstOf(truth []float64, points []Point) float64 {
	t := Table{Points: points}
	worst := 0.0
	for i, want := range truth {
		worst = max(worst, math.Abs(float64(t.figure(i))-want))
	}
	return worst
}

// doors are the whole steps lo..hi that each count may show. Where they stay the
// same over a run of counts, its ends say all there is to say of a straight line.
type doors struct {
	lo, hi []int
	ends   []bool // the first and the last count of each run
	open   bool   // every count has a door
}

func newDoors(truth []float64, e float64) doors {
	d := doors{make([]int, len(truth)), make([]int, len(truth)), make([]bool, len(truth)), true}
	for i, v := range truth {
		d.lo[i], d.hi[i] = int(math.Ceil(v-e-1e-9)), int(math.Floor(v+e+1e-9))
		d.open = d.open && d.lo[i] <= d.hi[i]
		if i > 0 && (d.lo[i] != d.lo[i-1] || d.hi[i] != d.hi[i-1]) {
			d.ends[i-1], d.ends[i] = true, true
		}
	}
	// Empty shows empty and full shows full.
	for _, i := range []int{0, len(truth) - 1} {
		d.ends[min(1, len(truth)-1)], d.ends[max(0, len(truth)-2)] = true, true
		whole := nearest(truth[i])
		d.lo[i], d.hi[i], d.ends[i] = whole, whole, true
	}
	d.thin()
	return d
}

// thin passes over ends of runs where there are too many.
func (d doors) thin() {
	n := 0
	for _, end := range d.ends {
		if end {
			n++
		}
	}
	each, k := n/mostEnds+1, 0
	for i := 1; i < len(d.ends)-1; i++ {
		if d.ends[i] {
			d.ends[i] = k%each == 0
			k++
		}
	}
}

// levelsAt gives the levels tried at a count.
func (d doors) levelsAt(i, least, greatest int) []int {
	lo, hi := max(d.lo[i], least), min(d.hi[i], greatest)
	if hi-lo < mostLevels {
		var list []int
		for y := lo; y <= hi; y++ {
			list = append(list, y)
		}
		return list
	}
	list := make([]int, mostLevels)
	for k := range list {
		list[k] = lo + k*(hi-lo)/(mostLevels-1)
	}
	return list
}

// levelAfter gives the levels that could be held from each count to the end.
func (d doors) levelAfter() []struct{ lo, hi int } {
	n := len(d.lo)
	list := make([]struct{ lo, hi int }, n)
	lo, hi := d.lo[n-1], d.hi[n-1]
	for i := n - 1; i >= 0; i-- {
		lo, hi = max(lo, d.lo[i]), min(hi, d.hi[i])
		list[i].lo, list[i].hi = lo, hi
	}
	return list
}

// ratio is num/den with a den of 0 (for the infinite) or more; kept whole, so
// that no rounding decides whether a line passes a door.
type ratio struct{ num, den int64 }

func (a ratio) less(b ratio) bool { return a.num*b.den < b.num*a.den }
