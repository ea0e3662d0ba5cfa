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

// decoder decodes what a tracker foretold. It does what tracker.take does, with all
// of it in registers for a group.
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
		if s := d.scale(); s.mask != 0 {
			d.fine(now, s)
		} else {
			d.broad(now, s)
		}
		d.ease()
	}
	// After the last number there is no further state.
	return d.place - d.last
}

// turns gives 0 where the slope never turns, else −1: a mask.
func (d *decoder) turns() int64 {
	if d.how.turn < noTurn {
		return -1
	}
	return 0
}

// fine decodes a group whose table goes by where between two steps the foretold
// value lies. Such groups have no lower bits.
func (d *decoder) fine(now []int64, s scale) {
	level, slope, distance := d.level, d.slope, d.distance
	turn, turns, memory, gain := d.how.turn&63, d.turns(), d.how.memory&63, d.gain&63
	state, place, last := d.state, d.place, uint(0)
	b := d.b
	shift, mask := s.shift&63, int(s.mask)
	for i := range now {
		foretold := level + slope
		e := tables[s.table+int(foretold>>shift)&mask][state&(slots-1)]
		have := uint64(0)
		if at := place >> 3; at+8 <= uint(len(b)) {
			have = binary.LittleEndian.Uint64(b[at:]) >> (place & 7)
		} else {
			have = lastBits(b, place)
		}
		residual := int64(int32(e) >> 24)
		if residual == escape {
			residual, place = leap(b, place)
			have = bitsAt(b, place)
			last = uint(e>>16) & 15
			state = uint(e&(slots-1)) + uint(have&(1<<last-1))
			place += last
			now[i] = foretold>>fraction + residual
			off := residual<<fraction - foretold&(oneStep-1)
			level = now[i] << fraction
			gain = min(1, d.how.gain)
			distance += (min(off^off>>63, farthest*distance+oneStep/4) - distance) >> memory
			d.gain = gain
			continue
		}
		last = uint(e>>16) & 15
		state = uint(e&(slots-1)) + uint(have&(1<<last-1))
		place += last
		now[i] = foretold>>fraction + residual
		off := residual<<fraction - foretold&(oneStep-1)
		level = foretold + off>>gain
		slope += off >> turn & turns
		distance += (min(off^off>>63, farthest*distance+oneStep/4) - distance) >> memory
	}
	d.level, d.slope, d.distance = level, slope, distance
	d.state, d.place, d.last = state, place, last
}

// broad decodes a group of one table.
func (d *decoder) broad(now []int64, s scale) {
	level, slope, distance := d.level, d.slope, d.distance
	turn, turns, memory, gain := d.how.turn&63, d.turns(), d.how.memory&63, d.gain&63
	state, place, last := d.state, d.place, uint(0)
	b := d.b
	table, low, offset := &tables[s.table], s.low&63, s.offset
	lowest := uint64(1)<<low - 1
	for i := range now {
		foretold := level + slope
		e := table[state&(slots-1)]
		have := uint64(0)
		if at := place >> 3; at+8 <= uint(len(b)) {
			have = binary.LittleEndian.Uint64(b[at:]) >> (place & 7)
		} else {
			have = lastBits(b, place)
		}
		residual := int64(int32(e) >> 24)
		if residual == escape {
			residual, place = leap(b, place)
			have = bitsAt(b, place)
			last = uint(e>>16) & 15
			state = uint(e&(slots-1)) + uint(have&(1<<last-1))
			place += last
			now[i] = foretold>>fraction + residual
			off := residual<<fraction - foretold&(oneStep-1)
			level = now[i] << fraction
			gain = min(1, d.how.gain)
			distance += (min(off^off>>63, farthest*distance+oneStep/4) - distance) >> memory
			d.gain = gain
			continue
		}
		residual = residual<<low + int64(have&lowest) - offset
		have >>= low
		place += low
		last = uint(e>>16) & 15
		state = uint(e&(slots-1)) + uint(have&(1<<last-1))
		place += last
		now[i] = foretold>>fraction + residual
		off := residual<<fraction - foretold&(oneStep-1)
		level = foretold + off>>gain
		slope += off >> turn & turns
		distance += (min(off^off>>63, farthest*distance+oneStep/4) - distance) >> memory
	}
	d.level, d.slope, d.distance = level, slope, distance
	d.state, d.place, d.last = state, place, last
}

// leap reads the residual of an escape: how many bits it has in 6 bits, then
// these, the sign in the lowest.
func leap(b []byte, place uint) (residual int64, after uint) {
	have := bitsAt(b, place)
	n := uint(have & 63)
	zigzag := bitsAt(b, place+6) & (1<<n - 1)
	return int64(zigzag>>1) ^ -int64(zigzag&1), place + 6 + n
}

// readHow reads how a column was packed, and the factor that all its differences
// have in common. used is 0 where that makes no sense.
func readHow(b []byte) (h how, factor int64, used int) {
	if len(b) < 3 {
		return h, 0, 0
	}
	h = how{
		gain: uint(b[0] & 15), turn: uint(b[0] >> 4),
		shape: int(b[1] & 1), memory: uint(b[1]>>1&7) + 1,
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
	flags := byte(h.shape) | byte(h.memory-1)<<1
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
