package span

import (
	"math"
	"sort"
)

// point is a corner on the grid, with the one before it on its way.
type point struct {
	column, row int32
	before      int32 // -1 for a first corner
	links       int32
}

// findPoints is find for corners on rows.
func (l *lattice) findPoints(links int) (path []vertex, ok, ended bool) {
	var points []point
	seen := make([][]bool, len(l.at))
	base := make([]int, len(l.at)) // the first row of each column
	for i := range l.at {
		from, to := l.rowsBetween(l.lo[i], l.hi[i])
		base[i] = from
		seen[i] = make([]bool, max(0, to-from))
	}
	// reach takes a corner up, and says whether it may be the last.
	reach := func(column, row int, before, links int32) bool {
		if seen[column][row-base[column]] {
			return false
		}
		seen[column][row-base[column]] = true
		points = append(points, point{int32(column), int32(row), before, links})
		y := l.rows[row]
		return before >= 0 && y >= l.endLo[column]-rowHair && y <= l.endHi[column]+rowHair
	}
	for i := range l.at {
		from, to := l.rowsBetween(max(l.lo[i], l.startLo[i]), min(l.hi[i], l.startHi[i]))
		for k := from; k < to; k++ {
			reach(i, k, -1, 0)
		}
	}
	lowAfter, highAfter := l.after(l.lows), l.after(l.highs)
	for now := 0; now < len(points); now++ {
		p := points[now]
		if int(p.links) >= links {
			break
		}
		x, y := l.at[p.column], l.rows[p.row]
		flattest, steepest := 0.0, math.Inf(1)
		low, high := lowAfter[p.column], highAfter[p.column]
		for j := int(p.column) + 1; j < len(l.at); j++ {
			if *l.work--; *l.work < 0 {
				return nil, false, false
			}
			dx := l.at[j] - x
			for ; low < len(l.lows) && l.lows[low].x <= l.at[j]; low++ {
				flattest = max(flattest, (l.lows[low].y-y)/(l.lows[low].x-x))
				*l.work--
			}
			for ; high < len(l.highs) && l.highs[high].x <= l.at[j]; high++ {
				steepest = min(steepest, (l.highs[high].y-y)/(l.highs[high].x-x))
				*l.work--
			}
			lo := y + flattest*dx
			if flattest > steepest+1e-12 || lo > 100+rowHair {
				break
			}
			if p.links == 0 && l.at[j] <= l.before {
				continue // a first corner there does as well
			}
			hi := l.hi[j]
			if !math.IsInf(steepest, 1) {
				hi = min(hi, y+steepest*dx)
			}
			from, to := l.rowsBetween(max(l.lo[j], lo), hi)
			for k := max(from, int(p.row)); k < to; k++ {
				if reach(j, k, int32(now), p.links+1) {
					return l.back(points), true, true
				}
			}
		}
	}
	return nil, false, true
}

// rowHair is how far beside a row, in points, a limit may lie by rounding.
const rowHair = 1e-10

// rowsBetween gives the rows from lo to hi, as a half-open range of indices.
func (l *lattice) rowsBetween(lo, hi float64) (from, to int) {
	if lo > hi+2*rowHair {
		return 0, 0
	}
	// The rows are even but for a rounded end, so a guess is all but right.
	from = l.firstRow(lo - rowHair)
	return from, max(from, l.firstRow(math.Nextafter(hi+rowHair, math.Inf(1))))
}

// firstRow gives the first row at y or above.
func (l *lattice) firstRow(y float64) int {
	n := len(l.rows)
	if n < 2 {
		return sort.SearchFloat64s(l.rows, y)
	}
	i := min(n, max(0, int(math.Ceil((y-l.rows[0])/(l.rows[1]-l.rows[0])))))
	for i > 0 && l.rows[i-1] >= y {
		i--
	}
	for i < n && l.rows[i] < y {
		i++
	}
	return i
}

// after gives for each abscissa the first limit that stands beyond it.
func (l *lattice) after(limits []half) []int {
	out := make([]int, len(l.at))
	k := 0
	for i, x := range l.at {
		for k < len(limits) && limits[k].x <= x+1e-9 {
			k++
		}
		out[i] = k
	}
	return out
}

// back gives the way to the last corner taken up.
func (l *lattice) back(points []point) []vertex {
	var path []vertex
	for i := int32(len(points) - 1); i >= 0; i = points[i].before {
		path = append(path, vertex{l.at[points[i].column], l.rows[points[i].row]})
	}
	for a, b := 0, len(path)-1; a < b; a, b = a+1, b-1 {
		path[a], path[b] = path[b], path[a]
	}
	return path
}
