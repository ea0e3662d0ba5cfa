package sqlite

import (
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"math"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// bringForward keeps what is in the batches of the layout before as is kept now, some
// at a time, so that it goes on where it was cut off.
func (s *Readings) bringForward(ctx context.Context) error {
	n := 0
	for {
		var there int
		if err := s.row(ctx, "the readings", "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'batch'", nil, &there); err != nil {
			return err
		}
		if there == 0 {
			break
		}
		some, err := s.bringBatches(ctx)
		if err != nil {
			return err
		}
		n += some
	}
	if n > 0 {
		s.log.Info("the readings were brought into the new layout", "file", s.path, "readings", n)
	}
	return nil
}

// bringBatches brings some batches forward; once there is none the table goes.
func (s *Readings) bringBatches(ctx context.Context) (n int, err error) {
	err = s.write(ctx, "the readings in the new layout", func(t *txn) error {
		n = 0
		if err := s.current(ctx, t); err != nil {
			return err
		}
		var list []watch.Reading
		last, err := eachBatch(ctx, t, func(readings []watch.Reading) { list = append(list, readings...) })
		if err != nil {
			return err
		}
		if n = len(list); n == 0 {
			s.staging = staging{}
			_, err := t.exec(ctx, "DROP TABLE batch")
			return err
		}
		if err := s.stage(ctx, t, list); err != nil {
			return err
		}
		_, err = t.exec(ctx, "DELETE FROM batch WHERE number <= ?", last)
		return err
	})
	if err != nil {
		s.sure, s.staging = false, staging{}
		return 0, err
	}
	s.publish()
	if s.held >= s.bound() {
		return n, s.seal(ctx, oldestRow)
	}
	return n, nil
}

// eachBatch gives f the readings of the first batches, and gives the number of the
// last of these.
func eachBatch(ctx context.Context, t *txn, f func([]watch.Reading)) (last int64, err error) {
	rows, err := t.conn.QueryContext(ctx, "SELECT number, body FROM batch ORDER BY number LIMIT 64")
	if err != nil {
		return 0, t.s.readError(t.what, err)
	}
	defer rows.Close()
	for rows.Next() {
		var body []byte
		if err := rows.Scan(&last, &body); err != nil {
			return 0, t.s.readError(t.what, err)
		}
		list, err := unpackReadings(body)
		if err != nil {
			return 0, t.s.partError(fmt.Sprintf("batch %d", last), err)
		}
		f(list)
	}
	if err := rows.Err(); err != nil {
		return 0, t.s.readError(t.what, err)
	}
	return last, nil
}

// The body of a batch of the layout before: a byte 1 for this form of it, the names of tanks and
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

// unpackReadings gives what pack packed.
func unpackReadings(body []byte) ([]watch.Reading, error) {
	end := len(body) - crcLength
	if end < 1 {
		return nil, errBody
	}
	if got, want := crc32.Checksum(body[:end], castagnoli), binary.LittleEndian.Uint32(body[end:]); got != want {
		return nil, fmt.Errorf("its checksum is %08x; expected %08x", got, want)
	}
	if err := ofForm(body[0], bodyForm); err != nil {
		return nil, err
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

func (u *unpacker) varint() int64 {
	v, n := binary.Varint(u.b)
	if n <= 0 {
		u.short, u.b = true, nil
		return 0
	}
	u.b = u.b[n:]
	return v
}

func (u *unpacker) byte() byte {
	b := u.take(1)
	if u.short {
		return 0
	}
	return b[0]
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
