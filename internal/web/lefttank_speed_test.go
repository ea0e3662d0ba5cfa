package web

import (
	"context"
	"math"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// BenchmarkLeftTankOnDisk is the page over a file with a year of readings of one
// tank, one in ten seconds, and their levels by the minute: the whole page, as its
// fitter sees it, is to be there within 100 ms (which is felt as at once: common
// practice).
func BenchmarkLeftTankOnDisk(b *testing.B) {
	ctx := context.Background()
	store, err := sqlite.OpenReadings(ctx, filepath.Join(b.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer store.Close()
	begin := sunday.AddDate(-1, 0, 0)
	if testing.Short() {
		begin = sunday.AddDate(0, -1, 0)
	}
	var rolls []history.LevelRoll
	list := make([]watch.Reading, 0, 4096)
	keep := func(until time.Time) {
		if err := store.Keep(list); err != nil {
			b.Fatal(err)
		}
		if err := store.KeepLevels(ctx, "fresh", rolls, until); err != nil {
			b.Fatal(err)
		}
		if err := store.Seal(ctx); err != nil {
			b.Fatal(err)
		}
		list, rolls = list[:0], rolls[:0]
	}
	for at := begin; at.Before(sunday); at = at.Add(time.Minute) {
		pct := 50 - 40*math.Sin(float64(at.Unix())/3e5)
		list = append(list, watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Arrived: at, Value: math.Round(10*(20+pct)) / 10})
		if at.Second() == 0 {
			rolls = append(rolls, rollAt(at, pct, 2))
		}
		if len(list) == cap(list) {
			keep(at.Truncate(time.Minute))
		}
	}
	keep(sunday)
	var events []history.Event
	for i := range 100 {
		events = append(events, history.Event{Time: begin.AddDate(0, 0, 3*i), Tank: "fresh", Kind: history.FaultBegan, Fault: watch.NoReading, Status: watch.Failure, Level: 0.4})
	}
	if err := store.KeepEvents(ctx, events); err != nil {
		b.Fatal(err)
	}
	books, _ := german(b)
	s, err := New(Options{Store: newMemory(), Watch: stall(b).withPast(store), Now: func() time.Time { return sunday }, Languages: books})
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct{ name, query, language string }{{"hour", "hour", "en"}, {"day", "day", "en"}, {"month", "month", "en"}, {"year", "year", "en"}, {"year-german", "year", "de"}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				r := httptest.NewRequest("GET", "http://localhost/left/fresh?for="+c.query, nil)
				r.Header.Set("Accept-Language", c.language)
				w := httptest.NewRecorder()
				if s.ServeHTTP(w, r); w.Code != 200 {
					b.Fatal(w.Code)
				}
				b.ReportMetric(float64(w.Body.Len()), "bytes")
			}
		})
	}
}
