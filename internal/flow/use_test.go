package flow

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
	"pgregory.net/rapid"
)

// minutes follows a level that is given by the hour, points, a level a minute with noise.
func minutes(c Config, hours, noise float64, level func(h float64) float64) *Tracker {
	r := rand.New(rand.NewPCG(1, 6))
	k := New(c)
	for m := 0; float64(m) < 60*hours; m++ {
		x := level(float64(m)/60) + noise*r.NormFloat64()
		k.Take(watch.Level{Time: begin.Add(time.Duration(m) * time.Minute), Shown: true, Motion: watch.Standing, U: 0.001, Share: quantity.Share(x / 100), Raw: math.NaN()})
	}
	return k
}

// usesOf gives the spells of use among events.
func usesOf(k *Tracker) (list []Event) {
	for _, e := range k.Events() {
		if e.Kind == Use {
			list = append(list, e)
		}
	}
	return list
}

// over is how much of an amount has come from an hour on, in so many hours.
func over(h, from, long, amount float64) float64 { return amount * min(1, max(0, (h-from)/long)) }

// What is drawn in spells is told with its time and amount; what is steady, too small, or
// told as something else isn't.
func TestUses(t *testing.T) {
	type spell struct{ from, to, amount float64 } // h, points
	for _, test := range []struct {
		name  string
		fills bool
		level func(h float64) float64
		want  []spell
	}{
		{"a shower", false, func(h float64) float64 { return 80 - over(h, 8, 0.1, 7) }, []spell{{8, 8.1, 7}}},
		{"an evening's cooking", false, func(h float64) float64 { return 80 - over(h, 19, 1.5, 4.5) }, []spell{{19, 20.5, 4.5}}},
		{"two draws of one spell", false, func(h float64) float64 { return 80 - over(h, 8, 0.05, 2) - over(h, 8.2, 0.05, 3) }, []spell{{8, 8.25, 5}}},
		{"two spells", false, func(h float64) float64 { return 80 - over(h, 8, 0.05, 2) - over(h, 9, 0.05, 3) }, []spell{{8, 8.05, 2}, {9, 9.05, 3}}},
		{"of waste", true, func(h float64) float64 { return 20 + over(h, 8, 0.1, 7) }, []spell{{8, 8.1, 7}}},
		{"before a filling", false, func(h float64) float64 { return 40 - over(h, 8, 0.05, 4) + over(h, 8.2, 0.2, 50) }, []spell{{8, 8.05, 4}}},
		{"up to a filling", false, func(h float64) float64 { return 40 - over(h, 8, 0.1, 4) + over(h, 8.1, 0.2, 50) }, nil},
		{"beside a steady draw", false, func(h float64) float64 { return 80 - 0.5*h - over(h, 8, 0.1, 7) }, []spell{{8, 8.1, 7}}},
		{"a steady draw", false, func(h float64) float64 { return 95 - 3*h }, nil},
		{"a steady draw that begins", false, func(h float64) float64 { return 95 - 3*max(0, h-6) }, nil},
		{"too small", false, func(h float64) float64 { return 80 - over(h, 8, 0.02, 0.3) }, nil},
		{"let off", false, func(h float64) float64 { return 60 - over(h, 8, 0.1, 55) }, nil},
		{"steps of a sender", false, func(h float64) float64 { return 2 * math.Floor((90-1.3*h)/2) }, nil},
	} {
		k := minutes(Config{Fills: test.fills}, 26, 0.02, test.level)
		got := usesOf(k)
		if len(got) != len(test.want) {
			t.Errorf("%s: %d spells, expected %d: %v", test.name, len(got), len(test.want), told(got))
			continue
		}
		for i, w := range test.want {
			e := got[i]
			from, to := e.Start.Sub(begin).Hours(), e.End.Sub(begin).Hours()
			if math.Abs(from-w.from) > 0.06 || math.Abs(to-w.to) > 0.1 || math.Abs(100*e.Amount-w.amount) > 0.3 || 100*e.Low > w.amount || 100*e.High < w.amount || e.P < 0.9 || e.Found.Sub(e.End) > 40*time.Minute {
				t.Errorf("%s: %s; expected %+v", test.name, say(e), w)
			}
		}
	}
}

