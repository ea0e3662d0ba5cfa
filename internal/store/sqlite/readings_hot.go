package sqlite

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
)

// The body of a hot row: a byte 2 for this form of it; Varint time of the first
// reading, ms; the runs of the lines that are in it, one after the other; the CRC-32C
// of all before it, four bytes, little-endian. Whole numbers are as in
// encoding/binary's Varint (zigzag) and Uvarint. A run:
//
//	line   Uvarint
//	number of readings, Uvarint, at least 1
//	what   byte: bits 0-1 what was said (0 measured, 1 unavailable, 2 broken), 2 the
//	       clock (0 the source's, 1 arrival's), 3 there is an arrival, 4 a tilt, 5 the
//	       value is exact, 6 there is a what to each reading: as many bytes follow, and
//	       this one has nothing else
//	times  Varint each: the first since the body's, the second since the first, every
//	       other's change of its step to the step before it, ms
//	values of those that were measured, Varint each: the first in steps of the signal,
//	       the others since the one before; or float64, 8 bytes, where it is exact
//	lags   of those with an arrival: byte 0 and the Varint of all of them, or byte 1
//	       and a Varint each, s
//	tilts  of those with one: pitch and roll in 0.1 mrad, Varint each
const (
	hotForm  = 2
	bitMixed = 1 << 6
)

// run is some of a line's records.
type run struct {
	line    int64
	records []record
}

// appendHot appends a hot row's body.
func appendHot(b []byte, runs []run) []byte {
	from := len(b)
	b = append(b, hotForm)
	begin := runs[0].records[0].time
	b = binary.AppendVarint(b, begin)
	for _, r := range runs {
		b = appendRun(b, r, begin)
	}
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
}

func appendRun(b []byte, r run, begin int64) []byte {
	list := r.records
	b = binary.AppendUvarint(b, uint64(r.line))
	b = binary.AppendUvarint(b, uint64(len(list)))
	alike, has, oneLag := true, list[0].what, true
	for i := range list {
		alike = alike && list[i].what == list[0].what
		oneLag = oneLag && list[i].lag == list[0].lag
		has |= list[i].what
	}
	if alike {
		b = append(b, list[0].what)
	} else {
		b = append(b, bitMixed)
		for i := range list {
			b = append(b, list[i].what)
		}
	}
	at, step := begin, int64(0)
	for i := range list {
		d := list[i].time - at
		b = binary.AppendVarint(b, d-step)
		if at = list[i].time; i > 0 {
			step = d
		}
	}
	var value int64
	for i := range list {
		switch k := &list[i]; {
		case k.what&exact != 0:
			b = binary.LittleEndian.AppendUint64(b, uint64(k.value))
		case k.what&saidBits == 0:
			b = binary.AppendVarint(b, k.value-value)
			value = k.value
		}
	}
	if has&arrived != 0 {
		if oneLag && alike {
			b = binary.AppendVarint(append(b, 0), list[0].lag)
		} else {
			b = append(b, 1)
			for i := range list {
				if list[i].what&arrived != 0 {
					b = binary.AppendVarint(b, list[i].lag)
				}
			}
		}
	}
	if has&tilted != 0 {
		for i := range list {
			if k := &list[i]; k.what&tilted != 0 {
				b = binary.AppendVarint(binary.AppendVarint(b, int64(k.pitch)), int64(k.roll))
			}
		}
	}
	return b
}

var errBody = errors.New("it ends too soon, or goes on too long")

// checked gives a body without its checksum and its form.
func checked(body []byte, form byte) ([]byte, error) {
	end := len(body) - crcLength
	if end < 1 {
		return nil, errBody
	}
	if got, want := crc32.Checksum(body[:end], castagnoli), binary.LittleEndian.Uint32(body[end:]); got != want {
		return nil, fmt.Errorf("its checksum is %08x; expected %08x", got, want)
	}
	if err := ofForm(body[0], form); err != nil {
		return nil, err
	}
	return body[1:end], nil
}

// eachRun gives f the runs of a hot row. The records are good until it returns; what
// f was given before an error may be all the same of what is there.
func eachRun(body []byte, f func(run)) error {
	b, err := checked(body, hotForm)
	if err != nil {
		return err
	}
	u := unpacker{b: b}
	begin := u.varint()
	var list []record
	for !u.short && len(u.b) > 0 {
		line, n := u.uvarint(), u.uvarint()
		if n < 1 || n > uint64(len(u.b)) { // each takes a byte at least
			return errBody
		}
		list = append(list[:0], make([]record, n)...)
		u.run(list, begin)
		if u.short {
			return errBody
		}
		f(run{int64(line), list})
	}
	if u.short {
		return errBody
	}
	return nil
}

func (u *unpacker) run(list []record, begin int64) {
	what := u.byte()
	has := what
	for i := range list {
		if what == bitMixed {
			list[i].what = u.byte()
			has |= list[i].what
		} else {
			list[i].what = what
		}
		if list[i].what&^whatBits != 0 {
			u.short = true
			return
		}
	}
	at, step := begin, int64(0)
	for i := range list {
		d := step + u.varint()
		at += d
		list[i].time = at
		if i > 0 {
			step = d
		}
	}
	var value int64
	for i := range list {
		switch k := &list[i]; {
		case k.what&exact != 0:
			k.value = int64(math.Float64bits(u.float()))
		case k.what&saidBits == 0:
			value += u.varint()
			k.value = value
		}
	}
	if has&arrived != 0 {
		each := u.byte() != 0
		var lag int64
		if !each {
			lag = u.varint()
		}
		for i := range list {
			if list[i].what&arrived == 0 {
				continue
			}
			if each {
				lag = u.varint()
			}
			list[i].lag = lag
		}
	}
	if has&tilted != 0 {
		for i := range list {
			if list[i].what&tilted != 0 {
				list[i].pitch, list[i].roll = int32(u.varint()), int32(u.varint())
			}
		}
	}
}
