package sqlite

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"time"

	"gaugewright/internal/history"
)

const levelForm = 5

// The body of a block of levels: a byte 5 for this form of it; the roll-ups as
// history.PackLevels packs them; the CRC-32C of all before it, four bytes,
// little-endian.
func appendLevels(b []byte, list []history.LevelRoll) []byte {
	from := len(b)
	b = history.PackLevels(append(b, levelForm), list)
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
}

// rolledLevels gives the roll-ups of a block.
func rolledLevels(step int, block int64, body []byte) ([]history.LevelRoll, error) {
	b, err := checked(body, levelForm)
	if err != nil {
		return nil, err
	}
	list, rest, err := history.UnpackLevels(nil, b)
	if err != nil {
		return nil, err
	}
	if len(rest) > 0 {
		return nil, errBody
	}
	for i := range list {
		if blockOf(list[i].From, step) != block || i > 0 && !list[i-1].From.Before(list[i].From) {
			return nil, errBody
		}
	}
	return list, nil
}

// blockOf gives the block of a time by a step.
func blockOf(at time.Time, step int) int64 {
	return floorDiv(at.UnixMilli(), rollSteps[step]*blockRolls)
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
			list := history.Coarser(rolls, history.Resolution(length/1000))
			for len(list) > 0 {
				block, n := blockOf(list[0].From, step), 1
				for n < len(list) && blockOf(list[n].From, step) == block {
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

func mergeLevels(ctx context.Context, t *txn, tank int64, step int, block int64, list []history.LevelRoll) error {
	var body []byte
	err := t.row(ctx, "SELECT body FROM level WHERE tank = ? AND step = ? AND block = ?", []any{tank, step, block}, &body)
	if err == nil {
		had, err := rolledLevels(step, block, body)
		if isNewer(err) {
			return t.s.partError(fmt.Sprintf("levels %d/%d/%d", tank, step, block), err)
		}
		if err != nil {
			// It can't be made again; what comes from now on is to be kept all the same.
			if err := aside(ctx, t, "level", fmt.Sprintf("%d/%d/%d", tank, step, block), body, err); err != nil {
				return err
			}
		}
		list = history.Coarser(append(had, list...), history.Resolution(rollSteps[step]/1000))
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
