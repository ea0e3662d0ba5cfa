package sitting

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/tankfile"
)

// took gives a tank with a dial at which readings were taken: "0u 10u 20" is up
// to 10 %, and 20 % of which nobody wrote down the way. The sender gives one ohm
// for a percent, or what stands behind an equals sign.
func took(text string) job.Tank {
	k := dial()
	for _, word := range strings.Fields(text) {
		word, ohm, wild := strings.Cut(word, "=")
		sweep := map[byte]string{'u': "up", 'd': "down"}[word[len(word)-1]]
		var mark, value float64
		fmt.Sscan(strings.TrimRight(word, "ud"), &mark)
		value = mark + 0.1
		if sweep == "down" {
			value += 0.4
		}
		if wild {
			fmt.Sscan(ohm, &value)
		}
		k.Bench.Readings = append(k.Bench.Readings, at(mark, value, sweep))
	}
	return k
}

const (
	wholeUp   = "0u 10u 20u 30u 40u 50u 60u 70u 80u 90u 100u "
	wholeDown = "90d 80d 70d 60d 50d 40d 30d 20d 10d 0d "
)

func TestSuggestFirstSweeps(t *testing.T) {
	for _, c := range []struct {
		name, taken string
		sweep       curve.Sweep
		at          float64 // −1: not given
		want        string
	}{
		{"nothing", "", 0, -1, "begin at 0 %, going up"},
		{"stands at the top", "", 0, 1, "next: 100 %, going down"},
		{"begins going down", "", curve.Down, -1, "begin at 100 %, going down"},
		{"one", "0u", 0, -1, "next: 10 %, going up"},
		{"one of no sweep", "0", 0, -1, "next: 10 %, going up"},
		{"one that was come to from above", "0d", curve.Down, -1, "next: 10 %, going up"},
		{"two", "0 10", 0, -1, "next: 20 %, going up"},
		{"skipped one", "0u 10u 40u", 0, -1, "next: 50 %, going up"},
		{"own marks", "2u 13u 27.4u", 0, -1, "next: 30 %, going up"},
		{"a mark missed by a little", "0u 10u 19u", 0, -1, "next: 30 %, going up"},
		{"read twice", "0u 10u 20u 20u 20u", 0, -1, "next: 30 %, going up"},
		{"went back for one", "0u 10u 20u 30u 40u 20u", 0, -1, "next: 50 %, going up"},
		{"stands further on", "0u 10u", 0, 0.4, "next: 40 %, going up"},
		{"stands a little further on", "0u 10u", 0, 0.43, "next: 50 %, going up"},
		{"top", wholeUp, 0, -1, "turn round: from here go down to 90 %"},
		{"top of no sweep", strings.ReplaceAll(wholeUp, "u", ""), 0, -1, "turn round: from here go down to 90 %"},
		{"not quite the top", "0u 50u 98u", 0, -1, "turn round: from here go down to 90 %"},
		{"top read both ways", wholeUp + "100d", 0, -1, "next: 90 %, going down"},
		{"going down", wholeUp + "90d 80d", 0, -1, "next: 70 %, going down"},
		{"going down, skipped", wholeUp + "90d 40d", 0, -1, "next: 30 %, going down"},
		{"one more going up amid the way down", wholeUp + "90d 80d 40u", 0, -1, "next: 70 %, going down from above it"},
		{"turned early", "0u 10u 20u 30u 40u 30d", 0, -1, "next: 20 %, going down"},
		{"means to turn", "0u 10u 20u 30u 40u", curve.Down, -1, "turn round: from here go down to 30 %"},
		{"came back to go on", "0 10 20 30 40 20 50", 0, -1, "next: 60 %, going up"},
		{"from the top", "100d 90d", 0, -1, "next: 80 %, going down"},
		{"from the top, nobody wrote", "100 90", 0, -1, "next: 80 %, going down"},
		{"from the top, at the bottom", "100d 90d 80d 50d 20d 0d", 0, -1, "turn round: from here go up to 10 %"},
		{"wild one", "0u 10u 20u 30u=80 40u 50u", 0, -1, "30 % once more, going up from below it: the last reading there doesn't go with the others"},
		{"wild one read again", "0u 10u 20u 30u=80 40u 50u 30u", 0, -1, "30 % once more, going up: the last reading there doesn't go with the others"},
		{"and again", "0u 10u 20u 30u=80 40u 50u 30u 30u", 0, -1, "next: 60 %, going up"},
		{"wild again and again", "0u 10u 20u 30u=80 40u 50u 30u=5 30u=95", 0, -1, "next: 60 %, going up"},
		{"a broken track", "0u 10u 20u 30u=80 40u 50u 30u=81", 0, -1, "next: 60 %, going up"},
		{"two far apart", wholeUp + "90d 80d 70d 60d=78 50d", 0, -1, "60 % once more, going down from above it: the readings there lie 17.9 Ω apart"},
		{"two far apart and a third", wholeUp + "90d 80d 70d 60d=78 50d 60d", 0, -1, "next: 40 %, going down"},
		{"a sender that doesn't move", "0u=5 10u=5 20u=5", 0, -1, "next: 30 %, going up"},
	} {
		var stands *float64
		if c.at >= 0 {
			stands = &c.at
		}
		k := took(c.taken)
		n := Suggest(k, c.sweep, stands)
		if n.Words != c.want || !n.Known || n.First == strings.Contains(n.Words, "once more") {
			t.Errorf("%s: found %+v, expected %q", c.name, n, c.want)
		}
		if !strings.Contains(n.Words, curve.Dial.Text(n.Mark)) || n.Sweep != curve.Unstated && !strings.Contains(n.Words, n.Sweep.String()) {
			t.Errorf("%s: the words say something else than %+v", c.name, n)
		}
	}
}

