package flow

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
	"pgregory.net/rapid"
)

// levels makes levels up as a watch may give them: still, used, filled, swaying,
// broken, late, and such as can't be.
func levels(r *rand.Rand, n int) []watch.Level {
	at := begin
	x := 0.2 + 0.7*r.Float64()
	every := []time.Duration{time.Second, 10 * time.Second, time.Minute, 10 * time.Minute}[r.IntN(4)]
	out := make([]watch.Level, 0, n)
	rate, left := 0.0, 0
	moving, broken := false, false
	for range n {
		if left--; left < 0 {
			left = 5 + r.IntN(200)
			rate = []float64{0, 0, -1e-6, -2e-5, -1e-3, 1e-3, 4e-5}[r.IntN(7)]
			moving, broken = r.IntN(8) == 0, r.IntN(10) == 0
			switch r.IntN(12) {
			case 0:
				at = at.Add(time.Duration(r.IntN(100)) * time.Hour)
			case 1:
				x = r.Float64()
			}
		}
		at = at.Add(every)
		x = min(max(x+rate*every.Seconds(), 0), 1)
		l := watch.Level{Time: at, Shown: !broken, Motion: watch.Standing, U: quantity.Share(0.002 * r.Float64()), Raw: math.NaN()}
		l.Share = quantity.Share(x + 0.001*r.NormFloat64())
		switch {
		case broken:
			l.Status, l.Fault = watch.Failure, watch.BrokenWire
		case moving:
			l.Motion, l.Slosh = watch.Moving, 0.03
			l.Share += quantity.Share(0.02 * r.NormFloat64())
		}
		switch r.IntN(400) {
		case 0:
			l.Share = quantity.Share(math.NaN())
		case 1:
			l.Time = l.Time.Add(-time.Hour)
		case 2:
			l.U = 0
		case 3:
			l.U = quantity.Share(math.NaN())
		case 4:
			l.Raw = 100 * r.Float64()
		}
		out = append(out, l)
	}
	return out
}

func drawConfig(r *rand.Rand) Config {
	c := Config{Fills: r.IntN(4) == 0, Steady: []float64{0, 0, -1, 0.002}[r.IntN(4)]}
	if r.IntN(2) == 0 {
		c.Content = func(s float64) float64 { return s * s * (3 - 2*s) }
	}
	return c
}

// TestBooks: what is there at the end is what was there at the beginning, and what
// came in, less what was used, leaked, was let off or taken out.
func TestBooks(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		k := New(drawConfig(r))
		for _, l := range levels(r, 800) {
			k.Take(l)
			if g := &k.s.Ledger; g.From != 0 {
				sum := g.Begun + g.Events - g.Drawn - g.Unknown
				if math.Abs(sum-g.X) > 1e-6 {
					rt.Fatalf("%v: begun %.3f, events %.3f, drawn %.3f, unknown %.3f make %.3f; expected %.3f", l.Time, g.Begun, g.Events, g.Drawn, g.Unknown, sum, g.X)
				}
			}
		}
		sum := k.s.Ledger.Past
		for _, e := range k.events {
			sum += e.signed()
		}
		if d := sum - k.broughtIn(); math.Abs(d) > 1e-9 {
			rt.Fatalf("events come to %g more than the books have", d)
		}
	})
}

// TestEventsAreSound: every event's figures are such as can be.
func TestEventsAreSound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 2))
		k := New(drawConfig(r))
		for _, l := range levels(r, 800) {
			k.Take(l)
		}
		events := k.Events()
		if !slices.IsSortedFunc(events, func(a, b Event) int { return a.Start.Compare(b.Start) }) {
			rt.Fatal("events aren't in the order of their starts")
		}
		filled := time.Time{} // to when
		for i, e := range events {
			if e.Kind == Refill {
				if e.Start.Before(filled) || e.Open() && slices.ContainsFunc(events[i+1:], func(o Event) bool { return o.Kind == Refill }) {
					rt.Fatalf("a refill within another: %v", events)
				}
				filled = e.End
			}
			if !(e.P > 0.5 && e.P <= 1) || !(e.Low >= 0 && e.Low <= e.Amount && e.Amount <= e.High && e.High <= 1) ||
				!e.End.IsZero() && e.End.Before(e.Start) || e.Start.After(e.Found) || !(e.Before >= -1 && e.Before <= 1 && e.After >= -1 && e.After <= 1) || !(e.PerHour >= 0) {
				rt.Fatalf("%s %+v", say(e), e)
			}
		}
		k.Ahead()
	})
}

