package series

import (
	"math"
	"math/bits"
	"slices"
)

// trial tries ways to foretell a column.
type trial struct {
	first  int64
	factor int64   // that all differences have in common
	of     []int64 // the numbers after the first, less it, by the factor
	fits   bool    // they are small enough to be tracked
	best   how
	bits   float64 // that the best takes
}

// widest is the largest number that is tracked: its 2⁻¹⁶ parts, and a slope of
// twice as much, have room.
const widest = 1 << 42

func newTrial(column []int64) *trial {
	t := &trial{first: column[0], of: make([]int64, len(column)-1)}
	var common uint64
	for i, v := range column[1:] {
		d := v - t.first
		t.of[i] = d
		common = divisor(common, uint64(max(d, -d)))
	}
	t.factor = int64(max(common, 1))
	t.fits = t.factor > 0
	for i := range t.of {
		t.of[i] /= t.factor
		if t.of[i] > widest || t.of[i] < -widest {
			t.fits = false
		}
	}
	return t
}

// divisor gives the greatest common divisor; that of 0 and a number is the number.
func divisor(a, b uint64) uint64 {
	for a != 0 {
		a, b = b%a, a
	}
	return b
}

// bitsOf is how many bits a symbol takes that has so many slots. It is only used to
// choose, so its last digits don't matter.
var bitsOf = func() *[slots + 1]float32 {
	var of [slots + 1]float32
	for n := range of {
		of[n] = float32(tableBits - math.Log2(float64(n)))
	}
	return &of
}()

// code is one residual as it is coded.
type code struct {
	table  int    // of tables
	symbol int    // of slotsOf
	extra  uint64 // bits that follow it as they are
	n      uint   // how many of them
}

// codes follows the column with a tracker and calls do with each residual.
func (t *trial) codes(h how, do func(code)) {
	tr := newTracker(h)
	var s scale
	for i, number := range t.of {
		if i%group == 0 {
			s = tr.scale()
		}
		foretold := tr.foretell()
		c := code{table: s.table + int(foretold>>s.shift&s.mask)}
		residual := number - foretold>>fraction
		split := residual + s.offset
		c.symbol = escaped
		if high := split >> s.low; high >= -farHigh && high <= farHigh && slotsOf[c.table][high+farHigh] > 0 {
			c.symbol, c.extra, c.n = int(high+farHigh), uint64(split)&(1<<s.low-1), s.low
		} else {
			zigzag := uint64(residual)<<1 ^ uint64(residual>>63)
			c.n = uint(bits.Len64(zigzag))
			c.extra = zigzag<<6 | uint64(c.n)
			c.n += 6
		}
		do(c)
		tr.take(number, foretold, c.symbol == escaped)
		if i%group == group-1 {
			tr.ease()
		}
	}
}

// cost gives the bits that a way of foretelling takes.
func (t *trial) cost(h how) float64 {
	var sum float64
	t.codes(h, func(c code) { sum += float64(bitsOf[slotsOf[c.table][c.symbol]]) + float64(c.n) })
	return sum + 8*float64(len(appendHow(nil, h, 1)))
}

// try keeps the better of the best so far and another.
func (t *trial) try(h how) {
	if bits := t.cost(h); bits < t.bits {
		t.best, t.bits = h, bits
	}
}

// search finds a way: first how the level and the slope follow, then how the usual
// distance does, and the shape, and what it begins with.
func (t *trial) search() {
	t.bits = math.Inf(1)
	usual := usualDifference(append([]int64{0}, t.of...))
	base := how{memory: 2, turn: noSlope}
	for gain := range uint(9) {
		h := base
		h.gain = gain
		h.step = t.firstStep(h)
		t.try(h)
	}
	for _, way := range [...][2]uint{{0, 0}, {0, 3}, {0, 6}, {0, noTurn}, {1, 2}, {1, 4}, {2, 5}, {3, 7}, {4, 9}, {4, noTurn}, {5, 11}, {6, 13}, {7, noTurn}} {
		h := base
		h.gain, h.turn = way[0], way[1]
		h.slope = usual
		h.step = t.firstStep(h)
		t.try(h)
	}
	for shape := range shapes {
		for memory := range uint(8) {
			h := t.best
			h.shape, h.memory = shape, memory
			t.try(h)
		}
	}
	for by := range 4 {
		h := t.best
		h.step = max(h.step-by-1, leastStep)
		t.try(h)
		h.step = min(h.step+2*(by+1), widestStep)
		t.try(h)
	}
}

// firstStep gives the scale of the first residuals, from what they would be.
func (t *trial) firstStep(h how) int {
	var off [32]int64
	n := 0
	tr := newTracker(h)
	for i, number := range t.of[:min(len(t.of), len(off))] {
		foretold := tr.foretell()
		far := number<<fraction - foretold
		off[n] = far ^ far>>63
		n++
		tr.take(number, foretold, false)
		if i%group == group-1 {
			tr.ease()
		}
	}
	slices.Sort(off[:n])
	// The median of a normal distribution's distances is 0.85 of their mean.
	middle := off[n/2] + off[n/2]/6
	if middle <= 0 {
		return leastStep
	}
	return max(leastStep, min(widestStep, int(math.Floor(2*math.Log2(float64(middle)/oneStep)))))
}

// size gives the bytes that the best takes, a byte more at the most.
func (t *trial) size() int {
	n := varintSize(t.first) + len(appendHow(nil, t.best, t.factor))
	var sum float64
	t.codes(t.best, func(c code) { sum += float64(bitsOf[slotsOf[c.table][c.symbol]]) + float64(c.n) })
	return n + int(sum+tableBits+7)/8
}