func TestSuggestByThePlan(t *testing.T) {
	for _, c := range []struct{ name, taken, want string }{
		{"both sweeps", wholeUp + wholeDown, "more readings don't help: the doubt stays at ±0.6 points (not even 50 would halve it)"},
		{"turned early and done", "0u 10u 20u 30u 40u 50u 60u 40d 20d 0d", "next: 100 %, going up; the doubt falls from "},
		{"no mark both ways", "0u 20u 40u 60u 80u 100u 90d 70d 50d 30d 10d 1d", "next: 40 % once more, going down from above it: no mark was read both ways, so the hysteresis isn't known"},
		{"a coarse one", "0u 50u=70 100u 50d=71 0d", "going up"},
		{"no direction", "0u 20u=60 40u=20 60u=90 80u=10 100u=50 90d=80 70d=20 40d=70 0d=40", "more readings don't help before the sender keeps one direction"},
		{"doesn't move", strings.ReplaceAll(strings.ReplaceAll(wholeUp+wholeDown, "u", "u=5"), "d", "d=5"), "no curve can be made of these readings yet, so it can't be told where more are needed: all 21 readings are 5.0 Ω"},
	} {
		n := Suggest(took(c.taken), curve.Unstated, nil)
		if !strings.Contains(n.Words, c.want) || n.First || n.Known != strings.HasPrefix(n.Words, "next: ") {
			t.Errorf("%s: found %+v, expected %q", c.name, n, c.want)
		}
		t.Logf("%s: %s", c.name, n.Words)
	}
	// What a curve of its own says is what is suggested.
	k := took("0u 50u=70 100u 50d=71 0d")
	c, err := k.Curve()
	if err != nil {
		t.Fatal(err)
	}
	if plan, n := c.Plan(5, 0, 1), Suggest(k, curve.Unstated, nil); n.Mark != plan.Next[0].Mark {
		t.Errorf("found %+v, the plan has %+v", n, plan.Next)
	}
}

// Whatever was read: a suggestion within a sweep never goes back, and one that is
// followed leads through both sweeps, from each end to the other, in no more
// readings than the ladder has marks twice.
func TestSuggestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := dial()
		unstated := rapid.Bool().Draw(t, "nobody writes the way")
		down := rapid.Bool().Draw(t, "down first")
		var n Next
		furthest := map[curve.Sweep]float64{curve.Up: -1, curve.Down: 2}
		first := curve.Unstated
		if down {
			first = curve.Down
		}
		for step := 0; ; step++ {
			if n = Suggest(k, first, nil); !n.First {
				break
			}
			first = curve.Unstated
			if step > 2*11 {
				t.Fatalf("no end after %d readings: %+v", step, n)
			}
			if n.Sweep == curve.Up && n.Mark <= furthest[n.Sweep] || n.Sweep == curve.Down && n.Mark >= furthest[n.Sweep] {
				t.Fatalf("back to %+v after %s", n, strips(k))
			}
			mark := n.Mark
			if step > 0 && rapid.IntRange(0, 4).Draw(t, "own mark") == 0 { // a mark of one's own, further on
				if n.Sweep == curve.Up {
					mark = rapid.Float64Range(n.Mark, 1).Draw(t, "mark")
				} else {
					mark = rapid.Float64Range(0, n.Mark).Draw(t, "mark")
				}
				mark = curve.Dial.FromShown(math.Round(curve.Dial.ToShown(mark)))
			}
			if n.Sweep == curve.Up {
				furthest[n.Sweep] = max(furthest[n.Sweep], mark)
			} else {
				furthest[n.Sweep] = min(furthest[n.Sweep], mark)
			}
			sweep := n.Sweep.String()
			if unstated {
				sweep = ""
			}
			for range rapid.IntRange(1, 2).Draw(t, "times") {
				r := at(curve.Dial.ToShown(mark), 5+90*mark, sweep)
				if err := Take(&k, r); err != nil {
					t.Fatal(err)
				}
			}
		}
		if len(k.Bench.Readings) < 3 {
			t.Fatalf("done after %s: %s", strips(k), n.Words)
		}
		if n.Known && !(n.Mark >= 0 && n.Mark <= 1) {
			t.Fatalf("%+v lies outside the dial", n)
		}
	})
}

