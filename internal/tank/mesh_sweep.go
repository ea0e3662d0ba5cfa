package tank

import "math"

const meshNumber = 23 // bits for the number of a corner

// sort orders the corners by height. Height and number share a word, 41 bits
// and 23: of [MaxTriangles] in a closed mesh there are no more than 7,500,000
// corners. The heights are sorted by their digits, the lowest first.
func (s *meshScratch) sort() {
	const (
		digit  = 11
		passes = 4
		mask   = 1<<digit - 1
	)
	n := len(s.points)
	s.order, s.spare = meshGrow(s.order, n), meshGrow(s.spare, n)
	var count [passes][mask + 1]int32
	for i := range s.points {
		k := uint64(s.points[i].k)
		s.order[i] = k<<meshNumber | uint64(i)
		for d := range passes {
			count[d][k>>(d*digit)&mask]++
		}
	}
	from, to := s.order, s.spare
	for d := range passes {
		shift := meshNumber + d*digit
		if n > 0 && count[d][from[0]>>shift&mask] == int32(n) {
			continue // all have the same digit
		}
		sum := int32(0)
		for i, c := range count[d] {
			count[d][i], sum = sum, sum+c
		}
		for _, w := range from {
			b := w >> shift & mask
			to[count[d][b]] = w
			count[d][b]++
		}
		from, to = to, from
	}
	s.order, s.spare = from, to
}

// meshSum is a sum of float64 with the rest that rounding left (Knuth's
// two-sum), so that a million steps lose no more than one.
type meshSum struct{ sum, rest float64 }

func (s *meshSum) add(v float64) {
	t := s.sum + v
	b := t - s.sum
	s.rest += (s.sum - (t - b)) + (v - b)
	s.sum = t
}

func (s *meshSum) value() float64 { return s.sum + s.rest }

// sweep carries the volume and its derivatives upward from corner to corner
// and keeps them at each. The unit is of the volume; the capacity is known from
// elsewhere. It says whether all came out above the highest corner as it must:
// the volume at the capacity, and its derivatives at nothing.
func (c *meshCut) sweep(s *meshScratch, unit, capacity float64) bool {
	const mask = 1<<meshNumber - 1
	rareless := len(s.rare) == 0
	c.knots = make([]meshKnot, 0, len(s.order))
	var (
		third, second     meshWide
		slope, volume     meshSum
		at                int64
		before            float64
		s2, s3            float64 // second and third as float64
		index, last, next = 0, len(s.order), int64(0)
	)
	for index < last {
		next = s.points[s.order[index]&mask].k
		if h := next - at; h > 0 {
			t := float64(h) * meshStep
			volume.add(t * (slope.value() + t*(s2/2+t*(s3/6))))
			slope.add(t * (s2 + t*(s3/2)))
			second.add(third.times(h))
			at = next
		}
		for ; index < last; index++ {
			i := s.order[index] & mask
			if s.points[i].k != at {
				break
			}
			third.add(s.jumps[i])
			if !rareless {
				r := &s.rare[i]
				second.add(r.s)
				slope.add(r.f)
				volume.add(r.v)
			}
		}
		s2, s3 = second.float()*meshCurveUnit, third.float()/meshJumpUnit
		before = max(before, volume.value()*unit)
		c.knots = append(c.knots, meshKnot{
			at: float64(at) * meshStep,
			v:  min(before, capacity),
			f:  slope.value() * unit,
			s:  s2 / 2 * unit,
			j:  s3 / 6 * unit,
		})
	}
	// The bounds are a hundred times what rounding can come to; a mesh that
	// isn't closed is far beyond them.
	const slack = 1e-10
	return third == meshWide{} && math.Abs(s2) <= slack && math.Abs(slope.value()) <= slack &&
		math.Abs(volume.value()-capacity/unit) <= slack
}

// index divides the extent into equal steps, about one for each knot, so that
// few knots are left to look through. A power of two makes the product of a
// height and the number of steps exact.
func (c *meshCut) index() {
	n := 1
	for n < len(c.knots) {
		n *= 2
	}
	c.steps = float64(n)
	// Knots are counted at the first step that begins at them or above; the
	// sum of the counts is one more than the number of the last knot.
	c.first = make([]int32, n+1)
	for i := range c.knots {
		at := c.knots[i].at * c.steps
		step := int(at)
		if float64(step) < at {
			step++
		}
		c.first[step]++
	}
	sum := int32(-1)
	for i, count := range c.first {
		sum += count
		c.first[i] = sum
	}
}

// Span gives d at the lowest and the highest corner.
func (c *meshCut) Span() (low, high float64) { return c.low, c.high }

// Below looks up the interval of the plane and works out its cubic.
func (c *meshCut) Below(d float64) (volume, surface float64) {
	u := (d - c.low) * c.perMetre
	if !(u > 0) {
		return 0, 0
	}
	if u >= 1 || d >= c.high {
		return c.solid.capacity, 0
	}
	if c.slow {
		volume, surface, _ = c.clip(d)
		return min(max(0, volume), c.solid.capacity), max(0, surface)
	}
	step := int(u * c.steps)
	i, j := int(c.first[step]), int(c.first[step+1])
	for i < j {
		if m := int(uint(i+j+1) / 2); c.knots[m].at <= u {
			i = m
		} else {
			j = m - 1
		}
	}
	k := &c.knots[i]
	t := u - k.at
	volume = k.v + t*(k.f+t*(k.s+t*k.j))
	surface = (k.f + t*(2*k.s+t*(3*k.j))) * c.perMetre
	return min(max(k.v, volume), c.knots[i+1].v), max(0, surface)
}
