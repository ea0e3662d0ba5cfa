package docket

import (
	"math"
	"slices"
	"time"
)

// Point is a level at a time, as the sender has it without anything learned.
type Point struct {
	Time  time.Time
	Level float64 // 0..1
	Shown bool    // it can be believed; Level means nothing otherwise
}

// How a docket is looked for among levels.
const (
	// Around is how far around the time of a docket levels are looked at.
	Around = 8 * time.Hour
	// settles is over how long a level is taken, and how long after a refill until what
	// was seen of it is final.
	settles = 20 * time.Minute
	// levelOver is over how long the level right before and after a refill is taken: the
	// tank may be in use.
	levelOver = 10 * time.Minute
	// leastRise is by how much a level has to rise for a refill, parts of the scale.
	leastRise = 0.03
	// pourGap is how long a pause in a refill may be.
	pourGap = 25 * time.Minute
	// farOff is how far a refill may be from the time on the docket.
	farOff = 4 * time.Hour
	// friction is what a level is in doubt by however still it stands.
	friction = 0.004
)

// Match finds what levels say of a docket: the refill that belongs to it, or the level
// at its time. Levels are by rising time, from [Around] before the docket on as far as
// there are any; now is when it is looked, and tells whether looking again may find
// more.
func Match(d Docket, levels []Point, now time.Time) Seen {
	s := Seen{Docket: d, Before: -1, After: -1, Looked: now, Done: now.Sub(d.Time) > Around}
	near := slices.DeleteFunc(slices.Clone(levels), func(p Point) bool { return p.Time.Sub(d.Time).Abs() > Around })
	shown := slices.DeleteFunc(slices.Clone(near), func(p Point) bool { return !p.Shown })
	s.Broken = len(near) > 0 && len(shown) < len(near)/2 || len(near) > 0 && !believed(near, d.Time)
	if len(shown) == 0 {
		return s
	}
	if d.Kind != Receipt {
		s.at(shown, d)
		return s
	}
	from, to, ok := climb(shown, d.Time)
	if !ok {
		// The levels around it: they tell that nothing came in.
		s.Before, s.UBefore = middle(shown, d.Time.Add(-settles-pourGap), d.Time.Add(-pourGap))
		s.After, s.UAfter = middle(shown, d.Time.Add(pourGap), d.Time.Add(pourGap+settles))
		if s.Broken {
			s.Before, s.After = -1, -1
		}
		return s
	}
	s.Refill, s.Start, s.End, s.Broken = true, shown[from].Time, shown[to].Time, false
	s.Before, s.UBefore = middle(beside(shown[:from+1], -1), s.Start.Add(-levelOver), s.Start)
	s.After, s.UAfter = middle(beside(shown[to:], 1), s.End, s.End.Add(levelOver))
	s.Done = s.Done || now.Sub(s.End) > settles+pourGap
	return s
}

// at takes the level at a known moment.
func (s *Seen) at(shown []Point, d Docket) {
	before, after := settles, settles
	if d.Kind == RanOut {
		after = time.Minute // it may be filled at once
	}
	s.After, s.UAfter = middle(shown, d.Time.Add(-before), d.Time.Add(after))
	if d.Kind == Stopped {
		if _, to, ok := climb(shown, d.Time); ok && shown[to].Time.Sub(d.Time).Abs() < time.Hour {
			s.After, s.UAfter = middle(shown, shown[to].Time, shown[to].Time.Add(settles))
		}
	}
	if s.After >= 0 {
		s.Broken = false
	}
	s.Done = s.Done || s.After >= 0 && s.Looked.Sub(d.Time) > settles+time.Hour
}

// believed says whether what is nearest to a time can be believed.
func believed(list []Point, at time.Time) bool {
	best, shown := time.Duration(math.MaxInt64), false
	for _, p := range list {
		if d := p.Time.Sub(at).Abs(); d < best {
			best, shown = d, p.Shown
		}
	}
	return shown
}

// middle gives the middle of the levels between two times, with the standard
// uncertainty of it; -1 where there is none. Where there is none between, the nearest
// within the time again to either side is taken.
func middle(list []Point, from, to time.Time) (level, u float64) {
	var v []float64
	for _, p := range list {
		if !p.Time.Before(from) && !p.Time.After(to) {
			v = append(v, p.Level)
		}
	}
	if len(v) == 0 {
		reach := to.Sub(from)
		best := reach + 1
		for _, p := range list {
			if d := max(from.Sub(p.Time), p.Time.Sub(to)); d < best {
				best, v = d, []float64{p.Level}
			}
		}
		if len(v) == 0 {
			return -1, 0
		}
	}
	slices.Sort(v)
	level = v[len(v)/2]
	// Half of the middle two thirds is a standard deviation; neighbours go together, so
	// the doubt of the middle isn't much less than that of one.
	spread := (v[len(v)*5/6] - v[len(v)/6]) / 2
	return level, math.Hypot(friction, spread/math.Sqrt(min(4, float64(len(v)))))
}