// filled is a tank into which is poured or weighed.
func filled(contents job.Contents, unit curve.MarkUnit, capacity, permitted float64) job.Tank {
	return job.Tank{Name: "A", Contents: contents, WaterCapacityL: capacity, PermittedFillPct: permitted, Bench: job.Bench{Marks: unit.Column()}}
}

func TestLadder(t *testing.T) {
	rod := job.Tank{Bench: job.Bench{Marks: "mark_mm"}, Shape: &tankfile.File{Body: tankfile.Body{Shape: tankfile.Box, LengthMM: 400, WidthMM: 300, HeightMM: 250}}}
	withRod := rod
	file := *rod.Shape
	file.Sender = &tankfile.Sender{Kind: tankfile.KindRod, RodMM: 240, FootMM: 10, HeadMM: 10, FloatMM: 20, SinksMM: 10}
	withRod.Shape = &file
	gas := filled(job.LPG, curve.Mass, 54, 80)
	gas.Gas = &job.Gas{Propane: 1}
	ends := func(k job.Tank, low, high float64) job.Tank {
		k.Bench.EmptyMark, k.Bench.FullMark = &low, &high
		return k
	}
	for _, c := range []struct {
		name string
		tank job.Tank
		want string
	}{
		{"dial", dial(), "0 10 20 30 40 50 60 70 80 90 100"},
		{"printed marks", ends(dial(), 5, 95), "5 10 20 30 40 50 60 70 80 90 95"},
		{"a short dial", ends(dial(), 0, 8), "0 1 2 3 4 5 6 7 8"},
		{"height of a box", rod, "0 50 100 150 200 250"},
		{"travel of a rod", withRod, "30 40 60 80 100 120 140 160 180 200 220 230"},
		{"height stated", ends(job.Tank{Bench: job.Bench{Marks: "mark_mm"}}, 12, 412), "12 50 100 150 200 250 300 350 412"},
		{"height unknown", job.Tank{Bench: job.Bench{Marks: "mark_mm"}}, "how far the marks go isn't known: state the bench's empty_mark and full_mark in mm, or describe the tank"},
		{"height of readings", job.Tank{Bench: job.Bench{Readings: []job.Reading{{MarkMM: ptr(10.0)}, {MarkMM: ptr(90.0)}}}}, "10 20 30 40 50 60 70 80 90"},
		{"litres of water", filled(job.Water, curve.Volume, 90, 0), "0 10 20 30 40 50 60 70 80 90"},
		{"litres of diesel", filled(job.Diesel, curve.Volume, 60, 95), "0 10 20 30 40 50 57"},
		{"litres of diesel, not said how full", filled(job.Diesel, curve.Volume, 60, 0), "how far the marks go isn't known: state the bench's empty_mark and full_mark in L, or the tank's water_capacity_l and permitted_fill_pct"},
		{"stated beyond the tank", ends(filled(job.Diesel, curve.Volume, 60, 0), 0, 70), "0 10 20 30 40 50 60"},
		{"litres of gas", filled(job.LPG, curve.Volume, 54, 80), "0 5 10 15 20 25 30 35 40 43.2"},
		{"gas stated beyond", ends(filled(job.LPG, curve.Volume, 54, 80), 0, 54), "0 5 10 15 20 25 30 35 40 43.2"},
		{"gas stated below", ends(filled(job.LPG, curve.Volume, 54, 80), 0, 16), "0 2 4 6 8 10 12 14 16"},
		{"gas without a fill", ends(filled(job.LPG, curve.Volume, 54, 0), 0, 30), `gas is poured or weighed in only up to the permitted fill: tank "A": how full it may be filled isn't stated; state permitted_fill_pct, or say how full it is`},
		{"gas too full", filled(job.LPG, curve.Volume, 54, 90), "gas is poured or weighed in only up to the permitted fill"},
		{"gas without a capacity", ends(filled(job.LPG, curve.Volume, 0, 80), 0, 30), "which isn't known in L: the tank's water_capacity_l isn't stated"},
		{"gas by weight, unknown gas", ends(filled(job.LPG, curve.Mass, 54, 80), 0, 20), "which isn't known in kg: what the gas is mixed of isn't stated"},
		// 43.2 L of liquid propane at 507.5 kg/m³ (15 °C; see contents) and 10.8 L
		// of its vapour: 21.9 kg and 0.2 kg.
		{"gas by weight", gas, "0 2 4 6 8 10 12 14 16 18 20 22"},
		{"ends the wrong way", ends(filled(job.LPG, curve.Volume, 54, 80), 44, 54), "the highest mark to go to, 43.2 L, doesn't lie above the lowest, 44 L"},
	} {
		marks, err := Ladder(c.tank)
		found := ""
		for _, m := range marks {
			found += " " + c.tank.Unit().Figure(m)
		}
		found = strings.TrimSpace(found)
		if err != nil {
			found = err.Error()
		}
		if err == nil && found != c.want || err != nil && !strings.Contains(found, c.want) {
			t.Errorf("%s: found %s, expected %s", c.name, found, c.want)
		}
	}
}

