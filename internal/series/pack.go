package series

import (
	"encoding/binary"
	"errors"
)

// ErrDamaged is what unpacking gives for bytes that Pack didn't write.
var ErrDamaged = errors.New("the packed column ends too soon, or doesn't make sense")

// Most is how many numbers a column may have.
const Most = 1 << 16

// Pack appends a column to dst and gives it. Any numbers come back as they were;
// those that change slowly, regularly, or by noise alone take few bytes. It panics
// where there are more than Most.
func Pack(dst []byte, column []int64) []byte {
	if len(column) > Most {
		panic("series: too long a column")
	}
	dst = binary.AppendUvarint(dst, uint64(len(column)))
	var before int64
	for _, v := range column {
		dst = binary.AppendVarint(dst, v-before)
		before = v
	}
	return dst
}

// Unpack appends to dst the column at the beginning of b, and gives what follows
// it in b.
func Unpack(dst []int64, b []byte) (column []int64, rest []byte, err error) {
	n, used := binary.Uvarint(b)
	if used <= 0 || n > Most {
		return dst, b, ErrDamaged
	}
	b = b[used:]
	var v int64
	for range n {
		d, used := binary.Varint(b)
		if used <= 0 {
			return dst, b, ErrDamaged
		}
		v, b = v+d, b[used:]
		dst = append(dst, v)
	}
	return dst, b, nil
}
