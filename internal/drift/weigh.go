package drift

import (
	"math"
	"sort"

	"gaugewright/internal/curve"
)

// Told is how many times more probable the first cause has to be than the next
// to be told apart from it: 3, below which odds are "not worth more than a bare
// mention" (R. E. Kass, A. E. Raftery, Journal of the American Statistical
// Association 90 (1995) 773–795; from memory).
const Told = 3

// weighed sorts causes by their weight and turns it into probabilities.
func weighed(list []fitted) []fitted {
	top := math.Inf(-1)
	for _, f := range list {
		top = max(top, f.log)
	}
	sum := 0.0
	for _, f := range list {
		sum += math.Exp(f.log - top)
	}
	for i := range list {
		list[i].log = math.Exp(list[i].log-top) / sum
	}
	sort.SliceStable(list, func(i, k int) bool { return list[i].log > list[k].log })
	return list
}

// tell looks for the mark at which one more reading would best tell two causes
// apart: where what they give differs most, measured by the doubt of a reading
// there. Marks are tried in hundredths of the record's travel. Nil where no
// mark tells.
func (b *bench) tell(first, second fitted) *Tell {
	if first.turn == nil || second.turn == nil {
		return nil
	}
	var best *Tell
	most := 0.0
	for k := range 101 {
		mark := b.first() + float64(k)/100*(b.last()-b.first())
		x, ok1 := first.turn(mark, first.parameter)
		y, ok2 := second.turn(mark, second.parameter)
		if !ok1 || !ok2 {
			continue
		}
		u := b.uAt(mark)
		if d := math.Abs(x-y) / u; d > most+1e-9 {
			most = d
			best = &Tell{Mark: value(b.unit.ToShown(mark)), First: value(x), Second: value(y), U: value(u)}
		}
	}
	if most < 2 {
		return nil // not even there
	}
	return best
}

// uAt gives the standard uncertainty of a change at any mark: that of the place
// nearest to it.
func (b *bench) uAt(mark float64) float64 {
	best, far := 0, math.Inf(1)
	for i, p := range b.places {
		if d := math.Abs(p.mark - mark); d < far {
			best, far = i, d
		}
	}
	u := math.Sqrt(b.v.At(best, best))
	if a := b.record.Ohm(mark, curve.Refuse); a.Known {
		u = max(u, float64(a.UOhm))
	}
	return u
}
