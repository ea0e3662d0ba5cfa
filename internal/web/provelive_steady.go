package web

import (
	"math"
	"sync"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
	"gaugewright/internal/watch"
)

// A feed is slower and coarser than a meter on the bench: its value stands still
// when it has lain within three thousandths for three seconds and three readings
// (common practice, no source). After so long a silence nothing is known of that.
const (
	feedSilence = 30 * time.Second
	feedStill   = 3 * time.Second
	feedPart    = 0.003
)

// feedState is whether the value of a feed stands still.
type feedState int

const (
	feedUnknown feedState = iota
	feedStands
	feedMoves
)

// mostFeeds is of how many tanks a site remembers what came last.
const mostFeeds = 64

// feedRuns tells by the readings that pages were shown whether the value of a feed
// stands still.
type feedRuns struct {
	mu   sync.Mutex
	runs map[string]*feedRun
}

type feedRun struct {
	steady      *sitting.Steady
	first, last time.Time
	n           int
	spell       int64
}

// add takes in the reading that a level rests on, once, and says how its value
// stands.
func (f *feedRuns) add(tank string, v watch.Level) feedState {
	f.mu.Lock()
	defer f.mu.Unlock()
	run := f.runs[tank]
	if run == nil {
		if f.runs == nil || len(f.runs) >= mostFeeds {
			f.runs = map[string]*feedRun{}
		}
		run = &feedRun{steady: sitting.NewSteady(sitting.SteadyRule{For: feedStill, Silence: feedSilence, Part: feedPart})}
		f.runs[tank] = run
	}
	if !v.Time.Equal(run.last) {
		if gap := v.Time.Sub(run.last); gap < 0 || gap > feedSilence || math.IsNaN(v.Raw) {
			run.first, run.n = v.Time, 0
		}
		x := sitting.Sample{At: v.Time, State: sitting.Reading, Value: quantity.Ohm(v.Raw), Signal: curve.Ohms}
		run.spell = run.steady.Add(x).Spell
		run.last = v.Time
		run.n++
	}
	switch {
	case run.spell > 0:
		return feedStands
	case run.n >= 3 && run.last.Sub(run.first) >= feedStill:
		return feedMoves
	}
	return feedUnknown
}
