package sqlite_test

import (
	"bytes"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/docket"
	"gaugewright/internal/store/sqlite"
)

func TestDockets(t *testing.T) {
	ctx, folder := t.Context(), t.TempDir()
	s, err := sqlite.OpenReadings(ctx, filepath.Join(folder, "watch.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	at := time.Date(2026, 6, 1, 18, 30, 0, 0, time.UTC)
	first := docket.Docket{ID: "a'); --", Tank: "gas", Kind: docket.Receipt, Time: at, Litres: 31.4, Typed: "31.4 L", Stopped: true, Note: "Tidewater Kitchen, süd", Entered: at.Add(time.Hour)}
	second := docket.Docket{ID: "b", Tank: "gas", Kind: docket.RanOut, Time: at.Add(-time.Hour), Entered: at}
	elsewhere := docket.Docket{ID: "c", Tank: "fresh", Kind: docket.Weighed, Time: at, Kilograms: 12, Entered: at}
	photo := append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte{7}, 1000)...)
	for range 2 {
		if err := errors.Join(s.AddDocket(ctx, first, photo), s.AddDocket(ctx, second, nil), s.AddDocket(ctx, elsewhere, nil)); err != nil {
			t.Fatal(err)
		}
	}
	other := first
	other.Litres = 3
	if err := s.AddDocket(ctx, other, nil); !errors.Is(err, docket.ErrOther) {
		t.Errorf("another with the same ID: %v; expected ErrOther", err)
	}
	if err := s.AddDocket(ctx, docket.Docket{ID: "d", Tank: "gas"}, []byte("GIF89a")); err == nil {
		t.Error("a picture of another kind is kept")
	}
	seen := docket.Seen{Docket: first, Before: 0.2, After: 0.8, UBefore: 0.01, UAfter: 0.02, Refill: true, Start: at, End: at.Add(time.Minute), Looked: at, Done: true}
	if err := errors.Join(s.SawDocket(ctx, seen), s.StrikeDocket(ctx, "gas", "b", true)); err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{s.StrikeDocket(ctx, "fresh", "b", true), s.SawDocket(ctx, docket.Seen{})} {
		if !errors.Is(err, docket.ErrNone) {
			t.Errorf("changing what isn't there: %v; expected ErrNone", err)
		}
	}
	seen.Docket.Photo = seen.Docket.ID
	second.Struck = true
	want := []docket.Seen{{Docket: second, Before: -1, After: -1}, seen}
	backup := filepath.Join(folder, "backup.db")
	if err := s.Backup(ctx, backup); err != nil {
		t.Fatal(err)
	}
	b, err := sqlite.OpenReadings(ctx, backup, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	for name, file := range map[string]*sqlite.Readings{"the file": s, "its backup": b} {
		list, err := file.Dockets(ctx, "gas")
		if diff := cmp.Diff(want, list); diff != "" || err != nil {
			t.Errorf("%s: %v, other than was kept:\n%s", name, err, diff)
		}
		data, kind, err := file.DocketPhoto(ctx, "gas", first.ID)
		if err != nil || kind != "image/jpeg" || !bytes.Equal(data, photo) {
			t.Errorf("%s: a picture of %d bytes, %q, %v", name, len(data), kind, err)
		}
		for _, id := range []string{"b", "x"} {
			if _, _, err := file.DocketPhoto(ctx, "gas", id); !errors.Is(err, docket.ErrNone) {
				t.Errorf("%s: the picture of %s: %v; expected ErrNone", name, id, err)
			}
		}
	}
}
