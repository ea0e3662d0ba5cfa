package series

import (
	"encoding/binary"
	"errors"
)

// ErrDamaged is what unpacking gives for bytes that Pack didn't write. Not all
// damage can be told: other numbers may come out instead.
var ErrDamaged = errors.New("the packed column ends too soon, or doesn't make sense")

// Most is how many numbers a column may have.
const Most = 1 << 16

// The forms of a packed column. The first varint has the form in its lowest two
// bits, and above them how many numbers there are.
const (
	sameForm  = iota // all are the same
	plainForm        // each number less the one before
	stepsForm        // each number is the one before and a constant, but for a few
	trackForm        // residuals of a tracker, by tANS
)

// Pack appends a column to dst and gives it. Any numbers come back as they were;
// those that change slowly, regularly, or by noise alone take few bytes. It panics
// where there are more than Most.
//
// How a column is packed is found by trying: packing takes a hundred times as long
// as unpacking. docs/history.md describes the bytes.
func Pack(dst []byte, column []int64) []byte {
	if len(column) > Most {
		panic("series: too long a column")
	}
	head := uint64(len(column)) << 2
	if len(column) < 2 {
		return appendPlain(binary.AppendUvarint(dst, head|plainForm), column)
	}
	plain := plainSize(column)
	if same(column) {
		return binary.AppendVarint(binary.AppendUvarint(dst, head), column[0])
	}
	constant, steps := bestConstant(column)
	if steps <= min(plain, 4+len(column)/128) {
		return appendSteps(binary.AppendUvarint(dst, head|stepsForm), column, constant)
	}
	if t := newTrial(column); t.fits {
		t.search()
		if n := t.size(); n < min(plain, steps) {
			return t.append(binary.AppendUvarint(dst, head|trackForm))
		}
	}
	if steps < plain {
		return appendSteps(binary.AppendUvarint(dst, head|stepsForm), column, constant)
	}
	return appendPlain(binary.AppendUvarint(dst, head|plainForm), column)
}

// Unpack appends to dst the column at the beginning of b, and gives what follows
// it in b. The error is ErrDamaged; dst is then given as it was. No more than Most
// numbers are appended, whatever b holds.
func Unpack(dst []int64, b []byte) (column []int64, rest []byte, err error) {
	head, used := binary.Uvarint(b)
	n := head >> 2
	if used <= 0 || n > Most {
		return dst, b, ErrDamaged
	}
	at := len(dst)
	column = grow(dst, int(n))
	var ok bool
	switch head & 3 {
	case sameForm:
		rest, ok = readSame(column[at:], b[used:])
	case plainForm:
		rest, ok = readPlain(column[at:], b[used:])
	case stepsForm:
		rest, ok = readSteps(column[at:], b[used:])
	case trackForm:
		rest, ok = readTrack(column[at:], b[used:])
	}
	if !ok {
		return dst, b, ErrDamaged
	}
	return column, rest, nil
}

// grow gives a slice that is longer by n numbers, which are to be written.
func grow(s []int64, n int) []int64 {
	if cap(s)-len(s) >= n {
		return s[:len(s)+n]
	}
	return append(s, make([]int64, n)...)
}

// same says whether all numbers are the same.
func same(column []int64) bool {
	for _, v := range column {
		if v != column[0] {
			return false
		}
	}
	return true
}

// readSame reads the one number. There is no such column of none, so that a 0 isn't
// taken for one.
func readSame(into []int64, b []byte) (rest []byte, ok bool) {
	v, used := binary.Varint(b)
	if used <= 0 || len(into) == 0 {
		return b, false
	}
	ramp(into, v, 0)
	return b[used:], true
}

// appendPlain appends each number less the one before; the first less 0.
func appendPlain(dst []byte, column []int64) []byte {
	var before int64
	for _, v := range column {
		dst = binary.AppendVarint(dst, v-before)
		before = v
	}
	return dst
}

func plainSize(column []int64) (n int) {
	var before int64
	for _, v := range column {
		n += varintSize(v - before)
		before = v
	}
	return n
}

func readPlain(into []int64, b []byte) (rest []byte, ok bool) {
	var v int64
	for i := range into {
		d, used := binary.Varint(b)
		if used <= 0 {
			return b, false
		}
		v += d
		into[i], b = v, b[used:]
	}
	return b, true
}

// varintSize gives the bytes of a signed varint.
func varintSize(v int64) int {
	return uvarintSize(uint64(v)<<1 ^ uint64(v>>63))
}

func uvarintSize(u uint64) (n int) {
	for n = 1; u >= 0x80; n++ {
		u >>= 7
	}
	return n
}