// TestResume: a tracker that was kept and taken back goes on as if it hadn't been, and
// levels that come again change nothing.
func TestResume(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 3))
		c := drawConfig(r)
		all := levels(r, 600)
		cut := r.IntN(len(all))
		whole := New(c)
		for _, l := range all {
			whole.Take(l)
		}
		first := New(c)
		for _, l := range all[:cut] {
			first.Take(l)
		}
		kept, err := first.MarshalBinary()
		if err != nil {
			rt.Fatal(err)
		}
		if len(kept) > 64<<10 {
			rt.Fatalf("%d bytes; expected at most 64 KiB", len(kept))
		}
		second := New(c)
		if err := second.UnmarshalBinary(kept); err != nil {
			rt.Fatal(err)
		}
		for _, l := range all[max(0, cut-50):] {
			second.Take(l)
		}
		a, err := whole.MarshalBinary()
		if err != nil {
			rt.Fatal(err)
		}
		b, err := second.MarshalBinary()
		if err != nil {
			rt.Fatal(err)
		}
		if !bytes.Equal(a, b) {
			rt.Fatalf("cut at %d: it goes on differently; %d and %d events", cut, len(whole.events), len(second.events))
		}
	})
}

// TestClockSetBack: after a clock that was years ahead is set right, events are told
// as before.
func TestClockSetBack(t *testing.T) {
	k := New(Config{})
	at := time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
	take := func(n int, x, by float64, f watch.Fault) {
		for range n {
			at = at.Add(time.Minute)
			x += by
			k.Take(watch.Level{Time: at, Shown: true, Share: quantity.Share(x), U: 0.001, Motion: watch.Standing, Fault: f})
		}
	}
	take(300, 0.4, 0, watch.NoFault)
	at = begin
	take(10, 0.4, 0, watch.ClockOff)
	take(300, 0.4, 0, watch.NoFault)
	take(10, 0.4, 0.04, watch.NoFault)
	take(100, 0.8, 0, watch.NoFault)
	e := k.Events()
	if len(e) != 1 || e[0].Kind != Refill || math.Abs(e[0].Amount-0.4) > 0.02 || e[0].Start.Before(begin.Add(5*time.Hour)) {
		t.Errorf("%v; expected one refill of 0.4 after %v", e, begin.Add(5*time.Hour))
	}
}

// FuzzUnmarshal: damaged bytes give an error and change nothing; what is taken goes on.
func FuzzUnmarshal(f *testing.F) {
	r := rand.New(rand.NewPCG(1, 4))
	k := New(Config{})
	for _, l := range levels(r, 2000) {
		k.Take(l)
	}
	kept, err := k.MarshalBinary()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(kept)
	f.Add([]byte(stateName))
	f.Add(kept[:len(kept)/2])
	f.Fuzz(func(t *testing.T, b []byte) {
		// With its check sum put right, so that what lies behind it is tried too.
		for _, fix := range []bool{false, true} {
			c := slices.Clone(b)
			if fix && len(c) >= 4 {
				binary.LittleEndian.PutUint32(c[len(c)-4:], crc32.ChecksumIEEE(c[:len(c)-4]))
			}
			got := New(Config{})
			before, _ := got.MarshalBinary()
			if err := got.UnmarshalBinary(c); err != nil {
				if after, _ := got.MarshalBinary(); !bytes.Equal(before, after) {
					t.Fatal("an error changed the tracker")
				}
				continue
			}
			for _, l := range levels(rand.New(rand.NewPCG(2, 5)), 300) {
				got.Take(l)
			}
			got.Events()
			got.Ahead()
		}
	})
}

// TestKeptSize: with as many events as are kept, the bytes stay below what a store
// takes.
func TestKeptSize(t *testing.T) {
	k := New(Config{})
	for _, l := range levels(rand.New(rand.NewPCG(9, 9)), 4000) {
		k.Take(l)
	}
	for i := range 500 {
		k.open(record{What: aRefill, Start: int64(i), End: int64(i) + 1, Amount: 10, P: 0.9})
	}
	in := k.broughtIn()
	kept, err := k.MarshalBinary()
	if err != nil {
		t.Fatal(err)
	}
	if len(kept) > 64<<10 {
		t.Errorf("%d bytes; expected at most 64 KiB", len(kept))
	}
	again := New(Config{})
	if err := again.UnmarshalBinary(kept); err != nil {
		t.Fatal(err)
	}
	if len(again.events) != mostStored || math.Abs(again.broughtIn()-in) > 1e-9 {
		t.Errorf("%d events that brought in %g; expected %d and %g", len(again.events), again.broughtIn(), mostStored, in)
	}
}
