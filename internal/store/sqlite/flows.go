package sqlite

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/watch"
)

// flowForm is the first byte of what is kept of a tank's being followed: the state
// comes after it, and then the CRC-32C of all before, four bytes, little-endian.
const flowForm = 6

// mostUses is how many spells of use of a tank are kept, the latest: some months of them.
const mostUses = 1000

// Followed is how far the levels of a tank were followed.
type Followed struct {
	State []byte    // nil: nothing is kept, or it is damaged
	Until time.Time // levels of readings up to then are in State
	Curve int64     // by which curve these were shown, as whoever keeps it counts them
}

// KeepFlows keeps what the levels of a tank told, all of it or nothing: how far they
// were followed, the events that are new or have changed, and without those that turned
// out not to be. Times are rounded to a millisecond. An event is told from others by its
// kind and start. Of spells of use the latest thousand of a tank stay.
func (s *Readings) KeepFlows(ctx context.Context, tank string, f Followed, events, gone []flow.Event) error {
	s.keeping.Lock()
	defer s.keeping.Unlock()
	return s.write(ctx, "what came in and went out", func(t *txn) error {
		for _, e := range gone {
			if _, err := t.exec(ctx, "DELETE FROM flow WHERE tank = ? AND kind = ? AND start = ?", tank, string(e.Kind), milli(e.Start)); err != nil {
				return err
			}
		}
		for _, e := range events {
			finish := sql.NullInt64{Int64: milli(e.End), Valid: !e.Open()}
			if _, err := t.exec(ctx, `INSERT INTO flow (tank, kind, start, finish, found, amount, low, high, per_hour, before, after, p, fault, why) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
				ON CONFLICT DO UPDATE SET finish = excluded.finish, found = excluded.found, amount = excluded.amount, low = excluded.low, high = excluded.high, per_hour = excluded.per_hour,
				before = excluded.before, after = excluded.after, p = excluded.p, fault = excluded.fault, why = excluded.why`,
				tank, string(e.Kind), milli(e.Start), finish, milli(e.Found), figure(e.Amount), figure(e.Low), figure(e.High), figure(e.PerHour), figure(e.Before), figure(e.After), figure(e.P), int(e.Fault), e.Why); err != nil {
				return err
			}
		}
		if slices.ContainsFunc(events, func(e flow.Event) bool { return e.Kind == flow.Use }) {
			if _, err := t.exec(ctx, "DELETE FROM flow WHERE tank = ?1 AND kind = ?2 AND start < (SELECT start FROM flow WHERE tank = ?1 AND kind = ?2 ORDER BY start DESC LIMIT 1 OFFSET ?3)", tank, string(flow.Use), mostUses-1); err != nil {
				return err
			}
		}
		_, err := t.exec(ctx, "INSERT INTO followed (tank, until, curve, body) VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET until = excluded.until, curve = excluded.curve, body = excluded.body", tank, milli(f.Until), f.Curve, stateBody(f.State))
		return err
	})
}

func stateBody(state []byte) []byte {
	b := append(append(make([]byte, 0, len(state)+1+crcLength), flowForm), state...)
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b, castagnoli))
}

// figure gives a number that SQLite can hold: it has none that isn't one.
func figure(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// Followed gives how far the levels of a tank were followed. Where what is kept of that
// is damaged it is as if nothing were: it can be worked out again, of the last while.
func (s *Readings) Followed(ctx context.Context, tank string) (Followed, error) {
	var f Followed
	var until int64
	var body []byte
	err := s.row(ctx, "how far levels were followed", "SELECT until, curve, body FROM followed WHERE tank = ?", []any{tank}, &until, &f.Curve, &body)
	if errors.Is(err, sql.ErrNoRows) {
		return f, nil
	}
	if err != nil {
		return f, err
	}
	state, err := checked(body, flowForm)
	if err != nil {
		s.log.Warn("what was known of a tank's use can't be read and is worked out anew", "file", s.path, "tank", tank, "error", err)
		return Followed{}, nil
	}
	f.State, f.Until = state, time.UnixMilli(until).UTC()
	return f, nil
}

const flowColumns = "kind, start, finish, found, amount, low, high, per_hour, before, after, p, fault, why"

// Flows gives what happened to a tank between two times (zero: without a bound), the
// latest first, at most so many: what began before the second and hadn't ended before
// the first. Of some kinds alone where those are named.
func (s *Readings) Flows(ctx context.Context, tank string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error) {
	const what = "what came in and went out"
	earliest, before := int64(-1<<62), int64(1<<62)
	if !from.IsZero() {
		earliest = ceilMilli(from)
	}
	if !to.IsZero() {
		before = ceilMilli(to)
	}
	of, args := "", []any{tank, before, earliest}
	if len(kinds) > 0 {
		of = " AND kind IN (?" + strings.Repeat(", ?", len(kinds)-1) + ")"
		for _, k := range kinds {
			args = append(args, string(k))
		}
	}
	rows, err := s.reading().QueryContext(ctx, "SELECT "+flowColumns+" FROM flow WHERE tank = ? AND start < ? AND (finish IS NULL OR finish >= ?)"+of+" ORDER BY start DESC, kind LIMIT ?", append(args, most)...)
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []flow.Event
	for rows.Next() {
		var e flow.Event
		var start, found int64
		var finish sql.NullInt64
		var fault uint8
		if err := rows.Scan(&e.Kind, &start, &finish, &found, &e.Amount, &e.Low, &e.High, &e.PerHour, &e.Before, &e.After, &e.P, &fault, &e.Why); err != nil {
			return nil, s.readError(what, err)
		}
		e.Start, e.Found, e.Fault = time.UnixMilli(start).UTC(), time.UnixMilli(found).UTC(), watch.Fault(fault)
		if finish.Valid {
			e.End = time.UnixMilli(finish.Int64).UTC()
		}
		list = append(list, e)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}
