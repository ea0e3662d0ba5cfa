package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/doors"
)

// A file of readings keeps the passes of its watch.
var _ doors.Keeper = (*Readings)(nil)

const passColumns = "id, kind, name, reads, sends, tanks, made, until, revoked, used, sum"

// Passes gives all links and tokens, the latest first; those that were revoked
// too.
func (s *Readings) Passes(ctx context.Context) ([]doors.Pass, error) {
	const what = "the links and tokens"
	rows, err := s.readers.QueryContext(ctx, "SELECT "+passColumns+" FROM pass ORDER BY made DESC, id")
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []doors.Pass
	for rows.Next() {
		p, err := s.scanPass(rows.Scan)
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}

// PassOf gives the one with that sum; ok is false where there is none.
func (s *Readings) PassOf(ctx context.Context, sum [sha256.Size]byte) (p doors.Pass, ok bool, err error) {
	return s.pass(ctx, "sum", sum[:])
}

// PassNamed gives the one with that ID; ok is false where there is none.
func (s *Readings) PassNamed(ctx context.Context, id string) (p doors.Pass, ok bool, err error) {
	return s.pass(ctx, "id", id)
}

func (s *Readings) pass(ctx context.Context, column string, value any) (doors.Pass, bool, error) {
	row := s.readers.QueryRowContext(ctx, "SELECT "+passColumns+" FROM pass WHERE "+column+" = ?", value)
	p, err := s.scanPass(row.Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return p, false, nil
	}
	return p, err == nil, err
}

// scanPass reads one row.
func (s *Readings) scanPass(scan func(...any) error) (p doors.Pass, err error) {
	var tanks sql.NullString
	var made, until, revoked, used int64
	var sum []byte
	err = scan(&p.ID, &p.Kind, &p.Name, &p.Read, &p.Publish, &tanks, &made, &until, &revoked, &used, &sum)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return p, err
	case err != nil:
		return p, s.readError("the links and tokens", err)
	}
	if tanks.Valid {
		// An empty list must never become all tanks.
		p.Tanks = []string{}
		if err := json.Unmarshal([]byte(tanks.String), &p.Tanks); err != nil || p.Tanks == nil {
			return p, s.damaged(fmt.Sprintf("the tanks of the pass %s can't be read", p.ID))
		}
	}
	p.Made, p.Until, p.Revoked, p.Used = second(made), second(until), second(revoked), second(used)
	copy(p.Sum[:], sum)
	return p, nil
}

func second(n int64) time.Time {
	if n == 0 {
		return time.Time{}
	}
	return time.Unix(n, 0).UTC()
}

func seconds(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.Unix()
}

// AddPass keeps a new one; doors.ErrThere where its ID is taken.
func (s *Readings) AddPass(ctx context.Context, p doors.Pass) error {
	var tanks sql.NullString
	if p.Tanks != nil {
		text, err := json.Marshal(p.Tanks)
		if err != nil {
			return err
		}
		tanks = sql.NullString{String: string(text), Valid: true}
	}
	return s.write(ctx, "the link or token", func(t *txn) error {
		r, err := t.exec(ctx, "INSERT INTO pass ("+passColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
			p.ID, p.Kind, p.Name, p.Read, p.Publish, tanks, seconds(p.Made), seconds(p.Until), seconds(p.Revoked), seconds(p.Used), p.Sum[:])
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, doors.ErrThere)
		}
		return nil
	})
}

// RevokePass revokes one; doors.ErrNoPass where there is none.
func (s *Readings) RevokePass(ctx context.Context, id string, at time.Time) error {
	return s.write(ctx, "that the link or token is revoked", func(t *txn) error {
		r, err := t.exec(ctx, "UPDATE pass SET revoked = CASE revoked WHEN 0 THEN ? ELSE revoked END WHERE id = ?", seconds(at), id)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, doors.ErrNoPass)
		}
		return nil
	})
}

// UsedPass notes when one was used last.
func (s *Readings) UsedPass(ctx context.Context, id string, at time.Time) error {
	return s.write(ctx, "when the link or token was used", func(t *txn) error {
		_, err := t.exec(ctx, "UPDATE pass SET used = ? WHERE id = ?", seconds(at), id)
		return err
	})
}
