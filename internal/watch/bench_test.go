package watch

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkTake takes readings of a drive: a reading a second with slosh, hills,
// and a spike now and then.
func BenchmarkTake(b *testing.B) {
	p := plan{interval: 1, resolution: 0.1, white: 0.1, swing: 4, period: 1.1, damping: 0.05, hills: 1, hillTime: 15, spikes: 0.002, driveUse: 5}
	h := p.draw("drive", rand.New(rand.NewPCG(1, 1)), 10, 180, 60, []phase{{"stand", 600, 0}, {"drive", 7200, 0}, {"stand", 600, 0}})
	in, err := Ends(10, 180, 0.1)
	if err != nil {
		b.Fatal(err)
	}
	readings := make([]Reading, len(h.rows))
	for i, r := range h.rows {
		readings[i] = Reading{Tank: "a", Source: "mqtt", Time: r.time(), Value: r.ohm}
	}
	long := readings[len(readings)-1].Time.Sub(readings[0].Time) + 1e9
	w, err := New(Config{Tank: "a", Instrument: in})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		r := readings[i]
		w.Take(r)
		readings[i].Time = r.Time.Add(long)
		if i++; i == len(readings) {
			i = 0
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}
