package series

import (
	"math"
	"math/bits"
)

// A residual, which is a number less what was foretold of it, is taken to be
// distributed as Student's t, of 16 degrees of freedom (nearly normal) or of 4
// (long tails), about the foretold value and rounded to whole steps. Each scale, and
// for narrow ones each place of the foretold value between two whole steps, has a
// table of its own, the same in every program: none is packed.
//
// The tables are of tANS: asymmetric numeral systems with the state's transitions
// tabulated. Reference: J. Duda, Asymmetric numeral systems: entropy coding
// combining speed of Huffman coding with compression rate of arithmetic coding,
// arXiv:1311.2540, 2013 (from memory).
const (
	tableBits = 10
	slots     = 1 << tableBits

	shapes    = 2
	leastStep = -8 // the narrowest scale, in half octaves
	mostStep  = 5  // the widest that has a table; wider residuals are split
	narrow    = -2 // up to here eight places between two steps are told apart
	middling  = 0  // up to here four; beyond, one

	tablesOfShape = (narrow-leastStep+1)*8 + (middling-narrow)*4 + (mostStep - middling)

	escape  = -128 // the symbol of a residual that has no slot in its table
	farHigh = 63   // the highest symbol, and the lowest below 0, that may have one
	escaped = 2*farHigh + 1
	symbols = escaped + 1
)

// entry is what a state decodes to: the symbol in the top byte, how many bits are
// read in bits 16 to 19, and the state that they are added to in bits 0 to 9.
type entry uint32

func (e entry) symbol() int64 { return int64(int32(e) >> 24) }
func (e entry) bits() uint    { return uint(e>>16) & 15 }
func (e entry) next() uint    { return uint(e) & (slots - 1) }

// tables and slotsOf are made once, at the start, and only read from then on.
// slotsOf has how many slots a symbol has in a table: −63 to 63, and last the escape.
var tables, slotsOf = makeTables()

// firstTable gives the place of the first table of a shape and a step, and in how
// many bits the place between two whole steps is told.
func firstTable(shape, step int) (table int, places uint) {
	table = shape * tablesOfShape
	switch {
	case step <= narrow:
		return table + (step-leastStep)*8, 3
	case step <= middling:
		return table + (narrow-leastStep+1)*8 + (step-narrow-1)*4, 2
	}
	return table + (narrow-leastStep+1)*8 + (middling-narrow)*4 + step - middling - 1, 0
}

func makeTables() (*[shapes * tablesOfShape][slots]entry, *[shapes * tablesOfShape][symbols]uint16) {
	var out [shapes * tablesOfShape][slots]entry
	var of [shapes * tablesOfShape][symbols]uint16
	for shape := range shapes {
		for step := leastStep; step <= mostStep; step++ {
			first, places := firstTable(shape, step)
			for i := range 1 << places {
				centre := (float64(i) + 0.5) / float64(int(1)<<places)
				of[first+i] = frequencies(shape, step, centre)
				fillTable(&out[first+i], of[first+i])
			}
		}
	}
	return &out, &of
}

// scaleOf gives the scale of Student's t for a step: the mean distance from the
// foretold value is 2^(step/2) to 2^((step+1)/2), so 2^(step/2 + 1/4) in the middle, and is
// 0.8379 of the scale for 16 degrees of freedom, 1 for 4.
func scaleOf(shape, step int) float64 {
	half := step >> 1
	s := math.Ldexp(1, half)
	if step&1 != 0 {
		s = float64(s * 1.4142135623730951)
	}
	if shape == 0 {
		return float64(s * 1.42)
	}
	return float64(s * 1.19)
}

// frequencies gives how many of the slots each symbol from −63 to 63 has, and last
// the escape. They come to the number of slots.
//
// Only sums, products, quotients and roots are taken, each rounded by itself, so
// that every machine makes the same tables.
func frequencies(shape, step int, centre float64) (of [symbols]uint16) {
	freedom := 16
	if shape == 1 {
		freedom = 4
	}
	scale := scaleOf(shape, step)
	// Beyond eight scales and two steps no symbol has half a slot.
	reach := min(farHigh, int(8*scale)+2)
	below := student((float64(-reach)-0.5-centre)/scale, freedom)
	rest, total, largest := 1.0, 0, 0
	for i := farHigh - reach; i <= farHigh+reach; i++ {
		upTo := student((float64(i-farHigh)+0.5-centre)/scale, freedom)
		p := upTo - below
		below = upTo
		of[i] = uint16(math.Floor(float64(p*slots) + 0.5))
		if of[i] > 0 {
			rest -= p
		}
		total += int(of[i])
		if of[i] > of[largest] {
			largest = i
		}
	}
	out := max(1, int(math.Floor(float64(rest*slots)+0.5)))
	of[escaped] = uint16(out)
	of[largest] += uint16(slots - total - out)
	return of
}

// student gives the probability that Student's t of an even number of degrees of
// freedom is at most t: ½ + ½ sin θ (1 + ½ cos²θ + (1·3)/(2·4) cos⁴θ + …) up to
// cos^(n−2) θ, with tan θ = t/√n. Source: Abramowitz and Stegun, Handbook of
// Mathematical Functions, 1964, 26.7.4 (from memory; the test has it against
// SciPy's figures).
func student(t float64, freedom int) float64 {
	n := float64(freedom)
	square := float64(t*t) + n
	sin, cos2 := t/math.Sqrt(square), n/square
	sum := 0.0
	for i := freedom/2 - 1; i >= 0; i-- {
		sum = float64(sum*cos2) + odds[i]
	}
	return 0.5 + float64(float64(0.5*sin)*sum)
}

// odds are (1·3·5…)/(2·4·6…), all of them exact.
var odds = [8]float64{1, 1. / 2, 3. / 8, 5. / 16, 35. / 128, 63. / 256, 231. / 1024, 429. / 2048}

// fillTable spreads the symbols over the slots, 643 apart, and numbers each one's
// slots as they rise: the one numbered x, beginning at the symbol's frequency, reads
// as many bits as bring x back to the number of slots or more.
func fillTable(table *[slots]entry, of [symbols]uint16) {
	const apart = slots*5/8 + 3
	var at [slots]uint8
	slot := 0
	for i, n := range of {
		for range n {
			at[slot] = uint8(i)
			slot = (slot + apart) & (slots - 1)
		}
	}
	for slot := range table {
		i := at[slot]
		x := int(of[i])
		of[i]++
		n := tableBits + 1 - bits.Len(uint(x))
		symbol := int(i) - farHigh
		if i == escaped {
			symbol = escape
		}
		table[slot] = entry(uint32(uint8(int8(symbol)))<<24 | uint32(n)<<16 | uint32(x<<n-slots))
	}
}
