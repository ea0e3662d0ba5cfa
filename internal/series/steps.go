package series

import (
	"encoding/binary"
	"slices"
)

// bestConstant gives the most usual difference between a number and the one before,
// or 0 where that makes the form of steps no longer, and the bytes that it takes.
func bestConstant(column []int64) (constant int64, size int) {
	usual := usualDifference(column)
	constant, size = 0, stepsSize(column, 0)
	if n := stepsSize(column, usual); n < size {
		return usual, n
	}
	return constant, size
}

// usualDifference gives the median of some 255 of the differences, which is the
// usual one wherever more than half are the same. The column has two numbers or
// more.
func usualDifference(column []int64) int64 {
	var some [256]int64
	n, apart := 0, (len(column)-1)/len(some)+1
	for i := 1; i < len(column); i += apart {
		some[n] = column[i] - column[i-1]
		n++
	}
	slices.Sort(some[:n])
	return some[n/2]
}

// exceptions calls do for each difference that isn't the constant, with how many
// lie between it and the one before, and how far off it is.
func exceptions(column []int64, constant int64, do func(gap int, off int64)) {
	gap := 0
	for i := 1; i < len(column); i++ {
		if off := column[i] - column[i-1] - constant; off != 0 {
			do(gap, off)
			gap = 0
		} else {
			gap++
		}
	}
}

func stepsSize(column []int64, constant int64) int {
	n, count := varintSize(column[0])+varintSize(constant), 0
	exceptions(column, constant, func(gap int, off int64) {
		n += uvarintSize(uint64(gap)) + varintSize(off)
		count++
	})
	return n + uvarintSize(uint64(count))
}

// appendSteps appends the first number, the constant, how many exceptions there
// are, and each of them.
func appendSteps(dst []byte, column []int64, constant int64) []byte {
	count := 0
	exceptions(column, constant, func(int, int64) { count++ })
	dst = binary.AppendVarint(dst, column[0])
	dst = binary.AppendVarint(dst, constant)
	dst = binary.AppendUvarint(dst, uint64(count))
	exceptions(column, constant, func(gap int, off int64) {
		dst = binary.AppendUvarint(dst, uint64(gap))
		dst = binary.AppendVarint(dst, off)
	})
	return dst
}

func readSteps(into []int64, b []byte) (rest []byte, ok bool) {
	first, used := binary.Varint(b)
	if used <= 0 || len(into) == 0 {
		return b, false
	}
	b = b[used:]
	constant, used := binary.Varint(b)
	if used <= 0 {
		return b, false
	}
	b = b[used:]
	count, used := binary.Uvarint(b)
	if used <= 0 || count >= uint64(len(into)) {
		return b, false
	}
	b = b[used:]
	v := first
	into[0] = v
	into = into[1:]
	for range count {
		gap, used := binary.Uvarint(b)
		if used <= 0 || gap >= uint64(len(into)) {
			return b, false
		}
		b = b[used:]
		off, used := binary.Varint(b)
		if used <= 0 {
			return b, false
		}
		b = b[used:]
		v = ramp(into[:gap], v, constant) + constant + off
		into[gap] = v
		into = into[gap+1:]
	}
	ramp(into, v, constant)
	return b, true
}

// ramp fills a slice with what rises by a constant from v on, and gives the last.
func ramp(into []int64, v, constant int64) int64 {
	for i := range into {
		v += constant
		into[i] = v
	}
	return v
}