func told(list []Event) (out []string) {
	for _, e := range list {
		out = append(out, say(e))
	}
	return out
}

// Where nothing moves but the reading with the warmth of the day there is no use, and the
// swing is told as what it is.
func TestStillIsNoUse(t *testing.T) {
	for seed := range uint64(2) {
		for _, name := range []string{"still", "still, clipped"} {
			h := tell(name, seed)
			if list := usesOf(follow(t, &h)); len(list) > 0 {
				t.Errorf("%s %d: %v", name, seed, told(list))
			}
		}
	}
	for _, half := range []float64{0, 0.4, 2} {
		k := minutes(Config{}, 60, 0.1, func(h float64) float64 { return 50 + half*math.Cos(2*math.Pi*(h-15)/24) })
		s := k.DaySwing()
		if !s.Known || 100*s.Low > 2*half || 100*s.High < 2*half || s.Low > s.Mid || s.Mid > s.High || s.High-s.Low > 0.012 {
			t.Errorf("a swing of ±%g points is told as %+v", half, s)
		}
	}
	// What is drawn by day alone may be a swing, or not.
	if s := minutes(Config{}, 60, 0.1, func(h float64) float64 { return 90 - 0.5*(h-2*math.Sin(2*math.Pi*(h-12)/24)) }).DaySwing(); s.Low > 0.002 || !s.Known {
		t.Errorf("use by day is told as a swing of %+v", s)
	}
	if s := minutes(Config{}, 40, 0.1, func(float64) float64 { return 50 }).DaySwing(); s.Known {
		t.Errorf("after less than two days a swing is told: %+v", s)
	}
}

// A spell that turns out to be something else is taken back.
func TestUseIsTakenBack(t *testing.T) {
	k := minutes(Config{}, 26, 0.02, func(h float64) float64 { return 80 - over(h, 8, 0.1, 7) - over(h, 20, 0.1, 3) })
	if n := len(usesOf(k)); n != 2 {
		t.Fatal(n)
	}
	k.isOther(begin.Add(15 * time.Hour).UnixNano())
	if list := usesOf(k); len(list) != 1 || math.Abs(100*list[0].Amount-7) > 0.3 {
		t.Error(told(list))
	}
}

// TestUsesInTheBooks: no two spells of use overlap, none overlaps a refill, and what each
// came to isn't more than what the level fell by in its time.
func TestUsesInTheBooks(t *testing.T) {
	seen := 0
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 8))
		c := drawConfig(r)
		c.Content, c.Steady = nil, 0
		k := New(c)
		all, is := spells(r)
		for _, l := range all {
			k.Take(l)
		}
		fell := func(from, to time.Time) float64 { // points, within a few minutes of both
			most, least := math.Inf(-1), math.Inf(1)
			for i, l := range all {
				x := 100 * is[i]
				if c.Fills {
					x = -x
				}
				if l.Time.Sub(from).Abs() < 6*time.Minute {
					most = max(most, x)
				}
				if l.Time.Sub(to).Abs() < 6*time.Minute {
					least = min(least, x)
				}
			}
			return most - least
		}
		events := k.Events()
		seen += len(usesOf(k))
		sum, doubt := 0.0, 0.0
		for i, e := range events {
			doubt = math.Hypot(doubt, 100*(e.High-e.Low)/2)
			if e.Kind != Use {
				continue
			}
			if f := fell(e.Start, e.End); 100*e.Amount > f+100*(e.High-e.Low)+1 { // what goes on slowly after it is in it
				rt.Fatalf("%s, but the level fell by %.2f", say(e), f)
			}
			for j, o := range events {
				if i != j && (o.Kind == Use || o.Kind == Refill || o.Kind == Leak || o.Kind == Drop || o.Kind == Drain) && o.Start.Before(e.End) && (o.Open() || o.End.After(e.Start)) {
					rt.Fatalf("%s overlaps %s", say(e), say(o))
				}
			}
			sum += 100 * e.Amount
		}
		g := &k.s.Ledger
		used := g.Drawn + g.Unknown
		if g.From != 0 {
			_, more := k.stretch(&k.s.Last)
			used += more
		}
		// What came in without being told is less use in the books.
		back := 0.0
		for i := range is[1:] {
			x := 100 * (is[i+1] - is[i])
			if c.Fills {
				x = -x
			}
			back += max(0, x)
		}
		for _, e := range k.events {
			back -= max(0, e.signed())
		}
		if sum > used+max(0, back)+2*doubt+1 {
			rt.Fatalf("spells of use come to %.2f ± %.2f points, the books have %.2f, and %.2f came in untold: %v", sum, doubt, used, back, told(events))
		}
	})
	if seen == 0 {
		t.Error("no spell of use was told at all")
	}
}

