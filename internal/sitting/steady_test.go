package sitting

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

var noon = time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)

// said is what a meter says a number of milliseconds after noon.
func said(ms int, ohm float64) Sample {
	return Sample{At: noon.Add(time.Duration(ms) * time.Millisecond), State: Reading, Value: quantity.Ohm(ohm)}
}

func TestSteady(t *testing.T) {
	every := func(step, n int, value func(i int) float64) (out []Sample) {
		for i := range n {
			out = append(out, said(i*step, value(i)))
		}
		return out
	}
	same := func(v float64) func(int) float64 { return func(int) float64 { return v } }
	with := func(list []Sample, more ...Sample) []Sample { return append(list, more...) }
	for _, c := range []struct {
		name    string
		samples []Sample
		want    string // the spell of each sample
	}{
		{"ten in a second", every(100, 12, same(40)), "000000000011"},
		{"two don't do", []Sample{said(0, 40), said(1000, 40)}, "00"},
		{"three over two seconds", []Sample{said(0, 40), said(1000, 40), said(2000, 40)}, "001"},
		{"too slow a meter", []Sample{said(0, 40), said(2100, 40), said(4200, 40), said(6300, 40)}, "0000"},
		{"all at one moment", every(0, 9, same(40)), "000000000"},
		{"last digit flickers", every(250, 6, func(i int) float64 { return 40 + 0.1*float64(i%3) }), "000011"},
		{"a meter of whole ohms", every(250, 6, func(i int) float64 { return 400 + float64(i%2) }), "000011"},
		{"just too much", every(250, 6, func(i int) float64 { return 40 + 0.105*float64(i%2) }), "000000"},
		{"a part of a large value", every(250, 6, func(i int) float64 { return 400 + 0.35*float64(i%2) }), "000011"},
		{"creeps fast", every(250, 9, func(i int) float64 { return 40 + 0.053*float64(i) }), "000000000"},
		{"moves on", with(every(250, 6, same(40)), said(1500, 45), said(1750, 45), said(2000, 45), said(2250, 45), said(2500, 45)), "00001100002"},
		{"stays the same spell", with(every(250, 6, same(40)), said(1500, 40.15), said(1750, 39.85), said(2000, 40)), "000011111"},
		{"overload between", with(every(250, 6, same(40)), Sample{At: noon.Add(1500 * time.Millisecond), State: Overload}, said(1750, 40), said(2000, 40), said(2250, 40), said(2500, 40), said(2750, 40)), "000011000002"},
		{"silence between", with(every(250, 6, same(40)), said(4000, 40), said(4500, 40), said(5000, 40)), "000011002"},
		{"clock set back an hour", with(every(250, 6, same(40)), said(-3600000, 40), said(-3599500, 40), said(-3599000, 40)), "000011002"},
		{"clock set back before", []Sample{said(0, 40), said(900, 40), said(-500, 40), said(600, 40), said(650, 40)}, "00001"},
		{"other signal", with(every(250, 5, same(4)), Sample{At: noon.Add(1250 * time.Millisecond), State: Reading, Signal: curve.Volts, Value: 4}), "000010"},
		{"not a number", with(every(250, 5, same(4)), said(1250, math.NaN()), said(1500, 4)), "0000100"},
	} {
		s, found := NewSteady(SteadyRule{}), ""
		for _, x := range c.samples {
			out := s.Add(x)
			found += fmt.Sprint(out.Spell)
			if _, ok := s.Value(); ok != (out.Spell > 0) {
				t.Errorf("%s: a value to take %v with the spell %d", c.name, ok, out.Spell)
			}
			if out.Spell = x.Spell; out != x && x.Value == x.Value {
				t.Errorf("%s: %+v became %+v", c.name, x, out)
			}
		}
		if found != c.want {
			t.Errorf("%s: found %s, expected %s", c.name, found, c.want)
		}
	}
}

