package lookup

import "slices"

// state is a point that some way leads to.
type state struct {
	at     Point
	before *state
}

// grid is a search in progress: where points may stand, and which of them some
// way leads to already.
type grid struct {
	doors
	levels [][]int // by count; empty where no point may stand
	seen   [][]bool
	left   []int // how many levels of a count aren't seen
	stops  []int // the counts where there is something to do
	nextTo []int // for each count the first stop after it, in stops
	after  []struct{ lo, hi int }
}

func (d doors) grid() *grid {
	n := len(d.lo)
	g := &grid{doors: d, levels: make([][]int, n), seen: make([][]bool, n), left: make([]int, n), nextTo: make([]int, n), after: d.levelAfter()}
	// No level lies outside what the curve itself comes to.
	least, greatest := (d.lo[0]+d.hi[0])/2, (d.lo[n-1]+d.hi[n-1]+1)/2
	places := min(n, mostPlaces)
	for k := range places {
		i := k * (n - 1) / (places - 1)
		g.levels[i] = d.levelsAt(i, least, greatest)
		g.seen[i], g.left[i] = make([]bool, len(g.levels[i])), len(g.levels[i])
	}
	for i := range n {
		if d.ends[i] || len(g.levels[i]) > 0 {
			g.stops = append(g.stops, i)
		}
		g.nextTo[i] = len(g.stops)
	}
	return g
}

func (g *grid) reach(i, k int, before *state) *state {
	g.seen[i][k] = true
	g.left[i]--
	return &state{Point{i, g.levels[i][k]}, before}
}

// links looks for a rising way of at most so many straight links through all
// doors. Before its first point and after its last the way runs level.
func (d doors) links(most int) ([]Point, bool) {
	if !d.open {
		return nil, false
	}
	g := d.grid()
	var now []*state
	for k, y := range g.levels[0] {
		now = append(now, g.reach(0, k, nil))
		for i := 1; i < len(d.lo) && d.lo[i] <= y && y <= d.hi[i]; i++ {
			if k := slices.Index(g.levels[i], y); k >= 0 && !g.seen[i][k] {
				now = append(now, g.reach(i, k, nil))
			}
		}
	}
	for link := 0; ; link++ {
		for _, s := range now {
			if i := s.at.Count; i > 0 && s.at.Level >= g.after[i].lo && s.at.Level <= g.after[i].hi {
				return s.way(), true
			}
		}
		if link == most {
			return nil, false
		}
		var next []*state
		for _, s := range now {
			next = g.expand(s, next)
		}
		now = next
	}
}

// expand adds every point that a straight link from s leads to.
func (g *grid) expand(s *state, next []*state) []*state {
	x, y := s.at.Count, s.at.Level
	// Slopes in halves of a step per count, from least on and below below.
	least, below := ratio{0, 1}, ratio{1, 0}
	for _, i := range g.stops[g.nextTo[x]:] {
		w := int64(i - x)
		if g.left[i] > 0 {
			for k, to := range g.levels[i] {
				if slope := (ratio{int64(2 * (to - y)), w}); !g.seen[i][k] && !slope.less(least) && slope.less(below) {
					next = append(next, g.reach(i, k, s))
				}
			}
		}
		if g.ends[i] {
			if v := (ratio{int64(2*(g.lo[i]-y) - 1), w}); least.less(v) {
				least = v
			}
			if v := (ratio{int64(2*(g.hi[i]-y) + 1), w}); v.less(below) {
				below = v
			}
			if !least.less(below) {
				break
			}
		}
	}
	return next
}

// way gives the points that led here.
func (s *state) way() []Point {
	var list []Point
	for ; s != nil; s = s.before {
		list = append(list, s.at)
	}
	slices.Reverse(list)
	return list
}
