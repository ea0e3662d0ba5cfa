package modbus

import (
	"cmp"
	"slices"
)

// mostGap is how many registers that nobody wants may be read along to save a
// request. A request takes some 20 ms on a slow line, as much as twenty
// registers (9600 baud, by count); devices that don't have the registers in
// between refuse, and then each is asked for by itself.
const mostGap = 8

// item is one number to be read.
type item struct {
	tank     string
	unit     byte
	function byte
	address  uint16 // as on the wire, from 0
	meaning  meaning
}

func (i item) end() int { return int(i.address) + i.meaning.format.words }

// request is registers asked for at once, and what is in them.
type request struct {
	unit, function byte
	address        uint16
	count          uint16
	items          []item
}

// plan makes as few requests as can be of the items: those of one unit and
// function that stand together, or nearly, in one. The units come in the order
// in which they were named, so that a round always begins alike.
func plan(items []item) []request {
	var units []byte
	for _, i := range items {
		if !slices.Contains(units, i.unit) {
			units = append(units, i.unit)
		}
	}
	sorted := slices.Clone(items)
	slices.SortStableFunc(sorted, func(a, b item) int {
		return cmp.Or(
			cmp.Compare(slices.Index(units, a.unit), slices.Index(units, b.unit)),
			cmp.Compare(a.function, b.function),
			cmp.Compare(a.address, b.address))
	})
	var list []request
	for _, i := range sorted {
		if n := len(list) - 1; n >= 0 {
			r := &list[n]
			end := int(r.address) + int(r.count)
			most := max(end, i.end())
			if r.unit == i.unit && r.function == i.function && int(i.address) <= end+mostGap && most-int(r.address) <= mostRegisters {
				r.count = uint16(most - int(r.address))
				r.items = append(r.items, i)
				continue
			}
		}
		list = append(list, single(i))
	}
	return list
}

// split asks for each item of a request by itself.
func (r request) split() []request {
	var list []request
	for _, i := range r.items {
		list = append(list, single(i))
	}
	return list
}

func single(i item) request {
	return request{i.unit, i.function, i.address, uint16(i.meaning.format.words), []item{i}}
}

// registers are the bytes of an item in the answer to a request.
func (r request) registers(i item, data []byte) []byte {
	from := 2 * (int(i.address) - int(r.address))
	return data[from : from+2*i.meaning.format.words]
}
