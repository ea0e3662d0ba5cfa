package sqlite

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// BenchmarkKeepManyLines keeps a reading of each of 40,000 tanks every ten seconds, in
// commits of 4,000.
func BenchmarkKeepManyLines(b *testing.B) {
	const tanks = 40_000
	s, err := OpenReadings(context.Background(), filepath.Join(b.TempDir(), "watch.db"), Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	list := make([]watch.Reading, tanks)
	names := make([]string, tanks)
	for i := range names {
		names[i] = fmt.Sprintf("tank-%05d", i)
	}
	n := 0
	begun := processor()
	for b.Loop() {
		at := noonTime.Add(time.Duration(n) * 10 * time.Second)
		for i := range list {
			list[i] = watch.Reading{Tank: names[i], Source: "mqtt", Time: at.Add(time.Duration(i*7%1000) * time.Millisecond), Value: 100 + float64((i+n)%17)/10}
		}
		n++
		for rest := list; len(rest) > 0; rest = rest[4000:] {
			if err := s.Keep(rest[:4000]); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64((processor()-begun).Nanoseconds())/float64(n*tanks), "cpu-ns/reading")
	if used, err := s.used(context.Background()); err == nil {
		b.ReportMetric(float64(used)/float64(n*tanks), "B/reading")
	}
}
