package vehicle

import (
	"bytes"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
)

var begin = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

// told makes a vehicle of a story with the kitchen's tanks.
func told(t testing.TB, seed uint64, story string, every, length time.Duration) *Vehicle {
	t.Helper()
	plan, err := Tell(story, Kitchen(), begin, every, length)
	if err != nil {
		t.Fatal(err)
	}
	v, err := New(seed, plan)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// What was in the tank, and what came in, less what was used, is what is in it.
// Nothing goes beyond the permitted fill or below empty.
func TestVolumeIsConserved(t *testing.T) {
	for _, s := range Stories() {
		v := told(t, 7, s.Name, 20*time.Second, 36*time.Hour)
		first := []State{v.State(0), v.State(1), v.State(2)}
		for v.Elapsed() < 36*time.Hour {
			v.Next()
			for i, f := range first {
				now := v.State(i)
				want := float64(f.True)*float64(f.Capacity) + float64(now.Book.Filled-now.Book.Used)
				got := float64(now.True) * float64(now.Capacity)
				if math.Abs(want-got) > 1e-9 || now.True < 0 || now.True > now.Permitted+1e-12 {
					t.Fatalf("%s, %s after %v: %g m³ (%g of at most %g), expected %g", s.Name, f.Name, v.Elapsed(), got, now.True, now.Permitted, want)
				}
			}
		}
		if fresh, waste := v.State(0).Book, v.State(1).Book; fresh.Used <= 0 || waste.Filled <= 0 || v.State(2).Book.Used <= 0 {
			t.Errorf("%s: nothing was used in 36 h: %+v", s.Name, fresh)
		}
	}
}

func TestSameSeedSameReadings(t *testing.T) {
	run := func(seed uint64, story string) string {
		v := told(t, seed, story, time.Second, time.Hour)
		var b bytes.Buffer
		for range 3600 {
			for _, s := range v.Next() {
				fmt.Fprintln(&b, s.Tank, s.Stamp.UnixNano(), math.Float64bits(s.Ohm), math.Float64bits(float64(s.True)), s.Moving, s.Fault, s.Second)
			}
		}
		return b.String()
	}
	for _, s := range Stories() {
		first, again := run(3, s.Name), run(3, s.Name)
		if first != again {
			t.Errorf("%s: two runs of one seed differ", s.Name)
		}
		if first == run(4, s.Name) {
			t.Errorf("%s: two seeds give the same", s.Name)
		}
	}
}

// Whatever is asked of it, the truth stays within the tank and the ohms within
// what the input can read.
func TestWhateverIsOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := rapid.SampledFrom(Stories()).Draw(t, "story").Name
		every := time.Duration(rapid.IntRange(10, 60_000).Draw(t, "every")) * time.Millisecond
		plan, err := Tell(story, Kitchen(), begin, every, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		v, err := New(rapid.Uint64().Draw(t, "seed"), plan)
		if err != nil {
			t.Fatal(err)
		}
		name := rapid.SampledFrom([]string{"fresh", "waste", "lpg"})
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			switch rapid.IntRange(0, 4).Draw(t, "order") {
			case 0:
				_, err = v.Pour(name.Draw(t, "tank"), 1e-3*cubic(rapid.Float64Range(-200, 200).Draw(t, "litres")))
			case 1:
				err = v.Fault(Fault{Tank: name.Draw(t, "tank"), Kind: rapid.SampledFrom(Kinds()).Draw(t, "kind"), From: v.Elapsed(), By: 5})
			case 2:
				_, err = v.Mend(name.Draw(t, "tank"))
			case 3:
				v.Go(Way(rapid.IntRange(0, 3).Draw(t, "way")))
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range v.Next() {
				permitted := v.State(s.Tank).Permitted
				if !(s.True >= 0 && s.True <= permitted+1e-12) {
					t.Fatalf("the truth is %v of at most %v", s.True, permitted)
				}
				if !(s.Ohm >= 0 && s.Ohm <= 99999) {
					t.Fatalf("it reads %v ohms", s.Ohm)
				}
			}
		}
	})
}

func TestPlanRefused(t *testing.T) {
	for name, change := range map[string]func(*Plan){
		"no start":         func(p *Plan) { p.Start = time.Time{} },
		"too often":        func(p *Plan) { p.Every = time.Millisecond },
		"no tank":          func(p *Plan) { p.Tanks = nil },
		"two of one name":  func(p *Plan) { p.Tanks[1].Name = "fresh" },
		"a name":           func(p *Plan) { p.Tanks[0].Name = "fresh water" },
		"gas beyond 80 %":  func(p *Plan) { p.Tanks[2].Begin = 0.9 },
		"a refill of 90 %": func(p *Plan) { p.Tanks[2].Refill.To = 0.9 },
		"no such tank":     func(p *Plan) { p.Faults = []Fault{{Tank: "oil", Kind: Broken}} },
		"no sender":        func(p *Plan) { p.Tanks[0].Sender = Sender{} },
		"no shape":         func(p *Plan) { p.Tanks[0].Shape = Shape{} },
		"from nowhere":     func(p *Plan) { p.Tanks[1].From = "well" },
	} {
		p, err := Tell("parked", Kitchen(), begin, time.Second, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		change(&p)
		if _, err := New(1, p); err == nil {
			t.Errorf("%s: not refused", name)
		}
	}
}

// One vehicle with three tanks in town traffic.
func BenchmarkTown(b *testing.B) { bench(b, "town") }

// One vehicle with three tanks, parked.
func BenchmarkParked(b *testing.B) { bench(b, "parked") }

func bench(b *testing.B, story string) {
	v := told(b, 1, story, time.Second, 1000*time.Hour)
	for v.Elapsed() < 110*time.Hour && story == "town" && v.Way() != Town {
		v.Next()
	}
	b.ResetTimer()
	n := 0
	for b.Loop() {
		n += len(v.Next())
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "samples/s")
}

func cubic(v float64) quantity.CubicMetre { return quantity.CubicMetre(v) }
