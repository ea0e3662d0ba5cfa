package sqlite

import (
	"context"
	"database/sql"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// KeepEvents keeps what happened, all of it or nothing: it is on the disk when there is
// no error. Times are rounded to a millisecond. What happened to the same tank (or to
// the watch), at the same time and of the same kind, is kept once.
func (s *Readings) KeepEvents(ctx context.Context, events []history.Event) error {
	if len(events) == 0 {
		return nil
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	return s.write(ctx, "what happened", func(t *txn) error { return keepEvents(ctx, t, events) })
}

func keepEvents(ctx context.Context, t *txn, events []history.Event) error {
	for _, e := range events {
		level := sql.NullFloat64{Float64: e.Level, Valid: e.Level >= 0}
		if _, err := t.exec(ctx, "INSERT INTO event (time, tank, kind, fault, status, level, text) VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
			milli(e.Time), e.Tank, string(e.Kind), int(e.Fault), int(e.Status), level, e.Text); err != nil {
			return err
		}
	}
	return nil
}

// Events gives what happened; see [history.Past].
func (s *Readings) Events(ctx context.Context, tank string, from, to time.Time, most int) ([]history.Event, error) {
	const what = "what happened"
	earliest, before := int64(-1<<62), int64(1<<62)
	if !from.IsZero() {
		earliest = ceilMilli(from)
	}
	if !to.IsZero() {
		before = ceilMilli(to)
	}
	query, args := "SELECT time, tank, kind, fault, status, level, text FROM event WHERE time >= ? AND time < ? ORDER BY time DESC, number DESC LIMIT ?", []any{earliest, before, most}
	if tank != "" {
		query, args = "SELECT time, tank, kind, fault, status, level, text FROM event WHERE tank = ? AND time >= ? AND time < ? ORDER BY time DESC, number DESC LIMIT ?", []any{tank, earliest, before, most}
	}
	rows, err := s.reading().QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []history.Event
	for rows.Next() {
		var at int64
		var fault, status uint8
		var level sql.NullFloat64
		e := history.Event{Level: -1}
		if err := rows.Scan(&at, &e.Tank, &e.Kind, &fault, &status, &level, &e.Text); err != nil {
			return nil, s.readError(what, err)
		}
		e.Time, e.Fault, e.Status = time.UnixMilli(at).UTC(), watch.Fault(fault), watch.Status(status)
		if level.Valid {
			e.Level = level.Float64
		}
		list = append(list, e)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}
