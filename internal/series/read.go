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
	place, ok := decode(into[1:], b, h)
	if place > uint(len(b))*8 || !ok {
		return b, false
	}
	into[0] = first
	for i, u := range into[1:] {
		into[i+1] = first + u*factor
	}
	return b[(place+7)/8:], true
}

// decode decodes the numbers of a tracker that begins at 0, and gives the place in
// b, in bits, after them.
func decode(into []int64, b []byte, h how) (place uint, ok bool) {
	t := newTracker(h)
	state := uint(bitsAt(b, 0)) & (slots - 1)
	place = tableBits
	last := uint(0)
	for len(into) > 0 {
		now := into[:min(len(into), group)]
		into = into[len(now):]
		s := t.scale()
		for i := range now {
			foretold := t.level + t.slope
			e := tables[s.table+int(foretold>>s.shift&s.mask)][state&(slots-1)]
			have := bitsAt(b, place)
			residual := e.symbol()
			leapt := residual == escape
			if leapt {
				n := uint(have & 63)
				place += 6
				zigzag := bitsAt(b, place)
				place += n
				if n > 56 {
					return place, false
				}
				zigzag &= 1<<n - 1
				residual = int64(zigzag>>1) ^ -int64(zigzag&1)
				have = bitsAt(b, place)
			} else if s.low > 0 {
				residual = residual<<s.low + int64(have&(1<<s.low-1)) - s.offset
				place += s.low
				have = bitsAt(b, place)
			}
			last = e.bits()
			state = e.next() + uint(have)&(1<<last-1)
			place += last
			number := foretold>>fraction + residual
			now[i] = number
			t.take(number, foretold, leapt)
		}
		t.ease()
	}
	// After the last number there is no further state.
	return place - last, true
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
