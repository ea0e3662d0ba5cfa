package sqlite

import "encoding/binary"

// pages are those of a file whose header may be anything.
type pages struct {
	size int
	main []byte
}

// page gives a page by its number, nil where there is none.
func (p *pages) page(n int) []byte {
	if n < 1 || n > len(p.main)/p.size {
		return nil
	}
	return p.main[(n-1)*p.size : n*p.size]
}

// payload gives what a cell of a table's leaf holds, with what overflows into other
// pages; nil where that doesn't hang together.
func (p *pages) payload(b []byte) []byte {
	size, n := bigVarint(b)
	b = b[n:]
	_, n = bigVarint(b)
	b = b[n:]
	if size == 0 || size > 1<<20 {
		return nil
	}
	total, local := int(size), int(size)
	if most := p.size - 35; total > most {
		least := (p.size-12)*32/255 - 23
		if local = least + (total-least)%(p.size-4); local > most {
			local = least
		}
	}
	if local == total {
		if len(b) < local {
			return nil
		}
		return b[:local]
	}
	if len(b) < local+4 {
		return nil
	}
	all := append(make([]byte, 0, total), b[:local]...)
	for next := binary.BigEndian.Uint32(b[local:]); len(all) < total; {
		b := p.page(int(next))
		if b == nil {
			return nil
		}
		all = append(all, b[4:min(len(b), 4+total-len(all))]...)
		next = binary.BigEndian.Uint32(b)
	}
	return all
}

// cell is a column of a row: bytes of a text or a blob, or a whole number.
type cell struct {
	bytes []byte
	blob  bool
	whole uint64
}

// columnsOf takes a record apart, as far as it goes.
func columnsOf(record []byte) (list []cell) {
	size, n := bigVarint(record)
	if n == 0 || size > uint64(len(record)) || size < uint64(n) {
		return nil
	}
	kinds, b := record[n:size], record[size:]
	for len(kinds) > 0 && len(list) < 8 { // no table has more that is looked at
		kind, n := bigVarint(kinds)
		if n == 0 {
			return list
		}
		kinds = kinds[n:]
		length := uint64(0)
		switch {
		case kind >= 12:
			length = (kind - 12) / 2
		case kind <= 4:
			length = kind
		case kind == 5:
			length = 6
		case kind <= 7:
			length = 8
		}
		if length > uint64(len(b)) {
			return list
		}
		c := cell{bytes: b[:length], blob: kind >= 12 && kind%2 == 0}
		if kind == 9 {
			c.whole = 1
		}
		if kind < 8 {
			for _, d := range c.bytes {
				c.whole = c.whole<<8 | uint64(d)
			}
			c.bytes = nil
		}
		list, b = append(list, c), b[length:]
	}
	return list
}

// bigVarint reads a whole number of seven bits a byte, the highest first, and nine
// bytes at the most, of which the last has eight; n is 0 where there is none.
func bigVarint(b []byte) (v uint64, n int) {
	for n < len(b) {
		d := b[n]
		if n++; n == 9 {
			return v<<8 | uint64(d), n
		}
		if v = v<<7 | uint64(d&0x7f); d < 0x80 {
			return v, n
		}
	}
	return 0, 0
}
