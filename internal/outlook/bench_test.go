package outlook

import (
	"math/rand/v2"
	"testing"
	"time"
)

// yearOf gives the stretches of a year by the hour.
func yearOf(name string) ([]Drawn, *time.Location) {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		zone = time.UTC
	}
	r := rand.New(rand.NewPCG(1, 1))
	p := personOf(name)
	l := p.live(r, 366, zone)
	var out []Drawn
	e := 0.0
	for at := 0; at+4 < 365*96; at += 4 {
		f := 0.005 * r.NormFloat64()
		out = append(out, Drawn{
			From: l.begin.Add(time.Duration(at) * quarter), To: l.begin.Add(time.Duration(at+4) * quarter),
			Amount: (l.sum[at+4]-l.sum[at])*0.08 + f - e, U: 0.007,
		})
		e = f
	}
	return out, zone
}

func personOf(name string) *person {
	for i := range people {
		if people[i].name == name {
			return &people[i]
		}
	}
	panic("outlook: no such person: " + name)
}

func BenchmarkAddYear(b *testing.B) {
	d, zone := yearOf("family with showers, away now and then")
	for b.Loop() {
		m := New(Config{Zone: zone})
		for _, x := range d {
			m.Add(x)
		}
	}
}

func benchmarkAhead(b *testing.B, days int, level float64) {
	d, zone := yearOf("family with showers, away now and then")
	m := New(Config{Zone: zone})
	for _, x := range d[:days*24] {
		m.Add(x)
	}
	s := Standing{Now: d[days*24-1].To, Level: level, U: 0.01, Shown: true}
	m.Ahead(s)
	b.ResetTimer()
	for b.Loop() {
		m.reckoning = nil
		m.Ahead(s)
	}
}

func BenchmarkAheadMonth(b *testing.B)    { benchmarkAhead(b, 30, 0.6) }
func BenchmarkAheadYear(b *testing.B)     { benchmarkAhead(b, 364, 0.6) }
func BenchmarkAheadFarthest(b *testing.B) { benchmarkAhead(b, 364, 60) }
