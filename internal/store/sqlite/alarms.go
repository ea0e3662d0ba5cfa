package sqlite

import (
	"context"
	"encoding/json"
	"time"

	"gaugewright/internal/alarm"
)

// mostMoves is how many moves of alarms are kept, the latest: at a move every ten minutes
// half a year.
const mostMoves = 25_000

// KeepAlarms keeps alarms as they stand together with the moves that brought them there,
// and lets go of those that are gone: all of it or nothing, and it is on the disk when
// there is no error. What is handed over again changes nothing. Times of moves are rounded
// to a millisecond.
func (s *Readings) KeepAlarms(ctx context.Context, points []alarm.Point, moves []alarm.Move, gone []string) error {
	if len(points)+len(moves)+len(gone) == 0 {
		return nil
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	return s.write(ctx, "the alarms", func(t *txn) error {
		for _, p := range points {
			body, err := json.Marshal(p)
			if err != nil {
				return err
			}
			if _, err := t.exec(ctx, "INSERT INTO alarm (id, body) VALUES (?, ?) ON CONFLICT (id) DO UPDATE SET body = excluded.body", p.ID, string(body)); err != nil {
				return err
			}
		}
		for _, id := range gone {
			if _, err := t.exec(ctx, "DELETE FROM alarm WHERE id = ?", id); err != nil {
				return err
			}
		}
		for _, m := range moves {
			if _, err := t.exec(ctx, `INSERT INTO alarm_move (alarm, time, "from", "to", "by", what) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
				m.ID, milli(m.Time), string(m.From), string(m.To), m.By, m.What); err != nil {
				return err
			}
		}
		if len(moves) == 0 {
			return nil
		}
		_, err := t.exec(ctx, "DELETE FROM alarm_move WHERE number <= (SELECT max(number) FROM alarm_move) - ?", mostMoves)
		return err
	})
}

// Alarms gives the alarms as they were kept. One whose row can't be read is left out and
// logged: it begins anew.
func (s *Readings) Alarms(ctx context.Context) ([]alarm.Point, error) {
	const what = "the alarms"
	rows, err := s.reading().QueryContext(ctx, "SELECT id, body FROM alarm ORDER BY id")
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []alarm.Point
	for rows.Next() {
		var id, body string
		if err := rows.Scan(&id, &body); err != nil {
			return nil, s.readError(what, err)
		}
		var p alarm.Point
		if err := json.Unmarshal([]byte(body), &p); err != nil || p.ID != id || !p.Sound() {
			s.log.Error("an alarm as it was kept can't be read; it begins anew", "file", s.path, "alarm", id, "error", err)
			continue
		}
		list = append(list, p)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}

// Moves gives what an alarm did, the latest first; id "": all of them.
func (s *Readings) Moves(ctx context.Context, id string, most int) ([]alarm.Move, error) {
	const what = "what the alarms did"
	query, args := `SELECT alarm, time, "from", "to", "by", what FROM alarm_move ORDER BY number DESC LIMIT ?`, []any{most}
	if id != "" {
		query, args = `SELECT alarm, time, "from", "to", "by", what FROM alarm_move WHERE alarm = ? ORDER BY number DESC LIMIT ?`, []any{id, most}
	}
	rows, err := s.reading().QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []alarm.Move
	for rows.Next() {
		var m alarm.Move
		var at int64
		if err := rows.Scan(&m.ID, &at, &m.From, &m.To, &m.By, &m.What); err != nil {
			return nil, s.readError(what, err)
		}
		m.Time = time.UnixMilli(at).UTC()
		list = append(list, m)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}
