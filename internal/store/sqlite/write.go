package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"time"
)

// txn is a transaction that may write. Its errors are worded for people, but
// for sql.ErrNoRows.
type txn struct {
	s    *file
	what string // is being written, for messages: "the change"
	conn *sql.Conn
}

// write runs f in a transaction that has the file to itself from the start, so
// that what f reads is what it changes. It is committed when f gives no error,
// and rolled back when f gives one or panics. A commit that has begun isn't
// given up with the context.
func (s *file) write(ctx context.Context, what string, f func(*txn) error) error {
	s.writing.RLock()
	defer s.writing.RUnlock()
	conn, err := s.writer.Conn(ctx)
	if err != nil {
		return s.writeError(what, err)
	}
	always := context.WithoutCancel(ctx)
	committed := false
	defer func() {
		if !committed {
			if _, err := conn.ExecContext(always, "ROLLBACK"); err != nil {
				// SQLite may have rolled back by itself, or not at all: a new
				// connection is in a state that is known.
				_ = conn.Raw(func(any) error { return driver.ErrBadConn })
			}
		}
		_ = conn.Close()
	}()
	if err := s.patient(ctx, func(ctx context.Context) error {
		_, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE")
		return err
	}); err != nil {
		return s.writeError(what, err)
	}
	if err := f(&txn{s: s, what: what, conn: conn}); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return s.writeError(what, err)
	}
	if s.between != nil {
		s.between()
	}
	if _, err := conn.ExecContext(always, "COMMIT"); err != nil {
		return s.writeError(what, err)
	}
	committed = true
	return nil
}

func (t *txn) exec(ctx context.Context, query string, args ...any) (sql.Result, error) {
	if t.s.between != nil {
		t.s.between()
	}
	r, err := t.conn.ExecContext(ctx, query, args...)
	if err != nil {
		err = t.s.writeError(t.what, err)
	}
	return r, err
}

func (t *txn) row(ctx context.Context, query string, args []any, into ...any) error {
	err := t.conn.QueryRowContext(ctx, query, args...).Scan(into...)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		err = t.s.writeError(t.what, err)
	}
	return err
}

// row reads one row outside of any transaction; see txn.row.
func (s *file) row(ctx context.Context, what, query string, args []any, into ...any) error {
	err := s.readers.QueryRowContext(ctx, query, args...).Scan(into...)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		err = s.readError(what, err)
	}
	return err
}

// stamp gives a time as the file has it.
func stamp(t time.Time) (string, error) {
	text, err := t.UTC().MarshalText() // refuses years that wouldn't read back
	return string(text), err
}
