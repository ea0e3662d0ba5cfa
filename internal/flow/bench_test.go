package flow

import (
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// BenchmarkTake takes levels of three weeks with use, refills and gaps at ten seconds.
func BenchmarkTake(b *testing.B) {
	a := newTeller("", 3)
	a.every, a.shows = 10, a.level
	for range 7 {
		a.run(2.4*86400, "")
		a.pour(97-a.level, 400, "")
		a.run(0.4*86400, "")
		a.run(0.2*86400, "gap")
	}
	in, err := watch.Ends(10, 180, 0)
	if err != nil {
		b.Fatal(err)
	}
	w, err := watch.New(watch.Config{Tank: "a", Instrument: in})
	if err != nil {
		b.Fatal(err)
	}
	all := make([]watch.Level, 0, len(a.t.rows))
	for _, r := range a.t.rows {
		all = append(all, w.Take(watch.Reading{Tank: "a", Source: "x", Time: r.at, Value: r.ohm}))
	}
	long := all[len(all)-1].Time.Sub(all[0].Time) + time.Hour
	k := New(Config{Steady: -1})
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		k.take(&all[i])
		all[i].Time = all[i].Time.Add(long)
		if i++; i == len(all) {
			i = 0
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "levels/s")
}
