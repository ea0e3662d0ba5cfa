package sqlite

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// year is a file of one tank's readings of a year, one every ten seconds some
// milliseconds late or early, with noise of 0.3 Ω. It is made once for all benchmarks.
var year = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "year")
	if err != nil {
		return "", err
	}
	ctx := context.Background()
	path := filepath.Join(dir, "watch.db")
	s, err := OpenReadings(ctx, path, Options{})
	if err != nil {
		return "", err
	}
	random := rand.New(rand.NewPCG(1, 2))
	at := yearBegin
	list := make([]watch.Reading, 4096)
	for n := 0; n < yearReadings(); n += len(list) {
		for i := range list {
			at = at.Add(10 * time.Second)
			when := at.Add(time.Duration(random.NormFloat64()*10) * time.Millisecond)
			ohm := 120 - 60*math.Sin(float64(at.Unix())/3e5) + 0.3*random.NormFloat64()
			list[i] = watch.Reading{Tank: "fresh", Source: "mqtt", Time: when, Arrived: when.Add(40 * time.Millisecond), Value: math.Round(ohm*100) / 100}
		}
		if err := s.Keep(list); err != nil {
			return "", err
		}
		if err := s.Seal(ctx); err != nil {
			return "", err
		}
	}
	return path, s.Close()
})

// yearReadings is how many there are; with -short those of a month, which is enough to
// see that all of it works.
func yearReadings() int {
	if testing.Short() {
		return 30 * 8640
	}
	return 365 * 8640
}

var yearBegin = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

// BenchmarkYear asks for a year in a thousand parts.
func BenchmarkYear(b *testing.B) {
	path, err := year()
	if err != nil {
		b.Fatal(err)
	}
	s, err := OpenReadings(b.Context(), path, Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	of := history.Line{Tank: "fresh", Source: "mqtt"}
	stretch := history.Stretch{From: yearBegin, To: yearBegin.AddDate(1, 0, 0), Buckets: 1000}
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	timed := func(name string, f func(b *testing.B)) {
		b.Run(name, func(b *testing.B) {
			begun := processor()
			f(b)
			b.ReportMetric(float64((processor()-begun).Microseconds())/1000/float64(b.N), "cpu-ms/op")
		})
	}
	timed("rolls", func(b *testing.B) {
		for b.Loop() {
			if list, err := s.Readings(b.Context(), of, stretch); err != nil || len(list) < 700 && !testing.Short() {
				b.Fatal(len(list), err)
			}
		}
		b.ReportMetric(float64(info.Size())/float64(yearReadings()), "B/reading")
	})
	timed("full", func(b *testing.B) {
		grid := stretch.Grid()
		for b.Loop() {
			if _, err := s.rolls(b.Context(), of, grid, -1); err != nil {
				b.Fatal(err)
			}
		}
	})
	timed("day by the minute", func(b *testing.B) {
		stretch := history.Stretch{From: yearBegin.AddDate(0, 0, 20), To: yearBegin.AddDate(0, 0, 21), Buckets: 1440}
		for b.Loop() {
			if list, err := s.Readings(b.Context(), of, stretch); err != nil || len(list) != 1440 {
				b.Fatal(len(list), err)
			}
		}
	})
	timed("hour by the reading", func(b *testing.B) {
		stretch := history.Stretch{From: yearBegin.AddDate(0, 0, 20), To: yearBegin.AddDate(0, 0, 20).Add(time.Hour), Buckets: 360}
		for b.Loop() {
			if list, err := s.Readings(b.Context(), of, stretch); err != nil || len(list) < 200 {
				b.Fatal(len(list), err)
			}
		}
	})
}