// beside gives of the levels before a refill (way below 0), or after it, those of the
// stretch right beside it, by rising time: as far as they stay where they are there. A
// tank that was drawn from fast a few minutes before a refill is as low as it stood last.
func beside(list []Point, way int) []Point {
	n := len(list)
	at := func(i int) float64 {
		if way < 0 {
			i = n - 1 - i
		}
		return list[i].Level
	}
	here := at(0)
	if n >= 3 {
		if m := middleOf(at(0), at(1), at(2)); math.Abs(m-here) < leastRise {
			here = m
		}
	}
	stays := n
	for i := range n {
		// Slosh comes and goes; three in a row that are off are another level.
		m := middleOf(at(i), at(min(i+1, n-1)), at(min(i+2, n-1)))
		if i > 0 && math.Abs(m-here) > leastRise && math.Abs(at(i)-here) > leastRise {
			stays = i
			break
		}
	}
	if way < 0 {
		return list[n-stays:]
	}
	return list[:stays]
}

// middleOf gives the middle one of three.
func middleOf(a, b, c float64) float64 { return max(min(a, b), min(max(a, b), c)) }

// climb finds the rise that is nearest to a time: from the last point before it to the
// first after it.
func climb(list []Point, at time.Time) (from, to int, ok bool) {
	best := farOff + 1
	for _, c := range climbs(list) {
		if d := max(list[c[0]].Time.Sub(at), at.Sub(list[c[1]].Time)); d < best {
			from, to, best, ok = c[0], c[1], d, true
		}
	}
	return from, to, ok
}

// climbs finds all rises of levels that can be believed.
func climbs(list []Point) (found [][2]int) {
	for i := 0; i < len(list)-1; {
		if list[i+1].Level-list[i].Level <= 0 {
			i++
			continue
		}
		// It goes on for as long as it rises to something new without a long pause; a
		// fall by more than slosh ends it.
		top, last := i, list[i].Time
		for k := i + 1; k < len(list); k++ {
			if list[k].Level > list[top].Level+0.002 {
				// A gap without levels is no pause: a refill may lie in it.
				if k > top+1 && list[k].Time.Sub(last) > pourGap {
					break
				}
				top, last = k, list[k].Time
			}
			if list[k].Level < list[top].Level-leastRise || list[k].Time.Sub(last) > pourGap {
				break
			}
		}
		if top > i && list[top].Level-list[i].Level >= leastRise && holds(list, i, top) {
			low, high := tight(list, i, top)
			found = append(found, [2]int{low, high})
		}
		i = max(i+1, top)
	}
	return found
}

// Refills finds the refills among levels, by rising time; the amounts are in parts of the
// scale alone.
func Refills(levels []Point) (found []Refill) {
	list := slices.DeleteFunc(slices.Clone(levels), func(p Point) bool { return !p.Shown })
	for _, c := range climbs(list) {
		from, to := list[c[0]], list[c[1]]
		found = append(found, Refill{Start: from.Time, End: to.Time, Litres: math.NaN(), Low: math.NaN(), High: math.NaN(), Share: to.Level - from.Level, Before: from.Level, After: to.Level})
	}
	return found
}

// holds says whether a rise is one that stays: half of it at least, over some time.
func holds(list []Point, from, to int) bool {
	half := (list[from].Level + list[to].Level) / 2
	n, above := 0, 0
	for k := to; k < len(list) && list[k].Time.Sub(list[to].Time) <= settles; k++ {
		n++
		if list[k].Level > half {
			above++
		}
	}
	return 2*above > n
}

// tight gives the last point of a rise that is as low as its first, and the first that is
// as high as its last.
func tight(list []Point, from, to int) (low, high int) {
	const same = 0.005
	low, high = from, to
	for k := from; k < to; k++ {
		if list[k].Level <= list[from].Level+same {
			low = k
		}
	}
	for k := to; k > low; k-- {
		if list[k].Level >= list[to].Level-same {
			high = k
		}
	}
	return low, high
}
