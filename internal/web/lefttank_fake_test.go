package web

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// pastOf is a past that a test makes up.
type pastOf struct {
	mu     sync.Mutex
	asked  []history.Stretch
	rolls  []history.LevelRoll // of every tank, alike
	lines  []history.Line
	ohm    func(l history.Line, at time.Time) (float64, bool) // of a bucket that begins then
	events []history.Event
	since  time.Time
	err    error
}

func (p *pastOf) Lines(_ context.Context, tank string) ([]history.Line, error) {
	var list []history.Line
	for _, l := range p.lines {
		if l.Tank == tank {
			list = append(list, l)
		}
	}
	return list, p.err
}

func (p *pastOf) Readings(_ context.Context, l history.Line, s history.Stretch) ([]history.Bucket, error) {
	var list []history.Bucket
	g := s.Grid()
	for i := range g.N {
		if v, ok := p.ohm(l, g.Begin(i)); ok {
			list = append(list, history.Bucket{From: g.Begin(i), N: 30, Min: v - 1, Mean: v, Max: v + 2})
		}
	}
	return list, p.err
}

func (p *pastOf) Levels(_ context.Context, _ string, s history.Stretch) ([]history.LevelBucket, error) {
	p.mu.Lock()
	p.asked = append(p.asked, s)
	p.mu.Unlock()
	g := s.Grid()
	return g.Levels(p.rolls), p.err
}

func (p *pastOf) Events(_ context.Context, tank string, from, to time.Time, most int) ([]history.Event, error) {
	var list []history.Event
	for _, e := range slices.Backward(p.events) {
		if (tank == "" || e.Tank == tank) && !e.Time.Before(from) && e.Time.Before(to) && len(list) < most {
			list = append(list, e)
		}
	}
	return list, p.err
}

func (p *pastOf) Since(context.Context, string) (time.Time, error) { return p.since, p.err }

// rollAt is a roll of thirty levels about a share, in percent.
func rollAt(at time.Time, pct, doubt float64) history.LevelRoll {
	v := int64(math.Round(pct * 100))
	d := int64(doubt * 100)
	r := history.LevelRoll{From: at.UTC(), Low: 30 * (v - d), High: 30 * (v + d)}
	r.Share.N, r.Share.Min, r.Share.Max, r.Share.Sum = 30, v-50, v+40, 30*v
	return r
}

// rollsOf makes rolls at a pace, of a level that a function of the time gives; none
// where it is NaN, and one of readings without a level where it is below 0.
func rollsOf(from, to time.Time, pace time.Duration, level func(time.Time) float64) []history.LevelRoll {
	var list []history.LevelRoll
	for at := from.Truncate(pace); at.Before(to); at = at.Add(pace) {
		switch v := level(at); {
		case math.IsNaN(v):
		case v < 0:
			list = append(list, history.LevelRoll{From: at.UTC(), Without: 30, Worst: watch.Failure})
		default:
			list = append(list, rollAt(at, v, 2.5))
		}
	}
	return list
}

// keptDay is the stall with a day that was kept of it: used up slowly, nothing heard
// for two hours, its wire broken for one, and filled again.
func keptDay(from time.Time) *pastOf {
	p := &pastOf{since: from.Add(-48 * time.Hour)}
	p.rolls = rollsOf(from, from.Add(24*time.Hour), time.Minute, func(at time.Time) float64 {
		switch h := at.Sub(from).Hours(); {
		case h >= 6 && h < 8:
			return math.NaN()
		case h >= 12 && h < 13:
			return -1
		case h >= 18:
			return 70 - h/2
		default:
			return 45 - h*1.4
		}
	})
	p.lines = []history.Line{{Tank: "gas", Source: "mqtt"}, {Tank: "gas", Source: "modbus/bay"}, {Tank: "gas", Source: "bay box", Signal: watch.Volt}, {Tank: "fresh", Source: "mqtt"}}
	p.ohm = func(l history.Line, at time.Time) (float64, bool) {
		h := at.Sub(from).Hours()
		v := 60 - h
		if l.Signal == watch.Volt {
			v /= 20
		}
		return v, h >= 0 && h < 24 && !(h >= 6 && h < 8)
	}
	p.events = []history.Event{
		{Time: from.Add(6 * time.Hour), Kind: history.Ended, Level: -1},
		{Time: from.Add(8 * time.Hour), Kind: history.Began, Level: -1},
		{Time: from.Add(12 * time.Hour), Tank: "gas", Kind: history.FaultBegan, Fault: watch.BrokenWire, Status: watch.Failure, Level: 0.28},
		{Time: from.Add(13 * time.Hour), Tank: "gas", Kind: history.FaultEnded, Fault: watch.BrokenWire, Level: 0.28},
		{Time: from.Add(14 * time.Hour), Tank: "fresh", Kind: history.FaultBegan, Fault: watch.ShortCircuit, Status: watch.Failure, Level: 0.5},
		{Time: from.Add(20 * time.Hour), Kind: history.DiskFailed, Level: -1, Text: "no room on the disk"},
	}
	return p
}

// years is a past of a year and more, by the day.
func years(to time.Time) *pastOf {
	p := &pastOf{since: to.AddDate(-1, 0, -20)}
	p.rolls = rollsOf(p.since, to, 6*time.Hour, func(at time.Time) float64 {
		d := at.Sub(p.since).Hours() / 24
		return 80 - 4*math.Mod(d, 17) + math.Sin(d*9)
	})
	p.lines = []history.Line{{Tank: "gas", Source: "mqtt"}}
	p.ohm = func(_ history.Line, at time.Time) (float64, bool) {
		return 50 + 20*math.Sin(float64(at.Unix())/4e6), true
	}
	for i := range 40 {
		p.events = append(p.events, history.Event{Time: p.since.AddDate(0, 0, 9*i), Tank: "gas", Kind: history.FaultBegan, Fault: watch.NoReading, Status: watch.Failure, Level: 0.4})
	}
	return p
}

// withPast gives a watch a past.
func (w *watches) withPast(p history.Past) *watches { w.past = p; return w }

// openWire is the stall with the same day, in whose hour without a level one source
// said 99,999 Ω, as many do of an open wire.
func openWire(t testing.TB, from time.Time) *watches {
	past := keptDay(from)
	read := past.ohm
	past.ohm = func(l history.Line, at time.Time) (float64, bool) {
		if h := at.Sub(from).Hours(); l.Source == "mqtt" && h >= 12 && h < 13 {
			return 99999, true
		}
		return read(l, at)
	}
	w := stall(t).withPast(past)
	w.labels[0].Least, w.labels[0].Most = 10, 90
	return w
}
