package flow

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// tale is an invented history of a tank, and what happened in it. Levels are in
// points.
type tale struct {
	name   string
	config Config
	rows   []row
	true   []happened
	use    float64 // all that was used, points
	hours  float64
	spy    func(*Tracker, row)
}

type row struct {
	at     time.Time
	ohm    float64
	level  float64
	broken bool
}

type happened struct {
	kind       Kind
	start, end time.Time
	amount     float64 // points
}

// teller makes tales up.
type teller struct {
	r        *rand.Rand
	at       time.Time
	level    float64
	every    float64 // s
	noise    float64 // points, of one reading
	step     float64 // of the readings, points
	swing    func(at time.Time) float64
	fast     float64 // mean use by taps, points/h
	tap      float64 // points/min while one is open
	taps     [24]float64
	steady   float64 // points/h
	leak     float64 // points/h
	fill     float64 // points/min
	open     float64 // s left of a tap
	stuck    bool
	shows    float64
	lag      float64 // play of the float, points
	sloshing float64
	t        tale
}

var begin = time.Date(2025, 4, 7, 0, 0, 0, 0, time.UTC)

func newTeller(name string, seed uint64) *teller {
	r := rand.New(rand.NewPCG(seed, 77))
	a := &teller{r: r, at: begin.Add(time.Duration(r.IntN(24*60)) * time.Minute), level: 60 + 30*r.Float64()}
	a.every = []float64{1, 5, 10, 10, 30, 60, 60, 300, 600}[r.IntN(9)]
	a.noise = []float64{0.02, 0.05, 0.1, 0.2}[r.IntN(4)]
	a.step = []float64{0.05, 0.05, 0.1, 0.3}[r.IntN(4)]
	a.lag = []float64{0, 0, 0.2, 0.5}[r.IntN(4)]
	a.tap = 1 + 5*r.Float64()
	a.fast = 0.2 + 0.6*r.Float64()
	for h := range a.taps {
		switch {
		case h < 6 || h > 22:
			a.taps[h] = 0.05
		case h < 10 || h > 17:
			a.taps[h] = 2
		default:
			a.taps[h] = 1
		}
	}
	a.t.name = name
	return a
}

// run goes on for so many seconds; what of says what is done with each reading.
func (a *teller) run(seconds float64, do string) {
	steps := int(seconds / a.every)
	for range steps {
		part := min(a.every, 5)
		for done := 0.0; done < a.every; done += part {
			fall := (a.steady + a.leak) * part / 3600
			used := a.steady * part / 3600
			if a.fast > 0 && a.tap > 0 && do != "drive" {
				mean := 0.0
				for _, v := range a.taps {
					mean += v / 24
				}
				// Each opening takes half a minute on the average.
				rate := a.fast * a.taps[a.at.Hour()] / mean / (a.tap * 0.5) // openings/h
				if a.open <= 0 && a.r.Float64() < rate*part/3600 {
					a.open = a.r.ExpFloat64() * 30
				}
				if a.open > 0 {
					d := a.tap * min(part, a.open) / 60
					fall += d
					used += d
					a.open -= part
				}
			}
			a.level = max(0, a.level-fall) + a.fill*part/60
			a.t.use += used
		}
		a.at = a.at.Add(time.Duration(a.every * 1e9))
		a.t.hours += a.every / 3600
		if !a.stuck {
			a.shows = min(max(a.shows, a.level-a.lag/2), a.level+a.lag/2)
		}
		x := a.shows + a.noise*a.r.NormFloat64()
		if a.swing != nil {
			x += a.swing(a.at)
		}
		if do == "drive" && !a.stuck {
			a.sloshing = 0.7*a.sloshing + 2.5*a.r.NormFloat64()
			x += a.sloshing
		}
		x = math.Round(min(max(x, 0), 100)/a.step) * a.step
		w := row{at: a.at, ohm: 10 + 1.7*x, level: a.level}
		switch do {
		case "gap":
			continue
		case "broken":
			w.ohm, w.broken = 9999, true
		}
		a.t.rows = append(a.t.rows, w)
	}
}

// pour fills in an amount in so many seconds.
func (a *teller) pour(amount, seconds float64, do string) {
	seconds = max(seconds, a.every)
	seconds = math.Round(seconds/a.every) * a.every
	a.fill = amount / seconds * 60
	start := a.at
	a.run(seconds, do)
	a.fill = 0
	a.t.true = append(a.t.true, happened{Refill, start, a.at, amount})
}

func (a *teller) goes(kind Kind, seconds float64, do string) {
	start, from := a.at, a.level
	a.run(seconds, do)
	a.t.true = append(a.t.true, happened{kind, start, a.at, from - a.level})
}

func sine(amplitude, hours float64) func(time.Time) float64 {
	return func(at time.Time) float64 {
		h := float64(at.Sub(begin)) / float64(time.Hour)
		return amplitude * math.Cos(2*math.Pi*(h-hours)/24)
	}
}

