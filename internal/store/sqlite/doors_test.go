package sqlite_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/doors"
	"gaugewright/internal/store/sqlite"
)

func TestPasses(t *testing.T) {
	now := time.Date(2026, 11, 3, 10, 0, 0, 0, time.UTC)
	path := filepath.Join(t.TempDir(), "watch.db")
	s, err := sqlite.OpenReadings(t.Context(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	g := doors.NewRegister(s)
	ctx := t.Context()
	link, secret, err := g.Make(ctx, doors.Pass{Kind: doors.Link, Name: "Tidewater Kitchen", Tanks: []string{"fresh", "grey'); --"}, Until: now.AddDate(1, 0, 0)}, now)
	if err != nil {
		t.Fatal(err)
	}
	token, other, err := g.Make(ctx, doors.Pass{Kind: doors.Token, Name: "hut", Publish: true}, now.Add(time.Minute))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.AddPass(ctx, token); !errors.Is(err, doors.ErrThere) {
		t.Errorf("the same ID again: %v; expected ErrThere", err)
	}
	list, err := g.Passes(ctx)
	if diff := cmp.Diff([]doors.Pass{token, link}, list); diff != "" || err != nil {
		t.Errorf("%v, other than was kept:\n%s", err, diff)
	}
	if v, err := g.Enter(ctx, doors.Link, secret, now.Add(time.Hour)); err != nil || !v.Sees("fresh") || v.Sees("black") {
		t.Errorf("%+v, %v", v, err)
	}
	if p, ok, err := s.PassNamed(ctx, link.ID); err != nil || !ok || !p.Used.Equal(now.Add(time.Hour)) {
		t.Errorf("used last %s, %v, %v", p.Used, ok, err)
	}
	// Another program that has the file open revokes it: it is over at once.
	beside, err := sqlite.OpenReadings(ctx, path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := beside.RevokePass(ctx, link.ID, now); err != nil {
		t.Fatal(err)
	}
	if err := beside.RevokePass(ctx, link.ID, now.Add(time.Hour)); err != nil {
		t.Errorf("revoked again: %v", err)
	}
	if _, err := g.Enter(ctx, doors.Link, secret, now); !errors.Is(err, doors.ErrNoPass) {
		t.Errorf("after another program revoked it: %v", err)
	}
	if p, _, _ := s.PassNamed(ctx, link.ID); !p.Revoked.Equal(now) {
		t.Errorf("it was revoked %s; expected the first time to stand", p.Revoked)
	}
	if err := s.RevokePass(ctx, "nonesuch", now); !errors.Is(err, doors.ErrNoPass) {
		t.Errorf("one that isn't there: %v", err)
	}
	if err := errors.Join(beside.Close(), s.Close()); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{secret, other} {
		_, bare, _ := strings.Cut(text, "-")
		if bytes.Contains(data, []byte(bare)) || bytes.Contains(data, []byte(strings.ToUpper(bare))) {
			t.Error("a secret is in the file")
		}
	}
}

// What the file says of the tanks is never taken for all of them.
func TestPassDamaged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "watch.db")
	s, err := sqlite.OpenReadings(t.Context(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := doors.NewRegister(s).Make(t.Context(), doors.Pass{Kind: doors.Link, Name: "x", Tanks: []string{"fresh"}}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, tanks := range []string{"'null'", "'nonsense'", "'{}'"} {
		altered(t, path, "UPDATE pass SET tanks = "+tanks)
		if s, err = sqlite.OpenReadings(t.Context(), path, sqlite.Options{}); err != nil {
			t.Fatal(err)
		}
		if _, ok, err := s.PassNamed(t.Context(), p.ID); ok || err == nil {
			t.Errorf("tanks %s: it is let in", tanks)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func BenchmarkPassStill(b *testing.B) {
	s, err := sqlite.OpenReadings(b.Context(), filepath.Join(b.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	g := doors.NewRegister(s)
	p, _, err := g.Make(b.Context(), doors.Pass{Kind: doors.Link, Name: "x"}, time.Now())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := g.Still(b.Context(), p.ID, time.Now()); err != nil {
			b.Fatal(err)
		}
	}
}
