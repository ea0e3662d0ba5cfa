package docket

import (
	"math"
	"math/bits"
	"slices"
	"time"
)

// sameRefill is how far apart dockets may be that belong to one refill, where nothing
// says when it was.
const sameRefill = time.Hour

// same says whether two receipts are of one refill.
func same(a, b Seen) bool {
	if a.Docket.Kind != Receipt || b.Docket.Kind != Receipt || a.Docket.Struck || b.Docket.Struck {
		return false
	}
	if !a.Start.IsZero() || !b.Start.IsZero() {
		return a.Start.Equal(b.Start)
	}
	return a.Before >= 0 && a.After >= 0 && a.Before == b.Before && a.After == b.After && b.Docket.Time.Sub(a.Docket.Time).Abs() <= sameRefill
}

// mostTogether is how many receipts of one refill are tried in all ways of taking some of
// them together; of more, the earliest are.
const mostTogether = 8

// sameAs gives a receipt and those after it that are of the same refill and whose amount
// can be used.
func (t *Tank) sameAs(list []Seen, i int) []int {
	group := []int{i}
	for k := i + 1; k < len(list) && len(group) < mostTogether; k++ {
		if _, _, ok := t.liquid(list[k].Docket); ok && same(list[i], list[k]) {
			group = append(group, k)
		}
	}
	return group
}

// makesUp gives those receipts of one refill that count: the ones that come nearest to the
// rise together, m³, the fewest where several do as well. One that was typed wrong and
// again is left out by that, whichever came first. Where the rise isn't known, all do.
func (t *Tank) makesUp(list []Seen, group []int, rise float64) []int {
	if math.IsNaN(rise) {
		return group
	}
	best, apart := uint(0), math.Inf(1)
	for set := uint(1); set < 1<<len(group); set++ {
		sum := 0.0
		for b, k := range group {
			if set&(1<<b) != 0 {
				m3, _, _ := t.liquid(list[k].Docket)
				sum += m3
			}
		}
		const alike = 1e-9 // m³: what the adding makes of equal sums
		switch a := math.Abs(sum - rise); {
		case a < apart-alike, a < apart+alike && bits.OnesCount(set) < bits.OnesCount(best):
			best, apart = set, a
		}
	}
	var counted []int
	for b, k := range group {
		if best&(1<<b) != 0 {
			counted = append(counted, k)
		}
	}
	return counted
}

const (
	countedTogether = "It is of the same refill as another docket; the two are counted together."
	anotherAlone    = "There is another docket for the same refill that alone makes up the rise: this one doesn't count. Strike out the one that is wrong."
	othersMakeUp    = "There are other dockets for the same refill that make up the rise together: this one doesn't count. Strike out what is wrong."
)

// aside says of those receipts of a group that don't count why.
func aside(verdicts []Verdict, group, counted []int) {
	for _, k := range group {
		switch {
		case slices.Contains(counted, k):
		case len(counted) == 1:
			verdicts[k].Sentence = anotherAlone
		default:
			verdicts[k].Sentence = othersMakeUp
		}
	}
}
