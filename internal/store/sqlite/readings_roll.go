package sqlite

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"gaugewright/internal/series"
)

// Steps of roll-ups, in the order of the column "step".
var rollSteps = [...]int64{60_000, 3_600_000, 86_400_000} // ms

const (
	// blockRolls is how many steps a block has: a day of minutes, 60 days of hours,
	// some four years of days.
	blockRolls = 1440
	rollForm   = 4
)

// entry is the roll-up of one step.
type entry struct {
	at int64 // steps since 1970
	series.Roll
}

// The body of a block of roll-ups: a byte 4 for this form of it; columns as
// internal/series packs them; the CRC-32C of all before it, four bytes, little-endian.
// The columns: steps since the block began, ever rising; numbers of readings, at least
// 1; least values; greatest less least; sums less number times least.
func (c *columns) appendRolls(b []byte, list []entry) []byte {
	c.clear()
	for _, e := range list {
		c.times = append(c.times, e.at-floorDiv(e.at, blockRolls)*blockRolls)
		c.whats = append(c.whats, e.N)
		c.values = append(c.values, e.Min)
		c.lags = append(c.lags, e.Max-e.Min)
		c.pitches = append(c.pitches, e.Sum-e.N*e.Min)
	}
	from := len(b)
	b = append(b, rollForm)
	for _, column := range []*[]int64{&c.times, &c.whats, &c.values, &c.lags, &c.pitches} {
		b = series.Pack(b, *column)
	}
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
}

// rolled appends the entries of a block.
func (c *columns) rolled(list []entry, block int64, body []byte) ([]entry, error) {
	b, err := checked(body, rollForm)
	if err != nil {
		return list, err
	}
	c.clear()
	for _, column := range []*[]int64{&c.times, &c.whats, &c.values, &c.lags, &c.pitches} {
		if *column, b, err = series.Unpack(*column, b); err != nil {
			return list, err
		}
		if len(*column) != len(c.times) {
			return list, errBody
		}
	}
	if len(b) > 0 {
		return list, errBody
	}
	begin, last := block*blockRolls, int64(-1)
	for i, at := range c.times {
		if at <= last || at >= blockRolls || c.whats[i] < 1 {
			return list, errBody
		}
		last = at
		n, least := c.whats[i], c.values[i]
		list = append(list, entry{begin + at, series.Roll{N: n, Min: least, Max: least + c.lags[i], Sum: c.pitches[i] + n*least}})
	}
	return list, nil
}

// rollUp gives the roll-ups of records that are ordered by their times.
func rollUp(into []entry, list []record, step int64) []entry {
	for i := range list {
		k := &list[i]
		if !k.counts() {
			continue
		}
		at := floorDiv(k.time, step)
		if n := len(into); n == 0 || into[n-1].at != at {
			into = append(into, entry{at: at})
		}
		into[len(into)-1].Add(k.value)
	}
	return into
}

// coarser gives the roll-ups of a step that is so many times as long.
func coarser(into, list []entry, times int64) []entry {
	for _, e := range list {
		at := floorDiv(e.at, times)
		if n := len(into); n == 0 || into[n-1].at != at {
			into = append(into, entry{at: at})
		}
		into[len(into)-1].Merge(e.Roll)
	}
	return into
}

// merged puts two lists of entries together, each ordered.
func merged(into, a, b []entry) []entry {
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].at < b[0].at:
			into, a = append(into, a[0]), a[1:]
		case len(a) == 0 || b[0].at < a[0].at:
			into, b = append(into, b[0]), b[1:]
		default:
			a[0].Merge(b[0].Roll)
			into, a, b = append(into, a[0]), a[1:], b[1:]
		}
	}
	return into
}

// roller merges roll-ups into the file, with room that it uses again.
type roller struct {
	columns
	minutes, hours, days, had, now []entry
	body                           []byte
}

// add rolls up records that are ordered by their times.
func (r *roller) add(ctx context.Context, t *txn, line int64, list []record) error {
	r.minutes = rollUp(r.minutes[:0], list, rollSteps[0])
	r.hours = coarser(r.hours[:0], r.minutes, rollSteps[1]/rollSteps[0])
	r.days = coarser(r.days[:0], r.hours, rollSteps[2]/rollSteps[1])
	for step, entries := range [][]entry{r.minutes, r.hours, r.days} {
		for len(entries) > 0 {
			block := floorDiv(entries[0].at, blockRolls)
			n := 1
			for n < len(entries) && entries[n].at < (block+1)*blockRolls {
				n++
			}
			if err := r.merge(ctx, t, line, step, block, entries[:n]); err != nil {
				return err
			}
			entries = entries[n:]
		}
	}
	return nil
}

func (r *roller) merge(ctx context.Context, t *txn, line int64, step int, block int64, entries []entry) error {
	var body []byte
	err := t.row(ctx, "SELECT body FROM roll WHERE line = ? AND step = ? AND block = ?", []any{line, step, block}, &body)
	if err == nil {
		if r.had, err = r.rolled(r.had[:0], block, body); err != nil {
			return t.s.damaged(fmt.Sprintf("roll-ups %d/%d/%d: %v", line, step, block, err))
		}
		r.now = merged(r.now[:0], r.had, entries)
		entries = r.now
	} else if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	r.body = r.appendRolls(r.body[:0], entries)
	_, err = t.exec(ctx, "INSERT INTO roll (line, step, block, body) VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET body = excluded.body", line, step, block, r.body)
	return err
}
