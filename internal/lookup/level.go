package lookup

import (
	"math"
	"sort"
)

// Fault says what a count means besides a level.
func (t *Table) Fault(count int) Fault {
	if count < 0 || count > t.Full {
		return NoCount
	}
	i := sort.Search(len(t.Zones), func(i int) bool { return t.Zones[i].To >= count })
	return t.Zones[i].Fault
}

// Level gives the level at a count in steps of the quantity, or NoLevel where
// Fault isn't Fine. It reckons with whole numbers as the written forms do.
func (t *Table) Level(count int) int {
	if t.Fault(count) != Fine {
		return NoLevel
	}
	return t.figure(count)
}

// figure is the level without a look at the faults.
func (t *Table) figure(count int) int {
	if len(t.Points) == 0 {
		i := count>>t.Shift - t.Base
		return t.Entries[min(len(t.Entries)-1, max(0, i))]
	}
	last := len(t.Points) - 1
	if count <= t.Points[0].Count {
		return t.Points[0].Level
	}
	if count >= t.Points[last].Count {
		return t.Points[last].Level
	}
	i := sort.Search(last, func(i int) bool { return t.Points[i].Count > count })
	return between(t.Points[i-1], t.Points[i], count)
}

// between gives the level on the straight line of two points, rounded to the
// nearest step and a half upwards. It starts at the lower of the two levels, so
// that nothing below 0 is divided, where languages differ.
func between(a, b Point, count int) int {
	width := b.Count - a.Count
	if b.Level >= a.Level {
		return a.Level + ((b.Level-a.Level)*(count-a.Count)+width/2)/width
	}
	return b.Level + ((a.Level-b.Level)*(b.Count-count)+width/2)/width
}

// entriesOf gives one entry for each 2^shift counts: the step nearest to the
// middle between the least and the greatest level of its counts, which makes its
// worst error least. The first and the last are those of the end itself, so that
// empty shows empty and full shows full.
func entriesOf(truth []float64, first, shift int) (base int, entries []int) {
	base = first >> shift
	for i := 0; i < len(truth); {
		block := (first + i) >> shift
		lo, hi := truth[i], truth[i]
		for ; i < len(truth) && (first+i)>>shift == block; i++ {
			lo, hi = min(lo, truth[i]), max(hi, truth[i])
		}
		entries = append(entries, nearest((lo+hi)/2))
	}
	entries[0] = nearest(truth[0])
	if n := len(entries); n > 1 {
		entries[n-1] = nearest(truth[len(truth)-1])
	}
	return base, entries
}

// nearest rounds to a whole step, a half upwards.
func nearest(v float64) int { return int(math.Floor(v + 0.5)) }