// What is taken is the middle of what was said, as fine as the meter shows it.
func TestSteadyValue(t *testing.T) {
	s := NewSteady(SteadyRule{})
	if _, ok := s.Value(); ok {
		t.Error("a value before any was said")
	}
	for i, v := range []float64{40.2, 40.1, 40.2, 40.2, 40.1, 40.2} {
		s.Add(said(250*i, v))
	}
	if v, ok := s.Value(); !ok || v != 40.2 {
		t.Errorf("found %v, %v; expected 40.2", v, ok)
	}
	// Between two values the middle would be finer than the meter shows.
	s = NewSteady(SteadyRule{})
	for i, v := range []float64{40.1, 40.2, 40.1, 40.2} {
		s.Add(said(400*i, v))
	}
	if v, ok := s.Value(); !ok || v != 40.2 && v != 40.1 {
		t.Errorf("found %v, %v; expected 40.1 or 40.2", v, ok)
	}
	// A creep that is too slow to be seen in a second does end the spell.
	s = NewSteady(SteadyRule{})
	last := int64(0)
	for i := range 100 {
		last = s.Add(said(100*i, 40+0.005*float64(i))).Spell
	}
	if last == 1 {
		t.Error("0.5 Ω of creep in ten seconds was one spell")
	}
}

// The laws of it, for whatever a meter says: a spell is a run of readings whose
// last second lies within the tolerance, worked out here in another way.
func TestSteadyLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := NewSteady(SteadyRule{Digits: 1e-9}) // the meter's digits apart
		var since []Sample                       // whole run of readings that ends here
		at, spell, before := noon, int64(0), int64(0)
		for range rapid.IntRange(1, 60).Draw(t, "samples") {
			at = at.Add(time.Duration(rapid.SampledFrom([]int{0, 100, 250, 400, 1000, 1900, 2500, -50, -4000000}).Draw(t, "ms")) * time.Millisecond)
			x := Sample{At: at, State: rapid.SampledFrom([]State{Reading, Reading, Reading, Reading, Reading, Reading, Reading, Overload, Garbled, Away}).Draw(t, "state")}
			if x.State == Reading {
				x.Value = quantity.Ohm(40 + rapid.SampledFrom([]float64{0, 0, 0, 0.04, 0.08, 0.3, 5}).Draw(t, "off"))
			}
			if n := len(since); x.State != Reading || n > 0 && (x.At.Before(since[n-1].At) || x.At.Sub(since[n-1].At) > 2*time.Second) {
				since = nil
			}
			if x.State == Reading {
				since = append(since, x)
			}
			found := s.Add(x)
			if found.Spell > 0 && found.Spell != spell {
				if found.Spell != spell+1 {
					t.Fatalf("spell %d after %d", found.Spell, spell)
				}
				spell = found.Spell
				low, high, n, whole := math.Inf(1), math.Inf(-1), 0, false
				for i := len(since) - 1; i >= 0 && !(whole && n >= 3); i-- {
					v := float64(since[i].Value)
					low, high, n = min(low, v), max(high, v), n+1
					whole = x.At.Sub(since[i].At) >= time.Second
				}
				if !whole || n < 3 || high-low > 0.1+1e-6 {
					t.Fatalf("steady on %d samples, a whole second %v, between %g and %g", n, whole, low, high)
				}
			}
			if before > 0 && found.Spell == 0 && len(since) > 1 {
				// It has ended in the midst of a run: the value must have moved.
				if d := math.Abs(float64(x.Value - since[len(since)-2].Value)); d < 0.02 {
					t.Fatalf("ended by a move of %g Ω", d)
				}
			}
			before = found.Spell
		}
	})
}

// Noise below the tolerance is steady within a second and one sample, and a
// step ends it at once.
func TestSteadyFindsEveryRest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := NewSteady(SteadyRule{})
		step := rapid.IntRange(20, 500).Draw(t, "every ms")
		value := rapid.Float64Range(0, 2000).Draw(t, "value")
		noise := max(0.1, 0.001*value) * 0.49
		if rapid.Bool().Draw(t, "was moving") {
			for i := range 20 {
				s.Add(said(i*10-500, value+50+float64(i)))
			}
		}
		at, found := 0, Sample{}
		for found.Spell == 0 {
			found = s.Add(said(at, value+rapid.Float64Range(-noise, noise).Draw(t, "noise")))
			if at > 1000+step {
				t.Fatalf("not steady after %d ms, with a sample every %d ms", at, step)
			}
			at += step
		}
		far := 4 * max(0.1, 0.001*value) * rapid.SampledFrom([]float64{-1, 1}).Draw(t, "step")
		if after := s.Add(said(at, value+far)); after.Spell != 0 {
			t.Fatalf("a step of %g Ω from %g Ω didn't end the spell", far, value)
		}
	})
}

func BenchmarkSteady(b *testing.B) {
	s := NewSteady(SteadyRule{})
	for i := range b.N {
		s.Add(said(i*50, 40+0.1*float64(i%2)))
	}
}