// spells makes levels up of a tank that is drawn from, filled and rested.
func spells(r *rand.Rand) (out []watch.Level, levels []float64) {
	at, x := begin, 0.7+0.2*r.Float64()
	noise := []float64{0.0002, 0.001, 0.003}[r.IntN(3)]
	every := []time.Duration{30 * time.Second, time.Minute, 5 * time.Minute}[r.IntN(3)]
	goes := func(long time.Duration, by float64) {
		n := max(1, int(long/every))
		for range n {
			at = at.Add(every)
			x = min(max(x+by/float64(n), 0), 1)
			out = append(out, watch.Level{Time: at, Shown: true, Motion: watch.Standing, U: 0.001, Share: quantity.Share(x + noise*r.NormFloat64()), Raw: math.NaN()})
			levels = append(levels, x)
		}
	}
	goes(2*time.Hour, 0)
	for range 3 {
		goes(time.Duration(1+r.IntN(40))*time.Minute, -0.1*r.Float64())
		goes(time.Duration(r.IntN(100))*time.Minute, -0.01*r.Float64())
		if r.IntN(4) == 0 {
			goes(time.Duration(1+r.IntN(20))*time.Minute, 0.3*r.Float64())
		}
		if r.IntN(8) == 0 {
			at = at.Add(time.Duration(r.IntN(300)) * time.Minute)
		}
	}
	goes(time.Hour, 0)
	return out, levels
}

// Spells of use go on as they were from the bytes, older bytes are refused, and no more
// are kept than is said.
func TestUsesKept(t *testing.T) {
	k := New(Config{Uses: 100})
	for i := range 1000 {
		k.keepUse(drawn{Start: int64(i), End: int64(i) + 1, Amount: 2, U: 0.1, P: 0.95})
	}
	if n := len(usesOf(k)); n < 100 || n > 125 {
		t.Errorf("%d are kept; expected 100 to 125", n)
	}
	kept, err := k.MarshalBinary()
	if err != nil {
		t.Fatal(err)
	}
	again := New(Config{})
	if err := again.UnmarshalBinary(kept); err != nil {
		t.Fatal(err)
	}
	a, b := usesOf(k), usesOf(again)
	if len(b) != mostUses || fmt.Sprint(a[len(a)-mostUses:]) != fmt.Sprint(b) {
		t.Errorf("%d come back; expected the last %d", len(b), mostUses)
	}
	old := append([]byte("gwflow1\n"), kept[len(stateName):]...)
	if err := again.UnmarshalBinary(old); err == nil || !bytes.Contains([]byte(err.Error()), []byte("another version")) {
		t.Errorf("older bytes: %v", err)
	}
}

// Taking levels allocates nothing, spells of use among them.
func TestTakeAllocates(t *testing.T) {
	k := minutes(Config{}, 30, 0.02, func(h float64) float64 { return 80 - over(h, 8, 0.1, 7) })
	k.drawn = make([]drawn, 0, 2*fewUses)
	at, i := k.s.Newest, 0
	if n := testing.AllocsPerRun(3000, func() {
		at, i = at+minute, i+1
		k.Take(watch.Level{Time: moment(at), Shown: true, Motion: watch.Standing, U: 0.001, Share: quantity.Share(0.7 - 0.0001*float64(i) - 0.02*float64(i/120)), Raw: math.NaN()})
	}); n > 0.01 {
		t.Errorf("%v allocations a level", n)
	}
}
