package sqlite

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"slices"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

const levelForm = 5

// levelRoll is the roll-up of a tank's levels in one step.
type levelRoll struct {
	at int64 // steps since 1970
	history.LevelRoll
}

// The body of a block of levels: a byte 5 for this form of it; columns as
// internal/series packs them; the CRC-32C of all before it, four bytes, little-endian.
// The columns, in 1/10,000 of the scale where they are levels: steps since the block
// began, ever rising; numbers of levels; least; greatest less least; sums less number
// times least; sums less sums of the lower ends; sums of the upper ends less sums;
// readings without a level; worst status.
func appendLevels(b []byte, list []levelRoll) []byte {
	var c [9][]int64
	for _, e := range list {
		for i, v := range [9]int64{
			e.at - floorDiv(e.at, blockRolls)*blockRolls, e.Share.N, e.Share.Min, e.Share.Max - e.Share.Min, e.Share.Sum - e.Share.N*e.Share.Min,
			e.Share.Sum - e.Low, e.High - e.Share.Sum, e.Without, int64(e.Worst),
		} {
			c[i] = append(c[i], v)
		}
	}
	from := len(b)
	b = append(b, levelForm)
	for i := range c {
		b = series.Pack(b, c[i])
	}
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
}

// rolledLevels gives the roll-ups of a block.
func rolledLevels(step int, block int64, body []byte) ([]levelRoll, error) {
	b, err := checked(body, levelForm)
	if err != nil {
		return nil, err
	}
	var c [9][]int64
	for i := range c {
		if c[i], b, err = series.Unpack(nil, b); err != nil {
			return nil, err
		}
		if len(c[i]) != len(c[0]) {
			return nil, errBody
		}
	}
	if len(b) > 0 {
		return nil, errBody
	}
	list := make([]levelRoll, len(c[0]))
	last := int64(-1)
	for i := range list {
		at, n, least, sum := c[0][i], c[1][i], c[2][i], c[4][i]+c[1][i]*c[2][i]
		if at <= last || at >= blockRolls || c[8][i] < 0 || c[8][i] > int64(watch.Maintenance) {
			return nil, errBody
		}
		last = at
		at += block * blockRolls
		list[i] = levelRoll{at, history.LevelRoll{
			From:  time.UnixMilli(at * rollSteps[step]).UTC(),
			Share: series.Roll{N: n, Min: least, Max: least + c[3][i], Sum: sum},
			Low:   sum - c[5][i], High: sum + c[6][i], Without: c[7][i], Worst: watch.Status(c[8][i]),
		}}
	}
	return list, nil
}

// KeepLevels adds roll-ups of a tank's levels, each of the minute in which it begins,
// and with them until when the levels are rolled up: both or neither. What it is given
// twice counts twice; the time is there so that whoever rolls up knows where to go on.
func (s *Readings) KeepLevels(ctx context.Context, tank string, rolls []history.LevelRoll, until time.Time) error {
	s.keeping.Lock()
	defer s.keeping.Unlock()
	return s.write(ctx, "the levels", func(t *txn) error {
		var number int64
		if err := t.row(ctx, "INSERT INTO tank (name, levels_until) VALUES (?, ?) ON CONFLICT DO UPDATE SET levels_until = excluded.levels_until RETURNING number",
			[]any{tank, milli(until)}, &number); err != nil {
			return err
		}
		for step, length := range rollSteps {
			list := make([]levelRoll, 0, len(rolls))
			for _, r := range rolls {
				list = append(list, levelRoll{floorDiv(milli(r.From), length), r})
			}
			list = together(list)
			for len(list) > 0 {
				block, n := floorDiv(list[0].at, blockRolls), 1
				for n < len(list) && list[n].at < (block+1)*blockRolls {
					n++
				}
				if err := mergeLevels(ctx, t, number, step, block, list[:n]); err != nil {
					return err
				}
				list = list[n:]
			}
		}
		return nil
	})
}

// together orders roll-ups, and merges those of the same step.
func together(list []levelRoll) []levelRoll {
	slices.SortFunc(list, func(a, b levelRoll) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	one := list[:0]
	for _, r := range list {
		if n := len(one); n > 0 && one[n-1].at == r.at {
			one[n-1].Merge(r.LevelRoll)
		} else {
			one = append(one, r)
		}
	}
	return one
}

func mergeLevels(ctx context.Context, t *txn, tank int64, step int, block int64, list []levelRoll) error {
	var body []byte
	err := t.row(ctx, "SELECT body FROM level WHERE tank = ? AND step = ? AND block = ?", []any{tank, step, block}, &body)
	if err == nil {
		had, err := rolledLevels(step, block, body)
		if err != nil {
			return t.s.damaged(fmt.Sprintf("levels %d/%d/%d: %v", tank, step, block, err))
		}
		list = together(append(had, list...))
	} else if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	_, err = t.exec(ctx, "INSERT INTO level (tank, step, block, body) VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET body = excluded.body", tank, step, block, appendLevels(nil, list))
	return err
}

// LevelsUntil gives until when a tank's levels are rolled up, zero where none are.
func (s *Readings) LevelsUntil(ctx context.Context, tank string) (time.Time, error) {
	var until sql.NullInt64
	err := s.row(ctx, "the levels", "SELECT levels_until FROM tank WHERE name = ?", []any{tank}, &until)
	if errors.Is(err, sql.ErrNoRows) || err == nil && !until.Valid {
		return time.Time{}, nil
	}
	if err != nil {
		return time.Time{}, err
	}
	return time.UnixMilli(until.Int64).UTC(), nil
}
