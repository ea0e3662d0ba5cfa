package outlook

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// stateVersion is the first byte of what MarshalBinary gives; what follows is fixed in
// size but for the days.
const stateVersion = 1

const (
	headBytes = 1 + 2 + 8 + 4*8
	hourBytes = 3*8 + 4
	dayBytes  = 4 + 6*8
)

// MarshalBinary gives all that is known, for a store: at most 22 KB. A model that was
// made with the same configuration and took it in goes on as this one does.
func (m *Model) MarshalBinary() ([]byte, error) {
	b := make([]byte, 0, headBytes+24*hourBytes+len(m.days)*dayBytes)
	le := binary.LittleEndian
	number := func(x float64) { b = le.AppendUint64(b, math.Float64bits(x)) }
	b = append(b, stateVersion)
	b = le.AppendUint16(b, uint16(len(m.days)))
	b = le.AppendUint64(b, uint64(m.last))
	for _, x := range [...]float64{m.lu2, m.total, m.seconds, m.slips} {
		number(x)
	}
	for _, h := range m.hours {
		number(h.drawn)
		number(h.noise)
		number(h.days)
		b = le.AppendUint32(b, uint32(h.newest))
	}
	for _, d := range m.days {
		b = le.AppendUint32(b, uint32(d.n))
		for _, x := range [...]float64{d.amount, d.u2, d.slip, d.from, d.to, d.lost} {
			number(x)
		}
	}
	return b, nil
}

// errState says that bytes aren't what MarshalBinary gives.
var errState = errors.New("outlook: the state is damaged")

// UnmarshalBinary is the reverse; an error changes nothing.
func (m *Model) UnmarshalBinary(b []byte) error {
	if len(b) < headBytes+24*hourBytes {
		return fmt.Errorf("%w: %d bytes, fewer than the least of %d", errState, len(b), headBytes+24*hourBytes)
	}
	if b[0] != stateVersion {
		return fmt.Errorf("%w: version %d, this one reads %d", errState, b[0], stateVersion)
	}
	le := binary.LittleEndian
	count := int(le.Uint16(b[1:]))
	if count > keepDays || len(b) != headBytes+24*hourBytes+count*dayBytes {
		return fmt.Errorf("%w: %d bytes with %d days", errState, len(b), count)
	}
	at, sound := 3, true
	number := func(least, most float64) float64 {
		x := math.Float64frombits(le.Uint64(b[at:]))
		at += 8
		sound = sound && x >= least && x <= most // false for what isn't a number
		return x
	}
	whole := func() int32 {
		x := int32(le.Uint32(b[at:]))
		at += 4
		return x
	}
	n := Model{c: m.c, zone: m.zone}
	n.last = int64(le.Uint64(b[at:]))
	at += 8
	sound = n.last >= 0
	const great = 1e15
	n.lu2, n.total, n.seconds, n.slips = number(0, great), number(-great, great), number(0, great), number(0, great)
	for h := range n.hours {
		n.hours[h] = hour{drawn: number(-great, great), noise: number(0, great), days: number(0, great), newest: whole()}
	}
	before := int32(-1)
	for range count {
		d := day{n: whole()}
		d.amount, d.u2, d.slip = number(-great, great), number(0, great), number(0, great)
		d.from, d.to, d.lost = number(0, 1), number(0, 1), number(0, 1)
		sound = sound && d.n > before && d.n <= 1<<17 && d.from <= d.to
		before = d.n
		n.days = append(n.days, d)
	}
	if !sound {
		return fmt.Errorf("%w: a figure is outside what it can be", errState)
	}
	*m = n
	return nil
}
