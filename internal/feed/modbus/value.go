package modbus

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"gaugewright/internal/watch"
)

// format is how a number is coded in registers.
type format struct {
	name   string
	words  int // registers
	signed bool
	float  bool
}

var formats = []format{
	{name: "uint16", words: 1},
	{name: "int16", words: 1, signed: true},
	{name: "uint32", words: 2},
	{name: "int32", words: 2, signed: true},
	{name: "float32", words: 2, float: true},
	{name: "float64", words: 4, float: true},
}

// An order says which byte of the registers, as they come, is the number's
// first, second and so on: A is the most significant. For two registers CDAB is
// the low word first, BADC the bytes of each word swapped, DCBA both. There is no
// standard order. Names of four letters stand for the same swaps in four
// registers: CDAB is the lowest word first.
type order struct {
	name                 string
	swapWords, swapBytes bool
}

var orders = []order{
	{name: "ABCD"},
	{name: "CDAB", swapWords: true},
	{name: "BADC", swapBytes: true},
	{name: "DCBA", swapWords: true, swapBytes: true},
}

// orders of one register.
var shortOrders = []order{{name: "AB"}, {name: "BA", swapBytes: true}}

// bits puts the bytes of the registers, high byte of the first register first,
// into the order of the number, and gives it as an unsigned one.
func (o order) bits(registers []byte) uint64 {
	var b [8]byte
	n := len(registers)
	for i := range n {
		from := i
		if o.swapBytes {
			from ^= 1
		}
		if o.swapWords {
			from = n - 2 - from&^1 + from&1
		}
		b[8-n+i] = registers[from]
	}
	return binary.BigEndian.Uint64(b[:])
}

// meaning is what the registers of one read stand for.
type meaning struct {
	format        format
	order         order
	scale, offset float64
	signal        watch.Signal
	none          []int64 // raw numbers, or their bits, that mean "no value"
	least         float64 // in the signal's unit, after scale and offset
	greatest      float64
}

// openCircuit is the resistance that stands for an infinite one: more than any
// meter measures.
const openCircuit = 1e9 // Ω

// value makes a value of registers: scale times the number plus offset. Said is
// Unavailable where the registers hold one of the words for no value, or NaN; of
// infinite ones +Inf Ω is an open circuit, and everything else is no value.
//
// An error says that there is a number and it can't be believed; why is in few
// fixed words for the count.
func (m meaning) value(registers []byte) (v float64, said watch.Said, why string) {
	bits := m.order.bits(registers)
	raw := m.number(bits)
	for _, n := range m.none {
		if uint64(n) == bits || float64(n) == raw {
			return 0, watch.Unavailable, ""
		}
	}
	switch {
	case math.IsInf(raw, 1) && m.signal == watch.Ohm:
		return openCircuit, watch.Measured, ""
	case math.IsNaN(raw), math.IsInf(raw, 0):
		return 0, watch.Unavailable, ""
	}
	v = raw*m.scale + m.offset
	switch {
	case v < m.least:
		return 0, watch.Unavailable, "below least"
	case v > m.greatest:
		return 0, watch.Unavailable, "above greatest"
	case math.IsInf(v, 0):
		return 0, watch.Unavailable, "too large"
	}
	return v, watch.Measured, ""
}

// number is the number before scale and offset.
func (m meaning) number(bits uint64) float64 {
	switch f := m.format; {
	case f.float && f.words == 4:
		return math.Float64frombits(bits)
	case f.float:
		return float64(math.Float32frombits(uint32(bits)))
	case f.signed && f.words == 2:
		return float64(int32(bits))
	case f.signed:
		return float64(int16(bits))
	}
	return float64(bits)
}

// named finds what has a name among several, or says what there is.
func named[T any](what string, all []T, name func(T) string, wanted string) (T, error) {
	names := make([]string, len(all))
	for i, a := range all {
		if names[i] = name(a); names[i] == wanted {
			return a, nil
		}
	}
	var zero T
	slices.Sort(names)
	return zero, fmt.Errorf("%q is no %s; expected one of %q", wanted, what, names)
}
