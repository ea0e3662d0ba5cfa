package series

import "encoding/binary"

// backwards is a table as packing needs it: for each symbol its slots in rising
// order.
type backwards struct {
	first [symbols]uint16 // the place in slot of a symbol's first
	slot  [slots]uint16
}

func newBackwards(table int) *backwards {
	var out backwards
	at := uint16(0)
	for s, n := range slotsOf[table] {
		out.first[s] = at
		at += n
	}
	next := out.first
	for slot, e := range tables[table] {
		s := escaped
		if e.symbol() != escape {
			s = int(e.symbol()) + farHigh
		}
		out.slot[next[s]] = uint16(slot)
		next[s]++
	}
	return &out
}

// append appends the column as the best way packs it: the first number, the way,
// the state to begin with, and for each residual the bits that follow it and those
// of the next state.
//
// States are found from the last to the first, which is how tANS has it.
func (t *trial) append(dst []byte) []byte {
	dst = binary.AppendVarint(dst, t.first)
	dst = appendHow(dst, t.best, t.factor)
	all := make([]code, 0, len(t.of))
	t.codes(t.best, func(c code) { all = append(all, c) })
	type piece struct {
		bits uint16
		n    uint8
	}
	pieces := make([]piece, len(all))
	var made [shapes * tablesOfShape]*backwards
	state := -1
	for i := len(all) - 1; i >= 0; i-- {
		c := all[i]
		if made[c.table] == nil {
			made[c.table] = newBackwards(c.table)
		}
		of, n := made[c.table], int(slotsOf[c.table][c.symbol])
		if state < 0 { // the last: any slot of its own will do
			state = int(of.slot[of.first[c.symbol]])
			continue
		}
		x, out := state+slots, uint8(0)
		for x>>out >= 2*n {
			out++
		}
		pieces[i] = piece{uint16(x & (1<<out - 1)), out}
		state = int(of.slot[int(of.first[c.symbol])+x>>out-n])
	}
	w := bitWriter{b: dst}
	w.write(uint64(state), tableBits)
	for i, c := range all {
		w.write(c.extra, c.n)
		w.write(uint64(pieces[i].bits), uint(pieces[i].n))
	}
	return w.close()
}
