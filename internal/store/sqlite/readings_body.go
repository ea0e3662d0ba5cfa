package sqlite

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// The body of a batch: a byte 1 for this form of it, the names of tanks and
// sources, the readings, and the CRC-32C (Castagnoli) of all before it, four
// bytes, little-endian. Whole numbers are as in encoding/binary's Varint
// (zigzag) and Uvarint.
//
//	names     Uvarint number of them, each Uvarint length and bytes of UTF-8
//	readings  Uvarint number of them, each:
//	  tank    Uvarint, which of the names, from 0
//	  source  Uvarint, which of the names
//	  what    byte: bits 0-1 the signal (0 ohm, 1 volt, 2 count, 3 percent),
//	          2-3 what was said (0 measured, 1 unavailable, 2 broken),
//	          4 the clock (0 the source's, 1 arrival's), 5 a tilt follows,
//	          6 a time of arrival follows, 7 it is the same as the time
//	  time    Varint seconds since the time before it in the body, or since 1970;
//	          Uvarint nanoseconds
//	  arrival in the same way, where there is one of its own
//	  value   float64, 8 bytes, little-endian
//	  tilt    pitch and roll in radians, float64 each, where there is one
const (
	bodyForm  = 1
	bitClock  = 1 << 4
	bitTilt   = 1 << 5
	bitOther  = 1 << 6
	bitSame   = 1 << 7
	crcLength = 4
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// packer packs readings into a body that is good until it packs the next.
type packer struct {
	body, names []byte
	index       map[string]uint64
}

func (p *packer) pack(readings []watch.Reading) []byte {
	if p.index == nil {
		p.index = make(map[string]uint64)
	}
	clear(p.index)
	p.names = p.names[:0]
	list := p.body[:0]
	var lastTank, lastSource string
	var tank, source uint64
	var second int64
	for i := range readings {
		r := &readings[i]
		if i == 0 || r.Tank != lastTank {
			lastTank, tank = r.Tank, p.name(r.Tank)
		}
		if i == 0 || r.Source != lastSource {
			lastSource, source = r.Source, p.name(r.Source)
		}
		list = binary.AppendUvarint(list, tank)
		list = binary.AppendUvarint(list, source)
		what := byte(r.Signal)&3 | byte(r.Said)&3<<2 | byte(r.Clock)&1<<4
		if r.Tilt != nil {
			what |= bitTilt
		}
		switch {
		case r.Arrived.IsZero():
		case r.Arrived.Equal(r.Time):
			what |= bitSame
		default:
			what |= bitOther
		}
		list = append(list, what)
		list, second = appendTime(list, r.Time, second)
		if what&bitOther != 0 {
			list, second = appendTime(list, r.Arrived, second)
		}
		list = binary.LittleEndian.AppendUint64(list, math.Float64bits(r.Value))
		if r.Tilt != nil {
			list = binary.LittleEndian.AppendUint64(list, math.Float64bits(float64(r.Tilt.Pitch)))
			list = binary.LittleEndian.AppendUint64(list, math.Float64bits(float64(r.Tilt.Roll)))
		}
	}
	p.body = list // for its room
	head := append(make([]byte, 0, 2*binary.MaxVarintLen64+1+len(p.names)+len(list)+crcLength), bodyForm)
	head = binary.AppendUvarint(head, uint64(len(p.index)))
	head = append(head, p.names...)
	head = binary.AppendUvarint(head, uint64(len(readings)))
	head = append(head, list...)
	return binary.LittleEndian.AppendUint32(head, crc32.Checksum(head, castagnoli))
}

func (p *packer) name(name string) uint64 {
	if n, ok := p.index[name]; ok {
		return n
	}
	n := uint64(len(p.index))
	p.index[name] = n
	p.names = binary.AppendUvarint(p.names, uint64(len(name)))
	p.names = append(p.names, name...)
	return n
}

func appendTime(b []byte, t time.Time, before int64) ([]byte, int64) {
	second := t.Unix()
	b = binary.AppendVarint(b, second-before) // wraps, and so does its undoing
	return binary.AppendUvarint(b, uint64(t.Nanosecond())), second
}

var errBody = errors.New("it ends too soon, or goes on too long")

// unpackReadings gives what pack packed.
func unpackReadings(body []byte) ([]watch.Reading, error) {
	end := len(body) - crcLength
	if end < 1 {
		return nil, errBody
	}
	if got, want := crc32.Checksum(body[:end], castagnoli), binary.LittleEndian.Uint32(body[end:]); got != want {
		return nil, fmt.Errorf("its checksum is %08x; expected %08x", got, want)
	}
	if body[0] != bodyForm {
		return nil, fmt.Errorf("its form is %d; expected %d", body[0], bodyForm)
	}
	u := unpacker{b: body[1:end]}
	names := make([]string, 0, min(u.uvarint(), uint64(len(body))))
	for range cap(names) {
		names = append(names, string(u.take(u.uvarint())))
	}
	list := make([]watch.Reading, 0, min(u.uvarint(), uint64(len(body))))
	var second int64
	for range cap(list) {
		tank, source := u.uvarint(), u.uvarint()
		what := u.take(1)
		if u.short || tank >= uint64(len(names)) || source >= uint64(len(names)) {
			return nil, errBody
		}
		w := what[0]
		r := watch.Reading{Tank: names[tank], Source: names[source], Signal: watch.Signal(w & 3), Said: watch.Said(w >> 2 & 3), Clock: watch.Clock(w >> 4 & 1)}
		r.Time = u.time(&second)
		switch {
		case w&bitOther != 0:
			r.Arrived = u.time(&second)
		case w&bitSame != 0:
			r.Arrived = r.Time
		}
		r.Value = u.float()
		if w&bitTilt != 0 {
			r.Tilt = &watch.Tilt{Pitch: quantity.Radian(u.float()), Roll: quantity.Radian(u.float())}
		}
		list = append(list, r)
	}
	if u.short || len(u.b) > 0 {
		return nil, errBody
	}
	return list, nil
}

// unpacker takes a body apart. What it gives after it came short means nothing.
type unpacker struct {
	b     []byte
	short bool
}

func (u *unpacker) uvarint() uint64 {
	v, n := binary.Uvarint(u.b)
	if n <= 0 {
		u.short, u.b = true, nil
		return 0
	}
	u.b = u.b[n:]
	return v
}

func (u *unpacker) time(second *int64) time.Time {
	v, n := binary.Varint(u.b)
	if n <= 0 {
		u.short, u.b = true, nil
		return time.Time{}
	}
	u.b = u.b[n:]
	*second += v
	return time.Unix(*second, int64(u.uvarint())).UTC()
}

func (u *unpacker) float() float64 {
	b := u.take(8)
	if u.short {
		return 0
	}
	return math.Float64frombits(binary.LittleEndian.Uint64(b))
}

func (u *unpacker) take(n uint64) []byte {
	if n > uint64(len(u.b)) {
		u.short, u.b = true, nil
		return nil
	}
	b := u.b[:n]
	u.b = u.b[n:]
	return b
}