// However a tank is described and whatever was read, nothing that is poured or
// weighed is suggested beyond the permitted fill.
func TestSuggestNeverOverfills(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]curve.MarkUnit{curve.Volume, curve.Mass}).Draw(t, "unit")
		capacity, fill := rapid.Float64Range(1, 500).Draw(t, "capacity"), rapid.Float64Range(20, 85).Draw(t, "fill")
		k := filled(job.LPG, unit, capacity, fill)
		k.Gas = &job.Gas{Propane: 0.6, Butane: 0.4}
		k.TemperatureC = ptr(rapid.Float64Range(-30, 40).Draw(t, "temperature"))
		if rapid.Bool().Draw(t, "stated") {
			k.Bench.FullMark = ptr(rapid.Float64Range(1, 1000).Draw(t, "full mark"))
		}
		most := capacity * fill / 100 // L; propane and butane are lighter than 0.6 kg/L
		if unit == curve.Mass {
			most *= 0.6
		}
		for range rapid.IntRange(0, 40).Draw(t, "readings") {
			mark := rapid.Float64Range(0, capacity).Draw(t, "mark") // beyond the fill too
			r := job.Reading{Ohm: 5 + mark/capacity*90, Sweep: rapid.SampledFrom([]string{"", "up", "down"}).Draw(t, "sweep")}
			r.SetMark(mark, unit)
			k.Bench.Readings = append(k.Bench.Readings, r)
		}
		if n := Suggest(k, curve.Unstated, nil); n.Known && unit.ToShown(n.Mark) > most {
			t.Fatalf("%s of %g L, with %g %% permitted", n.Words, capacity, fill)
		}
	})
}

func TestDoubtful(t *testing.T) {
	k := took("0u 10u 20u 30u=80 40u 50u")
	for i := range k.Bench.Readings {
		words, doubtful := Doubtful(k, i)
		if doubtful != (i == 3) || doubtful && words != "it doesn't go with the others: take it again" {
			t.Errorf("reading %d: %v, %s", i, doubtful, words)
		}
	}
	k = took("0u 10u 20u 30u=80 40u 50u 30u=80")
	if words, doubtful := Doubtful(k, 6); !doubtful || !strings.HasPrefix(words, "the sender gave this 2 times at 30 %") {
		t.Errorf("a broken track: %v, %s", doubtful, words)
	}
	if err := Strike(&k, Ref(k, 6), "slipped", noon); err != nil {
		t.Fatal(err)
	}
	for i, l := range Strip(k) {
		ref, own := "", job.Reading{}
		if l.Struck {
			ref, own = StruckRef(k, l.Index), k.Bench.Struck[l.Index].Reading
		} else {
			ref, own = Ref(k, l.Index), k.Bench.Readings[l.Index]
		}
		if l.Ref != ref || l.Ohm != own.Ohm || l.Struck != (i == 6) || (l.Reason == "slipped") != l.Struck || (l.When != "") != l.Struck || (l.Doubt != "") != (i == 3) {
			t.Errorf("line %d is %+v", i, l)
		}
	}
	if _, doubtful := Doubtful(took("0u"), 0); doubtful {
		t.Error("the only reading is doubtful")
	}
}

// BenchmarkSuggest is on forty readings, after each of which it is asked.
func BenchmarkSuggest(b *testing.B) {
	k := took(wholeUp + wholeDown + wholeUp + "90d 80d 70d 60d 50d 40d 30d 20d")
	for i := range k.Bench.Readings {
		k.Bench.Readings[i].Ohm += 0.3 * math.Sin(float64(i*i)) // a sender that scatters
	}
	if len(k.Bench.Readings) != 40 {
		b.Fatal(len(k.Bench.Readings))
	}
	for b.Loop() {
		Suggest(k, curve.Unstated, nil)
	}
}

// BenchmarkStrip is on as many readings as a bench may have.
func BenchmarkStrip(b *testing.B) {
	k := dial()
	for i := range job.MaxReadings {
		k.Bench.Readings = append(k.Bench.Readings, at(float64(i%101), float64(i%101)+0.1*float64(i%7), ""))
	}
	for b.Loop() {
		Strip(k)
	}
}
