package sqlite

import (
	"encoding/binary"
	"hash/crc32"
	"math"
	"time"

	"gaugewright/internal/watch"
)

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
