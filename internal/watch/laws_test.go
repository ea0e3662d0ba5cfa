package watch

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"

	"pgregory.net/rapid"
)

func watchOf(t rapid.TB, lower, upper float64) *Watch {
	t.Helper()
	in, err := Ends(quantity.Ohm(lower), quantity.Ohm(upper), 0.1)
	if err != nil {
		t.Fatal(err)
	}
	w, err := New(Config{Tank: "a", Instrument: in})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// sound fails where a level can't be.
func sound(t rapid.TB, l Level) {
	t.Helper()
	if !l.Shown {
		if l.Status == Good {
			t.Fatalf("good and not shown: %+v", l)
		}
		return
	}
	if !(l.Share >= 0 && l.Share <= 1 && l.Low >= 0 && l.Low <= l.Share && l.Share <= l.High && l.High <= 1 && l.U > 0) {
		t.Fatalf("a level that can't be: %+v", l)
	}
	if math.IsNaN(l.Volume.Mid) || math.IsNaN(l.Volume.U) || math.IsNaN(float64(l.U)) || math.IsNaN(l.Mark) || math.IsNaN(l.MarkPct) {
		t.Fatalf("NaN in %+v", l)
	}
	if l.Status == Failure || l.Status == Check && l.Fault != Jump {
		t.Fatalf("a level shown under a fault: %+v", l)
	}
}

// drawn draws readings of a drive, some of them broken, at times that rise.
func drawn(t *rapid.T) []Reading {
	seed := rapid.Uint64().Draw(t, "seed")
	r := rand.New(rand.NewPCG(seed, 5))
	p := usual(r)
	p.interval = pick(r, 0.2, 1, 5, 30)
	p.spikes = 0.02
	h := p.draw("law", r, 10, 180, 50, []phase{{"stand", 60 * p.interval, 0}, {"open", 3 * p.interval, 0}, {"drive", 100 * p.interval, 0}, {"fill", 20 * p.interval, 0.2}})
	var list []Reading
	for _, row := range h.rows {
		list = append(list, Reading{Tank: "a", Source: "x", Time: row.time(), Value: row.ohm})
	}
	return list
}

// TestLateReadingsCountAsIfInOrder: whatever the order in which readings come in,
// so long as none is more than Late behind, the level is that of the right order.
func TestLateReadingsCountAsIfInOrder(t *testing.T) {
	peer.Draws(t, 60)
	rapid.Check(t, func(t *rapid.T) {
		list := drawn(t)
		behind := rapid.Float64Range(0, 100).Draw(t, "behind")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
		type coming struct {
			at time.Time
			r  Reading
		}
		var mixed []coming
		for _, v := range list {
			at := v.Time
			if r.Float64() < 0.2 {
				at = at.Add(time.Duration(r.Float64() * behind * float64(time.Second)))
			}
			mixed = append(mixed, coming{at, v})
		}
		for i := 1; i < len(mixed); i++ {
			for k := i; k > 0 && mixed[k].at.Before(mixed[k-1].at); k-- {
				mixed[k], mixed[k-1] = mixed[k-1], mixed[k]
			}
		}
		a, b := watchOf(t, 10, 180), watchOf(t, 10, 180)
		var la, lb Level
		for i := range list {
			la = a.Take(list[i])
			lb = b.Take(mixed[i].r)
			sound(t, lb)
			if r.Float64() < 0.1 { // sent twice
				twice := b.Take(mixed[i].r)
				if !reflect.DeepEqual(numbers(twice), numbers(lb)) {
					t.Fatalf("sent twice: %+v, expected %+v", twice, lb)
				}
			}
		}
		if !reflect.DeepEqual(numbers(la), numbers(lb)) {
			t.Fatalf("in order %+v, mixed %+v", la, lb)
		}
		ca, cb := a.Counts(), b.Counts()
		cb.Late, cb.Doubled = 0, 0
		if ca != cb {
			t.Fatalf("counts in order %+v, mixed %+v", ca, cb)
		}
	})
}

// numbers makes a level comparable: NaN isn't equal to itself.
func numbers(l Level) Level {
	l.Mass.Mid, l.Mass.U, l.Last.Mass.Mid, l.Last.Mass.U = 0, 0, 0, 0
	if math.IsNaN(float64(l.Ohm)) {
		l.Ohm = -1
	}
	if math.IsNaN(l.Raw) {
		l.Raw = -1
	}
	if math.IsNaN(l.Mark) {
		l.Mark, l.MarkPct = -1, -1
	}
	return l
}

// TestRisingAndFallingSendersAreAlike: a sender that falls by as much as another
// rises gives the same levels.
func TestRisingAndFallingSendersAreAlike(t *testing.T) {
	peer.Draws(t, 40)
	rapid.Check(t, func(t *rapid.T) {
		a, b := watchOf(t, 10, 180), watchOf(t, 180, 10)
		jitter := rand.New(rand.NewPCG(1, 1))
		for _, r := range drawn(t) {
			// Values in steps meet the limits of what is told exactly, and there the last
			// bit decides; so they are moved a little.
			r.Value += 0.02 * jitter.Float64()
			mirrored := r
			mirrored.Value = 190 - r.Value
			if r.Value < 6 || r.Value > 184 {
				continue // the two differ in what is open and short
			}
			la, lb := a.Take(r), b.Take(mirrored)
			if la.Shown != lb.Shown || la.Shown && (math.Abs(float64(la.Share-lb.Share)) > 1e-6 || math.Abs(float64(la.U-lb.U)) > 1e-6) {
				t.Fatalf("rising %+v, falling %+v", la, lb)
			}
		}
	})
}

// TestNothingThatComesInBreaksTheWatch: any values at any times.
func TestNothingThatComesInBreaksTheWatch(t *testing.T) {
	peer.Draws(t, 200)
	rapid.Check(t, func(t *rapid.T) {
		w := watchOf(t, rapid.SampledFrom([]float64{0, 10, 240}).Draw(t, "lower"), 180)
		at := start
		n := rapid.IntRange(1, 300).Draw(t, "n")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		for range n {
			switch r.IntN(12) {
			case 0:
				at = at.Add(time.Duration(r.NormFloat64() * 1e15))
			case 1:
				at = time.Unix(int64(r.IntN(1000)), 0)
			case 2:
				at = time.Date(2100+r.IntN(300), 1, 1, 0, 0, 0, 0, time.UTC)
			case 3:
				at = start.Add(time.Duration(r.IntN(1000)) * time.Second)
			case 4:
			default:
				at = at.Add(time.Duration(r.IntN(5000)) * time.Millisecond)
			}
			v := pick(r, 0, 10, 60+20*r.NormFloat64(), 180, 250, 99999, -5, math.NaN(), math.Inf(1), math.Inf(-1), 1e308, -1e308, 5e-324)
			l := w.Take(Reading{Tank: "a", Source: pick(r, "x", "x", "y"), Time: at, Value: v,
				Signal: pick(r, Ohm, Ohm, Ohm, Percent, Volt, Signal(9)), Said: pick(r, Measured, Measured, Measured, Unavailable, Broken, Said(7))})
			sound(t, l)
			sound(t, w.At(at.Add(time.Duration(r.IntN(900)-100)*time.Second)))
			l.Publish()
			l.Reason(time.UTC)
		}
	})
}