// tales are the kinds of invented histories.
var tales = map[string]func(a *teller){
	"days": func(a *teller) {
		for range 3 {
			a.run(86400*(0.6+0.5*a.r.Float64()), "")
			amount := min(20+50*a.r.Float64(), 97-a.level)
			if amount > 6 {
				a.pour(amount, 60+600*a.r.Float64(), "")
			}
		}
		a.run(12*3600, "")
	},
	"hose": func(a *teller) {
		a.level = 20 + 20*a.r.Float64()
		a.run(86400*(0.3+0.5*a.r.Float64()), "")
		a.pour(40, 3600*(0.7+2*a.r.Float64()), "")
		a.run(20*3600, "")
	},
	"pauses": func(a *teller) {
		a.level = 20 + 20*a.r.Float64()
		a.run(36000, "")
		start := a.at
		sum := 0.0
		for range 3 {
			a.pour(12, 120, "")
			sum += 12
			a.run(120+180*a.r.Float64(), "")
		}
		a.t.true = []happened{{Refill, start, a.at, sum}}
		a.run(36000, "")
	},
	"tap runs": func(a *teller) {
		a.level = 20 + 20*a.r.Float64()
		a.run(36000, "")
		was := a.steady
		a.steady = 60 * (0.3 + 0.7*a.r.Float64())
		a.run(max(300, 2*a.every), "")
		a.pour(50, 300+600*a.r.Float64(), "")
		a.run(max(240, 2*a.every), "")
		a.steady = was
		a.run(36000, "")
	},
	"gap refill": func(a *teller) {
		a.level = 20 + 30*a.r.Float64()
		a.run(86400, "")
		a.run(3600*3*a.r.Float64(), "gap")
		a.pour(15+35*a.r.Float64(), 300, "gap")
		a.run(3600*(1+10*a.r.Float64()), "gap")
		a.run(36000, "")
	},
	"broken refill": func(a *teller) {
		a.level = 20 + 30*a.r.Float64()
		a.run(43200, "")
		a.goes(Fault, 3600*(1+2*a.r.Float64()), "broken")
		end := len(a.t.true) - 1
		a.pour(15+35*a.r.Float64(), 300, "broken")
		a.run(3600*(1+2*a.r.Float64()), "broken")
		a.t.true[end].end = a.at
		a.run(36000, "")
	},
	"drive": func(a *teller) {
		a.run(30000, "")
		for range 3 {
			a.run(3600+4*a.every, "drive")
			a.run(7200+8*a.every, "")
		}
		amount := min(30, 96-a.level)
		if amount > 6 {
			a.pour(amount, 240, "")
		}
		a.run(60+2*a.every, "")
		a.run(3600+4*a.every, "drive")
		a.run(20000, "")
	},
	"still": func(a *teller) {
		a.fast = 0
		if a.every < 10 {
			a.every = 10
		}
		a.swing = sine(2*a.r.Float64(), 24*a.r.Float64())
		a.run(60*3600, "")
	},
	"still, clipped": func(a *teller) {
		a.fast = 0
		if a.every < 10 {
			a.every = 10
		}
		sign := float64(1 - 2*a.r.IntN(2))
		ph := 24 * a.r.Float64()
		amp := [4]float64{}
		for i := range amp {
			amp[i] = 4 * a.r.Float64()
		}
		f := sine(1, ph)
		a.swing = func(at time.Time) float64 {
			d := int(at.Sub(begin).Hours()+24-ph+6) / 24 % 4
			return sign * amp[d] * max(0, f(at))
		}
		a.run(60*3600, "")
	},
	"leak": func(a *teller) {
		a.run(86400*(1+a.r.Float64()), "")
		a.leak = 0.15 + 1.0*a.r.Float64()
		start, from := a.at, a.leak
		hours := 8 / a.leak
		a.run(hours*3600, "")
		a.t.true = append(a.t.true, happened{Leak, start, a.at, from * hours})
	},
	"leak, still": func(a *teller) {
		a.fast = 0
		a.run(86400*(0.5+a.r.Float64()), "")
		a.leak = 0.15 + 1.0*a.r.Float64()
		start := a.at
		hours := 8 / a.leak
		a.run(hours*3600, "")
		a.t.true = append(a.t.true, happened{Leak, start, a.at, a.leak * hours})
	},
	"fridge": func(a *teller) {
		a.steady = 0.1 + 0.2*a.r.Float64()
		a.run(4*86400, "")
	},
	"stuck": func(a *teller) {
		a.fast = 1 + a.r.Float64()
		a.run(30*3600, "")
		a.stuck = true
		start := a.at
		for range 40 {
			a.run(1800, "")
			if a.level < a.shows-8 {
				break
			}
		}
		a.stuck = false
		a.t.true = append(a.t.true, happened{Stuck, start, a.at, 0})
		a.run(30000, "")
	},
	"theft": func(a *teller) {
		a.level = 80
		a.run(40*3600, "")
		was := a.steady
		a.steady = 60 * (12 + 10*a.r.Float64())
		use := a.t.use
		a.goes(Drop, max(90, a.every), "")
		a.t.use = use
		a.steady = was
		a.run(30000, "")
	},
}

