package web

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// watches is a watch whose levels a test sets.
type watches struct {
	mu     sync.Mutex
	labels []Label
	levels []watch.Level
	counts []watch.Counts
	feeds  []FeedState
}

func (w *watches) Labels() []Label { return w.labels }

func (w *watches) Levels(time.Time) []watch.Level {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.levels)
}

func (w *watches) Counts() []watch.Counts {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.counts)
}

func (w *watches) Feeds() []FeedState { w.mu.Lock(); defer w.mu.Unlock(); return slices.Clone(w.feeds) }

// sets changes a level.
func (w *watches) sets(i int, change func(*watch.Level)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	change(&w.levels[i])
}

// figureL is an amount in litres with its standard uncertainty.
func figureL(litres, u float64) gauge.Figure { return gauge.Figure{Mid: litres / 1000, U: u / 1000} }

// goodLevel is a level that can be believed, read four seconds ago.
func goodLevel(tank string, share, u, litres float64) watch.Level {
	return watch.Level{
		Tank: tank, Source: "mqtt", Time: sunday.Add(-4 * time.Second), Age: 4 * time.Second, Stale: 5 * time.Minute, Raw: 61, Ohm: 61,
		Shown: true, Share: quantity.Share(share), U: quantity.Share(u),
		Low: quantity.Share(max(0, share-2*u)), High: quantity.Share(min(1, share+2*u)),
		Volume: figureL(litres*share, litres*u), Mass: gauge.Figure{Mid: math.NaN(), U: math.NaN()}, Motion: watch.Standing,
	}
}

// lost is a level that isn't shown, with what was good last.
func lost(v watch.Level, fault watch.Fault, since time.Duration) watch.Level {
	at := sunday.Add(-since)
	last := watch.LastGood{Time: at.Add(-3 * time.Second), Share: v.Share, U: v.U, Volume: v.Volume, Mass: v.Mass}
	nan := gauge.Figure{Mid: math.NaN(), U: math.NaN()}
	v.Shown, v.Status, v.Fault, v.Since, v.Last = false, watch.Failure, fault, at, last
	v.Raw, v.Share, v.U, v.Low, v.High, v.Volume, v.Mass = math.NaN(), 0, 0, 0, 0, nan, nan
	if fault == watch.NoReading {
		v.Time, v.Age = last.Time, since+3*time.Second
	}
	return v
}

// stall is three tanks of an invented food stall, all of them good.
func stall(t testing.TB) *watches {
	t.Helper()
	label := func(tank, name string, contents job.Contents, litres float64) Label {
		own := job.Tank{Name: name, Contents: contents, WaterCapacityL: litres}
		if contents == job.LPG {
			own.PermittedFillPct = 80
		}
		return Label{Tank: tank, Label: name, Contents: contents, Cautions: own.Cautions(), Shares: []quantity.Share{0, 1}, Volumes: []quantity.CubicMetre{0, quantity.CubicMetre(litres / 1000)},
			Sentence: "100 % = the whole tank to the brim."}
	}
	w := &watches{
		labels: []Label{label("gas", "Gas", job.LPG, 54), label("fresh", "Fresh water", job.Water, 90), label("diesel", "Heater", job.Diesel, 20)},
		levels: []watch.Level{goodLevel("gas", 0.612, 0.014, 54), goodLevel("fresh", 0.357, 0.009, 90), goodLevel("diesel", 0.84, 0.004, 20)},
		counts: []watch.Counts{{Taken: 5120, Spikes: 12}, {Taken: 5118, Spikes: 3}, {Taken: 900}},
		feeds: []FeedState{
			{Name: "mqtt", Up: true, Where: "127.0.0.1:1883", Since: sunday.Add(-2 * time.Hour), Taken: 10238},
			{Name: "modbus/bay", Up: true, Where: "127.0.0.1:502", Since: sunday.Add(-26 * time.Hour), Taken: 900, Refused: []FeedCount{{"not a number", 12}, {"no tank of that name", 3}}},
		},
	}
	w.labels[0].Permitted = 0.8
	w.levels[0].Mass = gauge.Figure{Mid: 16.9, U: 0.4}
	return w
}

func (w *watches) options(o *Options) { o.Watch = w }

func TestWatchedGood(t *testing.T) {
	b := open(t, stall(t).options)
	status, text := b.get("/watched")
	if status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	for _, want := range []string{
		"3 tanks, and all levels are good.", "from <span class=\"when\">2 Nov, 09:30:00</span>",
		`<a href="/watched" aria-current="page">Levels</a>`,
		`<p class="level">61 %</p>`, "58 to 64 %", "33.0 ± 1.6 L", "16.9 ± 0.8 kg",
		"84.0 %", "83.2 to 84.8 %", // what is known to less than a point has tenths
		">4 s ago</span>", "09:29:56", "standing still", "Good.",
		"Connected since 07:30:00.", ">127.0.0.1:1883<", "Connected since 1 Nov, 07:30:00.",
		"10238 readings kept, none refused.", "<dt>not a number</dt><dd>12</dd>", "<dt>no tank of that name</dt><dd>3</dd>",
		"Never fill beyond the permitted fill", "Never fill by this figure", "permitted",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	for _, no := range []string{"NAMUR", "No level", "is-none", "is-doubtful", "gw-strike"} {
		if strings.Contains(text, no) {
			t.Errorf("all is good, and the page has %q", no)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
}
