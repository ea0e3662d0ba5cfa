package series

import "encoding/binary"

// bitWriter appends bits to bytes, the lowest first.
type bitWriter struct {
	b    []byte
	have uint64
	n    uint
}

// write appends the lowest n bits of v, at most 56.
func (w *bitWriter) write(v uint64, n uint) {
	w.have |= v & (1<<n - 1) << w.n
	w.n += n
	for w.n >= 8 {
		w.b = append(w.b, byte(w.have))
		w.have >>= 8
		w.n -= 8
	}
}

// close appends what is left, filled up with zeros to a byte.
func (w *bitWriter) close() []byte {
	if w.n > 0 {
		w.b = append(w.b, byte(w.have))
	}
	return w.b
}

// bitsAt gives at least 56 bits from a place on, the first the lowest. Beyond the
// end all are 0.
func bitsAt(b []byte, place uint) uint64 {
	at := place >> 3
	if at+8 <= uint(len(b)) {
		return binary.LittleEndian.Uint64(b[at:]) >> (place & 7)
	}
	return lastBits(b, place)
}

// lastBits is bitsAt near the end and beyond it.
//
//go:noinline
func lastBits(b []byte, place uint) uint64 {
	var last [8]byte
	if at := place >> 3; at < uint(len(b)) {
		copy(last[:], b[at:])
	}
	return binary.LittleEndian.Uint64(last[:]) >> (place & 7)
}