func tell(name string, seed uint64) tale {
	a := newTeller(name, seed)
	a.shows = a.level
	tales[name](a)
	return a.t
}

func follow(tb testing.TB, h *tale) *Tracker {
	in, err := watch.Ends(10, 180, 0)
	if err != nil {
		tb.Fatal(err)
	}
	w, err := watch.New(watch.Config{Tank: "a", Instrument: in, Stale: 30 * time.Minute})
	if err != nil {
		tb.Fatal(err)
	}
	t := New(h.config)
	for _, r := range h.rows {
		t.Take(w.Take(watch.Reading{Tank: "a", Source: "x", Time: r.at, Value: r.ohm}))
		if h.spy != nil {
			h.spy(t, r)
		}
	}
	return t
}

func (h happened) String() string {
	return fmt.Sprintf("%s %s–%s %.2f", h.kind, h.start.Format("02 15:04:05"), h.end.Format("02 15:04:05"), h.amount)
}

func say(e Event) string {
	return fmt.Sprintf("%s %s–%s found %s %.2f (%.2f–%.2f) p %.2f rate %.2f [%.1f→%.1f]", e.Kind, e.Start.Format("02 15:04:05"), e.End.Format("02 15:04:05"), e.Found.Format("02 15:04"),
		100*e.Amount, 100*e.Low, 100*e.High, e.P, 100*e.PerHour, 100*e.Before, 100*e.After)
}

// tally is what came of the tales of a kind.
type tally struct{ true, found, invented, off, held, late int }

// judge follows the tales of a kind and counts; what is amiss is logged.
func judge(t *testing.T, name string, seeds uint64) (c tally) {
	for seed := range seeds {
		h := tell(name, seed)
		ev := follow(t, &h).Events()
		used := make([]bool, len(ev))
		var bad []string
		for _, tr := range h.true {
			c.true++
			hit := -1
			for i, e := range ev {
				if !used[i] && e.Kind == tr.kind && !e.Start.After(tr.end.Add(20*time.Minute)) && (e.Open() || !e.End.Before(tr.start.Add(-20*time.Minute))) {
					hit = i
					break
				}
			}
			if hit < 0 {
				bad = append(bad, "missed "+tr.String())
				continue
			}
			e := ev[hit]
			used[hit] = true
			c.found++
			if 100*e.Low <= tr.amount && tr.amount <= 100*e.High {
				c.held++
			}
			if tr.kind == Refill && math.Abs(100*e.Amount-tr.amount) > 2 {
				c.off++
				bad = append(bad, "off "+tr.String()+" "+say(e))
			}
			if tr.kind == Leak && e.Found.Sub(tr.start).Hours()/tr.end.Sub(tr.start).Hours()*tr.amount > 5 {
				c.late++
				bad = append(bad, "late "+tr.String()+" "+say(e))
			}
		}
		for i, e := range ev {
			if !used[i] && (e.Kind == Refill || e.Kind == Leak || e.Kind == Drop) {
				c.invented++
				bad = append(bad, "invented "+say(e))
			}
		}
		if bad != nil {
			t.Logf("%s %d, every %s: %s", name, seed, h.rows[1].at.Sub(h.rows[0].at), strings.Join(bad, "; "))
		}
	}
	return c
}

var seeds = flag.Uint64("seeds", 4, "how many tales of each kind are told")

// TestTales tells invented tales of each kind and holds what is found to what
// happened. At a reading in 10 minutes a tap and a filling between two readings can't
// be told apart, so that some amounts are off; -seeds 20 -v gives the figures of
// docs/flows.md.
func TestTales(t *testing.T) {
	if *seeds == 0 {
		t.Fatal("no tales")
	}
	bound := map[string]tally{ // how many in a hundred may be: missed (in found), invented, off, late
		"days": {found: 0, invented: 20, off: 15}, "hose": {found: 0, invented: 20, off: 40}, "pauses": {found: 0, invented: 15, off: 10},
		"tap runs": {found: 0, invented: 20, off: 70}, "gap refill": {found: 0, invented: 20, off: 40}, "broken refill": {found: 0, invented: 5, off: 40},
		"still": {}, "still, clipped": {}, "leak": {found: 10, invented: 30, late: 30}, "leak, still": {found: 10, late: 40},
	}
	for name, b := range bound {
		c := judge(t, name, *seeds)
		n := max(c.true, int(*seeds))
		t.Logf("%-16s %d, found %d, invented %d, off by more than 2 points %d, held %d, late %d", name, c.true, c.found, c.invented, c.off, c.held, c.late)
		if 100*(c.true-c.found) > b.found*n || 100*c.invented > b.invented*n+100*min(b.invented, 1) || 100*c.off > b.off*n+100*min(b.off, 1) || 100*c.late > b.late*n+100*min(b.late, 1) {
			t.Errorf("%s: %+v; expected at most %+v in 100", name, c, b)
		}
	}
}
