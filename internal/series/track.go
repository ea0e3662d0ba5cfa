package series

import "math/bits"

// tracker foretells a column number by number. Pack and Unpack lead it through the
// same numbers, so both know what is foretold, and how far off that usually is.
//
// Level, slope and distance are in 2⁻¹⁶ of a step. All overflow wraps around: a
// column for which it does is packed badly, not wrongly.
type tracker struct {
	how      how
	level    int64 // where the numbers are
	slope    int64 // what they rise by from one to the next
	distance int64 // how far a number usually is from where it is foretold
	far      int64 // the sum of how far the numbers of this group were
	gain     uint  // of the level, as a shift: its own or, at first and after a leap, a greater one
}

// how is how a column is foretold, as its packed form says it.
type how struct {
	gain   uint // the level goes 2^−gain of the way to each number, 0 to 15
	turn   uint // the slope takes 2^−turn of each residual, 0 to 13; 14: never; 15: there is no slope
	memory uint // the usual distance goes 2^−memory of the way to each group's, 0 to 7
	shape  int  // of the residuals' distribution
	slope  int64
	step   int // the scale of the first residuals, in half octaves
}

const (
	fraction = 16
	oneStep  = 1 << fraction
	noTurn   = 14
	noSlope  = 15
	group    = 8 // numbers with the same scale and gain
	farthest = 8 // a residual counts for at most so many times the usual distance, and a bit
)

func newTracker(h how) tracker {
	t := tracker{how: h, gain: min(1, h.gain)}
	if h.turn != noSlope {
		t.slope = h.slope << fraction
	}
	// The middle of the scale's range of distances: 2^(step/2 + 1/4).
	t.distance = 77936
	if h.step&1 != 0 {
		t.distance = 110218
	}
	if half := h.step >> 1; half < 0 {
		t.distance >>= uint(-half)
	} else {
		t.distance <<= uint(half)
	}
	return t
}

// scale is what a group of residuals is coded with.
type scale struct {
	table  int   // the first one for the places between two whole steps
	shift  uint  // of the foretold value, to bring its place down
	mask   int64 // of the place
	low    uint  // lower bits of the residual that are packed as they are
	offset int64 // so that the split lies evenly about the foretold value
}

// scale gives the scale by the usual distance, at the beginning of each group.
func (t *tracker) scale() scale {
	step := leastStep
	if t.distance > 0 {
		n := bits.Len64(uint64(t.distance)) - 1
		step = 2 * (n - fraction)
		if uint64(t.distance)<<(63-n)>>48 >= 46341 { // √2
			step++
		}
		step = max(step, leastStep)
	}
	low := 0
	if step > mostStep {
		low = (step - mostStep + 1) / 2
		step -= 2 * low
	}
	table, places := firstTable(t.how.shape, step)
	return scale{table: table, shift: fraction - places, mask: 1<<places - 1, low: uint(low), offset: 1<<low - 1}
}

// most gives the most that a number of this group counts for in the usual distance,
// so that one that is far off doesn't hide the rest.
func (t *tracker) most() int64 { return farthest*t.distance + oneStep/4 }

// ease ends a group: the usual distance goes towards the group's, and the gain down
// towards its own.
func (t *tracker) ease() {
	t.distance += (t.far/group - t.distance) >> t.how.memory
	t.far = 0
	if t.gain < t.how.gain {
		t.gain++
	}
}

// leapt sets the gain after an escape, and gives it.
func (t *tracker) leapt() uint {
	t.gain = min(1, t.how.gain)
	return t.gain
}

// foretell gives what is foretold, in 2⁻¹⁶.
func (t *tracker) foretell() int64 { return t.level + t.slope }

// take takes the number in for which a value was foretold; leapt says that its
// residual was an escape.
func (t *tracker) take(number, foretold int64, leapt bool) {
	off := number<<fraction - foretold
	t.far += min(off^off>>63, t.most())
	if leapt {
		t.level = number << fraction
		t.leapt()
		return
	}
	t.level = foretold + off>>t.gain
	if t.how.turn < noTurn {
		t.slope += off >> t.how.turn
	}
}
