package series

import "encoding/binary"

// readTrack reads a column whose residuals were packed by tANS.
func readTrack(into []int64, b []byte) (rest []byte, ok bool) {
	first, used := binary.Varint(b)
	if used <= 0 || len(into) < 2 {
		return b, false
	}
	b = b[used:]
	h, factor, used := readHow(b)
	if used <= 0 {
		return b, false
	}
	b = b[used:]
	place := decode(into[1:], b, h)
	if place > uint(len(b))*8 {
		return b, false
	}
	into[0] = first
	for i, u := range into[1:] {
		into[i+1] = first + u*factor
	}
	return b[(place+7)/8:], true
}

// decoder decodes what a tracker foretold.
type decoder struct {
	tracker
	b     []byte
	state uint
	place uint // in b, in bits
	last  uint // the bits that were read for the last state
}

// decode decodes the numbers of a tracker that begins at 0, and gives the place in
// b, in bits, after them.
func decode(into []int64, b []byte, h how) (place uint) {
	d := decoder{tracker: newTracker(h), b: b, state: uint(bitsAt(b, 0)) & (slots - 1), place: tableBits}
	for len(into) > 0 {
		now := into[:min(len(into), group)]
		into = into[len(now):]
		d.group(now)
	}
	// After the last number there is no further state.
	return d.place - d.last
}

// group decodes a group. It does what tracker.take does, with all of it in
// registers. What goes by the group alone is asked for each number all the same:
// such a branch costs next to nothing, where its work would delay the next number.
func (d *decoder) group(now []int64) {
	s := d.scale()
	level, slope, gain, far, most := d.level, d.slope, d.gain, d.far, d.most()
	turn, turning := d.how.turn, d.how.turn < noTurn
	state, place, last := d.state, d.place, uint(0)
	table := &tables[s.table]
	var have uint64
	for i := range now {
		foretold := level + slope
		if s.mask != 0 {
			table = &tables[s.table+int(foretold>>(s.shift&63)&s.mask)]
		}
		e := table[state&(slots-1)]
		// Four states take 40 bits at the most.
		if i&3 == 0 || s.low != 0 {
			have = bitsAt(d.b, place)
		}
		residual := e.symbol()
		last = e.bits()
		if residual == escape {
			residual, have, place = leap(d.b, place)
			state = e.next() + uint(have&(1<<last-1))
			have >>= last
			place += last
			now[i] = foretold>>fraction + residual
			off := residual<<fraction - foretold&(oneStep-1)
			far += min(off^off>>63, most)
			level = now[i] << fraction
			gain = d.leapt()
			continue
		}
		if s.low != 0 {
			residual = residual<<(s.low&63) + int64(have&(1<<(s.low&63)-1)) - s.offset
			have >>= s.low & 63
			place += s.low
		}
		state = e.next() + uint(have&(1<<last-1))
		have >>= last
		place += last
		now[i] = foretold>>fraction + residual
		off := residual<<fraction - foretold&(oneStep-1)
		level = foretold + off>>(gain&63)
		if turning {
			slope += off >> (turn & 63)
		}
		far += min(off^off>>63, most)
	}
	d.level, d.slope, d.far = level, slope, far
	d.state, d.place, d.last = state, place, last
	d.ease()
}

// leap reads the residual of an escape: how many bits it has in 6 bits, then
// these, the sign in the lowest. It also gives the bits that follow.
//
//go:noinline
func leap(b []byte, place uint) (residual int64, have uint64, after uint) {
	n := uint(bitsAt(b, place) & 63)
	zigzag := bitsAt(b, place+6) & (1<<n - 1)
	after = place + 6 + n
	return int64(zigzag>>1) ^ -int64(zigzag&1), bitsAt(b, after), after
}

// readHow reads how a column was packed, and the factor that all its differences
// have in common. used is 0 where that makes no sense.
func readHow(b []byte) (h how, factor int64, used int) {
	if len(b) < 3 {
		return h, 0, 0
	}
	h = how{
		gain: uint(b[0] & 15), turn: uint(b[0] >> 4),
		shape: int(b[1] & 1), memory: uint(b[1] >> 1 & 7),
		step: int(int8(b[2])),
	}
	if b[1]&0xE0 != 0 || h.step < leastStep || h.step > widestStep {
		return h, 0, 0
	}
	used, factor = 3, 1
	if b[1]&withFactor != 0 {
		u, n := binary.Uvarint(b[used:])
		if n <= 0 {
			return h, 0, 0
		}
		used, factor = used+n, int64(u)
	}
	if h.turn != noSlope {
		v, n := binary.Varint(b[used:])
		if n <= 0 {
			return h, 0, 0
		}
		used, h.slope = used+n, v
	}
	return h, factor, used
}

// appendHow appends what readHow reads.
func appendHow(dst []byte, h how, factor int64) []byte {
	flags := byte(h.shape) | byte(h.memory)<<1
	if factor != 1 {
		flags |= withFactor
	}
	dst = append(dst, byte(h.gain)|byte(h.turn)<<4, flags, byte(int8(h.step)))
	if factor != 1 {
		dst = binary.AppendUvarint(dst, uint64(factor))
	}
	if h.turn != noSlope {
		dst = binary.AppendVarint(dst, h.slope)
	}
	return dst
}

const (
	withFactor = 0x10
	widestStep = 80 // so that a column of any size that is tracked has one
)
