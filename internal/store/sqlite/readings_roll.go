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

// The body of a block of roll-ups: a byte 4 for this form of it; the column of steps
// since the block began, ever rising, as series.Pack packs it; the roll-ups as
// series.PackRolls packs them; the CRC-32C of all before it, four bytes, little-endian.
func (r *roller) appendRolls(b []byte, list []entry) []byte {
	r.times, r.rolls = r.times[:0], r.rolls[:0]
	for _, e := range list {
		r.times = append(r.times, e.at-floorDiv(e.at, blockRolls)*blockRolls)
		r.rolls = append(r.rolls, e.Roll)
	}
	from := len(b)
	b = series.PackRolls(series.Pack(append(b, rollForm), r.times), r.rolls)
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
}

// rolled appends the entries of a block.
func (r *roller) rolled(list []entry, block int64, body []byte) ([]entry, error) {
	b, err := checked(body, rollForm)
	if err != nil {
		return list, err
	}
	if r.times, b, err = series.Unpack(r.times[:0], b); err != nil {
		return list, err
	}
	if r.rolls, b, err = series.UnpackRolls(r.rolls[:0], b); err != nil {
		return list, err
	}
	if len(b) > 0 || len(r.rolls) != len(r.times) {
		return list, errBody
	}
	begin, last := block*blockRolls, int64(-1)
	for i, at := range r.times {
		if at <= last || at >= blockRolls || r.rolls[i].N < 1 {
			return list, errBody
		}
		last = at
		list = append(list, entry{begin + at, r.rolls[i]})
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
	rolls                          []series.Roll
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
	switch {
	case err == nil:
		if r.had, err = r.rolled(r.had[:0], block, body); err == nil {
			r.now = merged(r.now[:0], r.had, entries)
		} else if isNewer(err) {
			return t.s.partError(fmt.Sprintf("roll-ups %d/%d/%d", line, step, block), err)
		} else if err = r.again(ctx, t, line, step, block, body, err); err != nil {
			return err
		}
		entries = r.now
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	r.body = r.appendRolls(r.body[:0], entries)
	_, err = t.exec(ctx, "INSERT INTO roll (line, step, block, body) VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET body = excluded.body", line, step, block, r.body)
	return err
}

// again puts aside a block of roll-ups that is damaged, and makes r.now of the chunks
// that there are, those that are being sealed included.
func (r *roller) again(ctx context.Context, t *txn, line int64, step int, block int64, body []byte, found error) error {
	if err := aside(ctx, t, "roll", fmt.Sprintf("%d/%d/%d", line, step, block), body, found); err != nil {
		return err
	}
	length := rollSteps[step] * blockRolls
	numbers, err := chunksIn(ctx, t, line, block*length, (block+1)*length)
	if err != nil {
		return err
	}
	r.now = r.now[:0]
	var c columns
	var list []record
	for _, n := range numbers {
		var body []byte
		if err := t.row(ctx, "SELECT body FROM chunk WHERE number = ?", []any{n}, &body); err != nil {
			return err
		}
		if list, err = c.records(list[:0], body); isNewer(err) {
			return t.s.partError(fmt.Sprintf("chunk %d", n), err)
		} else if err != nil {
			t.s.log.Error("a chunk of readings is damaged", "file", t.s.path, "chunk", n, "error", err)
			continue
		}
		r.had = r.had[:0]
		for _, e := range rollUp(nil, list, rollSteps[step]) {
			if floorDiv(e.at, blockRolls) == block {
				r.had = append(r.had, e)
			}
		}
		r.now = merged(nil, r.now, r.had)
	}
	return nil
}

// aside keeps what is damaged as it was found, and says so in the log.
func aside(ctx context.Context, t *txn, what, number string, body []byte, found error) error {
	t.s.log.Error("a part of the file of readings is damaged and was put aside", "file", t.s.path, "part", what+" "+number, "error", found)
	_, err := t.exec(ctx, "INSERT OR REPLACE INTO aside (what, number, body) VALUES (?, ?, ?)", what, number, body)
	return err
}

// chunksIn gives the numbers of a line's chunks that may have readings from one time
// up to but without another.
func chunksIn(ctx context.Context, t *txn, line, from, before int64) (numbers []int64, err error) {
	rows, err := t.conn.QueryContext(ctx, "SELECT number FROM chunk WHERE line = ? AND latest >= ? AND earliest < ?", line, from, before)
	if err != nil {
		return nil, t.s.readError(t.what, err)
	}
	defer rows.Close()
	for rows.Next() {
		var n int64
		if err := rows.Scan(&n); err != nil {
			return nil, t.s.readError(t.what, err)
		}
		numbers = append(numbers, n)
	}
	if err := rows.Err(); err != nil {
		return nil, t.s.readError(t.what, err)
	}
	return numbers, nil
}
