package tank

import "math/bits"

// meshWide is a 128-bit integer in two's complement. As the third derivative
// of the volume it counts 2^-56, as the second 2^-88.
type meshWide struct{ hi, lo uint64 }

func (w *meshWide) add(v meshWide) {
	var carry uint64
	w.lo, carry = bits.Add64(w.lo, v.lo, 0)
	w.hi, _ = bits.Add64(w.hi, v.hi, carry)
}

func (w *meshWide) sub(v meshWide) {
	var borrow uint64
	w.lo, borrow = bits.Sub64(w.lo, v.lo, 0)
	w.hi, _ = bits.Sub64(w.hi, v.hi, borrow)
}

func (w meshWide) plus(v meshWide) meshWide { w.add(v); return w }

// times gives the product with a number of steps, 0 to 2^40, from units of
// 2^-56 into units of 2^-88: the product counts 2^-96, and its last 8 bits are
// cut off.
func (w meshWide) times(steps int64) meshWide {
	h := uint64(steps)
	mid, low := bits.Mul64(w.lo, h)
	top, more := bits.Mul64(w.hi, h)
	// A negative number is 2^128 less than its bits say.
	top -= h & uint64(int64(w.hi)>>63)
	mid, carry := bits.Add64(mid, more, 0)
	top += carry
	return meshWide{hi: mid>>8 | top<<56, lo: low>>8 | mid<<56}
}

// float gives the integer as a float64, off by no more than its last digit or
// two in the last place of the integer.
func (w meshWide) float() float64 {
	sign := uint64(int64(w.hi) >> 63)
	hi, lo := w.hi^sign, w.lo^sign // the size, less one of the last place
	v := float64(int64(hi))*0x1p64 + float64(int64(lo>>1))*2
	if sign != 0 {
		return -v
	}
	return v
}

// meshWideOf gives the integer part of a number smaller than 2^125. The largest
// jump is 2^124.
func meshWideOf(v float64) meshWide {
	if v < 0x1p62 && v > -0x1p62 {
		i := int64(v)
		return meshWide{hi: uint64(i >> 63), lo: uint64(i)}
	}
	top := int64(v * 0x1p-62)
	rest := int64(v - float64(top)*0x1p62) // exact: the product has the digits of top
	w := meshWide{hi: uint64(top >> 2), lo: uint64(top) << 62}
	w.add(meshWide{hi: uint64(rest >> 63), lo: uint64(rest)})
	return w
}
