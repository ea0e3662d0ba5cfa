package docket

import (
	"cmp"
	"math"
	"slices"
)

// part is one normal of the mixture.
type part struct {
	kappa  float64
	state  state
	weight float64 // log, then as it is
	out    uint64  // the pieces that are wrong altogether, a bit each
}

// most is how many pieces are taken into account; the latest.
const most = 48

// beam is how many sets of wrong pieces are carried on, and enough how much less
// probable (log) what is still of account may be than the best.
const (
	beam   = 6
	enough = 9.0
	// hopeless is how far a set may fall behind before its last piece is taken: one
	// more observation can be as dense as e^6.
	hopeless = 40.0
)

// mixture is the posterior.
type mixture struct {
	parts []part
	wrong []float64 // of each piece: the probability that it is wrong altogether
}

// cell is a capacity and a reach.
type cell struct {
	kappa, weight float64
	prior         *state
}

// infer works the posterior out. Which pieces are wrong altogether is searched for
// from none on, always carrying on the most probable sets: exact for a few pieces.
// stated says that the capacity is what somebody stated.
func infer(t *Tank, pieces []piece, stated bool) mixture {
	mean, u := stopMean, stopU
	if t.Gas {
		mean, u = gasStopMean*t.perWater(), gasStopU*t.perWater()
	}
	var cells []cell
	list, weight := kappas(stated)
	for _, r := range reaches {
		prior := r.prior(mean, u)
		for i, k := range list {
			cells = append(cells, cell{k, math.Log(weight[i] * r.weight), &prior})
		}
	}
	rows, extra := make([][]row, len(list)), make([][]float64, len(list))
	for i, k := range list {
		for j := range pieces {
			r, e := pieces[j].row(k, t)
			rows[i], extra[i] = append(rows[i], r), append(extra[i], e)
		}
	}
	seen := map[uint64]bool{}
	best := math.Inf(-1)
	weights := make([]float64, len(cells))
	// weigh takes the pieces of a set for one cell. What can't make up for the best any
	// more is given up.
	weigh := func(c int, out uint64, s *state) float64 {
		i := c % len(list)
		*s = *cells[c].prior
		w := cells[c].weight
		for j := range pieces {
			if out&(1<<j) != 0 {
				w += math.Log(pieces[j].wrong) + noise
				continue
			}
			w += math.Log(1-pieces[j].wrong) + extra[i][j] + s.take(&rows[i][j])
			if w < best-hopeless {
				return math.Inf(-1)
			}
		}
		return w
	}
	try := func(out uint64) (parts []part, sum float64) {
		var s state
		top := math.Inf(-1)
		for c := range cells {
			weights[c] = weigh(c, out, &s)
			top = max(top, weights[c])
		}
		if math.IsInf(top, -1) {
			return nil, top
		}
		for c, w := range weights {
			sum += math.Exp(w - top)
			if w >= max(top, best)-enough {
				parts = append(parts, part{kappa: cells[c].kappa, weight: w, out: out})
				weigh(c, out, &parts[len(parts)-1].state)
			}
		}
		return parts, top + math.Log(sum)
	}
	type set struct {
		out uint64
		sum float64
	}
	var all []part
	level := []set{}
	add := func(out uint64, next *[]set) {
		if seen[out] {
			return
		}
		seen[out] = true
		parts, sum := try(out)
		if math.IsInf(sum, -1) {
			return
		}
		all, best = append(all, parts...), max(best, sum)
		*next = append(*next, set{out, sum})
	}
	add(0, &level)
	if len(level) == 0 {
		level = append(level, set{0, math.Inf(-1)})
	}
	for n := range pieces {
		var next []set
		for _, s := range level {
			for j := range pieces {
				if s.out&(1<<j) == 0 {
					add(s.out|1<<j, &next)
				}
			}
		}
		slices.SortStableFunc(next, func(a, b set) int { return cmp.Or(cmp.Compare(b.sum, a.sum), cmp.Compare(a.out, b.out)) })
		if len(next) == 0 || n > 0 && next[0].sum < best-enough {
			break
		}
		level = next[:min(len(next), beam)]
	}
	return settled(all, len(pieces))
}

// noise is the log density of what is wrong altogether: it may be anything on the
// scale.
var noise = -math.Log(1.2)

// settled normalises a mixture, and lets go of what counts for nothing.
func settled(parts []part, pieces int) mixture {
	top := math.Inf(-1)
	for _, p := range parts {
		top = max(top, p.weight)
	}
	parts = slices.DeleteFunc(parts, func(p part) bool { return p.weight < top-enough })
	sum := 0.0
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].weight - top)
		sum += parts[i].weight
	}
	m := mixture{parts: parts, wrong: make([]float64, pieces)}
	for i := range parts {
		parts[i].weight /= sum
		for j := range m.wrong {
			if parts[i].out&(1<<j) != 0 {
				m.wrong[j] += parts[i].weight
			}
		}
	}
	return m
}

// perWater gives how many parts of the full scale the water capacity is.
func (t *Tank) perWater() float64 {
	if t.Water > 0 && t.Full > 0 {
		return float64(t.Water / t.Full)
	}
	return 1
}
