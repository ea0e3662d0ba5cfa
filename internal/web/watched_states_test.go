package web

import (
	"errors"
	"fmt"
	"math"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// broken is the stall with the wire of one sender broken since half an hour.
func broken(t testing.TB) *watches {
	w := stall(t)
	w.levels[0] = lost(w.levels[0], watch.BrokenWire, 28*time.Minute)
	return w
}

// silent is the stall with nothing heard of one tank for longer than its stale age,
// and another whose level is doubtful.
func silent(t testing.TB) *watches {
	w := stall(t)
	w.levels[1] = lost(w.levels[1], watch.NoReading, 7*time.Minute)
	w.levels[2].Status, w.levels[2].Fault, w.levels[2].Since = watch.OutOfSpec, watch.JustBeyond, sunday.Add(-18*time.Minute)
	w.levels[2].Motion = watch.Moving
	w.levels[2].Last = watch.LastGood{Time: sunday.Add(-18*time.Minute - 4*time.Second), Share: 0.87, U: 0.004, Volume: figureL(17.4, 0.08), Mass: gauge.Figure{Mid: math.NaN(), U: math.NaN()}}
	return w
}

// early is the stall before anything has come.
func early(t testing.TB) *watches {
	w := stall(t)
	for i := range w.levels {
		w.levels[i] = watch.Level{Tank: w.labels[i].Tank, Status: watch.Failure, Fault: watch.NoReading}
		w.counts[i] = watch.Counts{}
	}
	w.feeds = []FeedState{{Name: "mqtt", Up: true, Where: "127.0.0.1:1883", Since: sunday.Add(-3 * time.Second)}, {Name: "modbus/bay"}}
	return w
}

// cutOff is the stall with a feed that is down.
func cutOff(t testing.TB) *watches {
	w := stall(t)
	w.feeds[1].Up, w.feeds[1].Where, w.feeds[1].Since, w.feeds[1].Again = false, "", sunday.Add(-75*time.Second), sunday.Add(8*time.Second)
	w.feeds[1].Why = errors.New("dial tcp 127.0.0.1:502: connect: connection refused").Error()
	w.levels[2] = lost(w.levels[2], watch.Flicker, 40*time.Second)
	w.levels[2].Status = watch.Check
	return w
}

// twelve is a workshop's yard: many tanks, each in a state of its own.
func twelve(t testing.TB) *watches {
	w := &watches{feeds: stall(t).feeds}
	for i := range 12 {
		one := stall(t)
		if i%4 == 1 {
			one = broken(t)
		} else if i%4 == 3 {
			one = silent(t)
		}
		k := (i + i/4) % 3
		l := one.labels[k]
		l.Tank, l.Label = fmt.Sprintf("%s-%d", l.Tank, i+1), fmt.Sprintf("%s, stall %d", l.Label, i/3+1)
		w.labels, w.levels, w.counts = append(w.labels, l), append(w.levels, one.levels[k]), append(w.counts, one.counts[k])
	}
	return w
}

// evilWatch is the stall with texts that try to become parts of the page.
func evilWatch(t testing.TB) *watches {
	w := silent(t)
	for i, text := range []string{runs, breaksOut, strings.Repeat("Donaudampfschiff", 20)} {
		w.labels[i].Label, w.labels[i].Sentence = text, text
		w.labels[i].Units = quantity.Units{Volume: text}
	}
	w.labels[1].Contents = job.Contents(breaksOut)
	w.feeds[0].Name, w.feeds[0].Where, w.feeds[0].Refused = runs, breaksOut, []FeedCount{{breaksOut, 4}}
	w.feeds[1].Up, w.feeds[1].Why = false, breaksOut+strings.Repeat("x", 300)
	return w
}

// onlyWatched serves the page of the levels alone.
func onlyWatched(t testing.TB, w *watches, change ...func(*Options)) string {
	t.Helper()
	var o Options
	for _, c := range change {
		c(&o)
	}
	h, err := NewWatched(WatchedOptions{Watch: w, Now: func() time.Time { return sunday }, Languages: o.Languages})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(h)
	t.Cleanup(server.Close)
	return server.URL
}
