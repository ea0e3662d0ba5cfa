package sqlite_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"

	"gaugewright/internal/store/sqlite"
)

// The session manager that the pages use takes it as it is.
var (
	_ scs.Store    = (*sqlite.Sessions)(nil)
	_ scs.CtxStore = (*sqlite.Sessions)(nil)
)

func TestSessions(t *testing.T) {
	now := time.Date(2026, 11, 3, 10, 0, 0, 0, time.UTC)
	path := filepath.Join(t.TempDir(), "jobs.db")
	store := opened(t, path, sqlite.Options{Now: func() time.Time { return now }})
	s := store.Sessions()
	find := func(token string, want []byte, there bool) {
		t.Helper()
		if data, found, err := s.Find(token); err != nil || found != there || found && !bytes.Equal(data, want) {
			t.Errorf("%q: %q, %v, %v; want %q, %v", token, data, found, err, want, there)
		}
	}
	commit := func(token string, data []byte, expiry time.Time) {
		t.Helper()
		if err := s.Commit(token, data, expiry); err != nil {
			t.Fatal(err)
		}
	}
	const token = "a token that nobody may find in the file"
	find(token, nil, false)
	commit(token, []byte("one\x00"), now.Add(time.Hour))
	find(token, []byte("one\x00"), true)
	commit(token, []byte("two"), now.Add(2*time.Hour))
	find(token, []byte("two"), true)
	commit("empty", nil, now.Add(time.Hour))
	find("empty", nil, true)
	commit("old", []byte("x"), now)
	find("old", nil, false)
	for range 2 {
		if err := s.Delete("empty"); err != nil {
			t.Fatal(err)
		}
		find("empty", nil, false)
	}
	now = now.Add(2*time.Hour - time.Millisecond)
	find(token, []byte("two"), true)
	now = now.Add(time.Millisecond)
	find(token, nil, false)

	const live = "another token that nobody may find"
	commit(live, []byte("n"), now.Add(time.Hour)) // takes out the two that have expired
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	altered(t, path, "CREATE TABLE left AS SELECT count(*) n FROM session", "INSERT INTO left SELECT 1/(n = 1) FROM left")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(data, []byte(token)) || bytes.Contains(data, []byte(live)) {
		t.Error("a token is in the file")
	}
}

// TestSessionManager goes round by the session manager itself.
func TestSessionManager(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs.db")
	m := scs.New()
	m.Store = opened(t, path, sqlite.Options{}).Sessions()
	ctx, err := m.Load(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	m.Put(ctx, "who", "the fitter")
	token, _, err := m.Commit(ctx)
	if err != nil {
		t.Fatal(err)
	}
	m.Store = opened(t, path, sqlite.Options{}).Sessions() // another process
	if ctx, err = m.Load(context.Background(), token); err != nil || m.GetString(ctx, "who") != "the fitter" {
		t.Errorf("%q, %v", m.GetString(ctx, "who"), err)
	}
	if err := m.Destroy(ctx); err != nil {
		t.Fatal(err)
	}
	if ctx, err = m.Load(context.Background(), token); err != nil || m.GetString(ctx, "who") != "" {
		t.Errorf("afterwards: %q, %v", m.GetString(ctx, "who"), err)
	}
}
