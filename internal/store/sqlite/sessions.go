package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"sync"
	"time"
)

// purgeEvery is how often expired sessions are taken out, at most.
const purgeEvery = 10 * time.Minute

// Sessions keeps web sessions in the same file. Tokens are kept as their
// SHA-256 only. The data of a session is what the caller makes it: it is not
// encrypted.
type Sessions struct {
	store  *Store
	mu     sync.Mutex
	purged time.Time
}

// Sessions gives the store's sessions.
func (s *Store) Sessions() *Sessions { return &s.sessions }

// Find gives the data of a session; false where there is none of that token, or
// it has expired.
func (s *Sessions) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// FindCtx is Find with a context.
func (s *Sessions) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	data := []byte{}
	err := s.store.row(ctx, "the session", "SELECT data FROM session WHERE token = ? AND expires > ?",
		[]any{hashed(token), s.store.now().UnixMilli()}, &data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	return data, err == nil, err
}

// Commit keeps a session until it expires, in the place of an earlier one of
// that token.
func (s *Sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// CommitCtx is Commit with a context.
func (s *Sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	if data == nil {
		data = []byte{}
	}
	purge := s.due()
	return s.store.write(ctx, "the session", func(t *txn) error {
		if purge {
			if _, err := t.exec(ctx, "DELETE FROM session WHERE expires <= ?", s.store.now().UnixMilli()); err != nil {
				return err
			}
		}
		_, err := t.exec(ctx, `INSERT INTO session (token, data, expires) VALUES (?, ?, ?)
			ON CONFLICT (token) DO UPDATE SET data = excluded.data, expires = excluded.expires`,
			hashed(token), data, expiry.UnixMilli())
		return err
	})
}

// Delete ends a session; it is no error where there is none.
func (s *Sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }

// DeleteCtx is Delete with a context.
func (s *Sessions) DeleteCtx(ctx context.Context, token string) error {
	return s.store.write(ctx, "the end of the session", func(t *txn) error {
		_, err := t.exec(ctx, "DELETE FROM session WHERE token = ?", hashed(token))
		return err
	})
}

// due says whether it is time to purge, and counts it as done.
func (s *Sessions) due() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.store.now()
	if since := now.Sub(s.purged); since >= 0 && since < purgeEvery {
		return false
	}
	s.purged = now
	return true
}

func hashed(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}
