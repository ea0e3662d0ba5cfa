package kin

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Estimated from many units, the spread is the one they were made with: offset,
// gain and bend of units and batches, over the marks.
func TestSpreadOfManyUnits(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	g, err := usual.gathered(t, r, 300, 5).Gather()
	if err != nil {
		t.Fatal(err)
	}
	var unit, batch, rest float64
	for _, knot := range g.Known.Knots {
		y := usual.course(knot.Mark / 100)
		unit += square(usual.offset) + square(usual.gain*(y-0.5)) + square(usual.bend*math.Sin(math.Pi*knot.Mark/100))
		batch += square(usual.batchOffset) + square(usual.batchGain*(y-0.5))
		rest += square(usual.rest)
	}
	n := float64(len(g.Known.Knots))
	unit, batch = (unit+rest)/n, batch/n
	if math.Abs(g.Spread.Unit-unit) > 0.15*unit || math.Abs(g.Spread.Batch-batch) > 0.3*batch {
		t.Errorf("unit %g, made with %g; batch %g, made with %g", g.Spread.Unit, unit, g.Spread.Batch, batch)
	}
	for _, knot := range g.Known.Knots {
		if want := inventedLow + inventedSpan*usual.course(knot.Mark/100); math.Abs(knot.Value-want) > 0.004*inventedSpan {
			t.Errorf("at %g: %g, made as %g", knot.Mark, knot.Value, want)
		}
	}
}

// Units read at other marks than the rest belong as well: they stand in the type
// by their curves.
func TestUnitsAtOtherMarks(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	kind := usual.gathered(t, r, 4, 2)
	odd := []float64{0.02, 0.17, 0.34, 0.55, 0.73, 0.88, 0.97}
	c, err := curve.Fit(usual.bench(r, usual.unit(r, batch{}), odd, 2), curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	u, err := NewUnit(c, Unit{Job: "other", Serial: "other"})
	if err != nil {
		t.Fatal(err)
	}
	kind.Add(u)
	g, err := kind.Gather()
	if err != nil {
		t.Fatal(err)
	}
	knots := g.Known.Knots
	if first, last := knots[0].Mark, knots[len(knots)-1].Mark; first != 2 || last != 97 {
		t.Errorf("from %g to %g; all reach 2 to 97", first, last)
	}
	if len(knots) < 12 || len(knots) > mostGathered {
		t.Errorf("%d knots", len(knots))
	}
	if err := g.Known.Check(); err != nil {
		t.Error(err)
	}
}

func TestGatherRefuses(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	kind := usual.gathered(t, r, 3, 3)
	one := *kind
	one.Units = one.Units[:1]
	turned := *kind
	turned.Units = slices.Clone(kind.Units)
	turned.Units[1].Knots = slices.Clone(turned.Units[1].Knots)
	slices.Reverse(turned.Units[1].Knots)
	for i := range turned.Units[1].Knots {
		turned.Units[1].Knots[i].Mark = float64(10 * i)
	}
	short := *kind
	short.Units = slices.Clone(kind.Units)
	short.Units[2].Knots = short.Units[2].Knots[:5]
	for name, c := range map[string]struct {
		k    *Type
		want string
	}{
		"one unit": {&one, "how units differ can be told from 2 on"}, "direction": {&turned, "they aren't of one type"}, "short": {&short, "the units have only 0 % to 40 % in common"},
	} {
		if _, err := c.k.Gather(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestNewUnitRefuses(t *testing.T) {
	k := gatheredSample(t)
	known, _ := k.Curve()
	if _, err := NewUnit(known, Unit{Serial: "S"}); err == nil || !strings.Contains(err.Error(), "unit S: its curve comes from") {
		t.Errorf("a curve without readings: %v", err)
	}
	fit := func(pairs ...float64) *curve.Curve {
		s := curve.Sheet{Unit: curve.Dial}
		for i := 0; i < len(pairs); i += 2 {
			s.Readings = append(s.Readings, curve.Reading{Mark: pairs[i], Ohm: quantity.Ohm(pairs[i+1])})
		}
		c, err := curve.Fit(s, curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if _, err := NewUnit(fit(0, 10, 0.5, 50, 1, 90), Unit{Job: "7", Tank: "Gas"}); err == nil || !strings.Contains(err.Error(), "the unit of job 7, Gas: only 3 marks") {
		t.Errorf("three marks: %v", err)
	}
	if _, err := NewUnit(fit(0, 10, 0.2, 90, 0.4, 15, 0.6, 80, 0.8, 5, 1, 70), Unit{Job: "7"}); err == nil || !strings.Contains(err.Error(), "don't keep one direction") {
		t.Errorf("no order: %v", err)
	}
}

// What is said of few units, of one batch and of none.
func TestWordsOfFewUnits(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	text := func(kind *Type) (all string) {
		g, err := kind.Gather()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range g.Findings {
			all += f.Text + "\n"
			if f.Weight == finding.Bad {
				t.Error(f.Text)
			}
		}
		return all
	}
	two := usual.gathered(t, r, 2, 2)
	for _, want := range []string{"Two units tell the course", "All units are of one batch", "widened 1.5 times", "readings of its own: 1 to ±"} {
		if !strings.Contains(text(two), want) {
			t.Errorf("no %q in\n%s", want, text(two))
		}
	}
	for i := range two.Units {
		two.Units[i].Batch, two.Units[i].NoiseDF, two.Units[i].Noise = "", 0, 0
	}
	for _, want := range []string{"No batch is stated", "No unit was read twice"} {
		if !strings.Contains(text(two), want) {
			t.Errorf("no %q in\n%s", want, text(two))
		}
	}
	if all := text(usual.gathered(t, r, 3, 1)); !strings.Contains(all, "Only 3 units") || !strings.Contains(all, "Every unit is of another batch") {
		t.Error(all)
	}
	if all := text(usual.gathered(t, r, 12, 2)); !strings.Contains(all, "From batch to batch they differ by") {
		t.Error(all)
	}
}

// One batch known makes the type wider than the same units in batches that don't
// differ.
func TestOneBatchWidens(t *testing.T) {
	kind := usual.gathered(t, rand.New(rand.NewPCG(8, 8)), 6, 6)
	one, err := kind.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for i := range kind.Units {
		kind.Units[i].Batch = string(rune('A' + i))
	}
	each, err := kind.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for i := range one.Known.Knots {
		wide, narrow := one.Known.Knots[i].U, each.Known.Knots[i].U
		if wide < 1.3*narrow || wide > 1.55*narrow {
			t.Errorf("knot %d: ±%g for one batch, ±%g for six", i, wide, narrow)
		}
	}
}

// Whatever units a file may hold, gathering gives figures that can be used, or an
// error in words.
func TestGatherLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := &Type{Version: Version, Name: "any", Marks: rapid.SampledFrom([]string{"mark_pct", "mark_mm"}).Draw(t, "marks"), Gives: "ohm"}
		falling := rapid.Bool().Draw(t, "falling")
		for i := range rapid.IntRange(2, 7).Draw(t, "units") {
			u := Unit{Job: string(rune('a' + i)), Batch: rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "batch")}
			mark, value := rapid.Float64Range(0, 10).Draw(t, "mark"), rapid.Float64Range(0, 50).Draw(t, "value")
			for range rapid.IntRange(5, 12).Draw(t, "knots") {
				k := UnitPoint{Mark: mark, Value: value, Own: rapid.Float64Range(0, 5).Draw(t, "own"), Common: rapid.Float64Range(0, 5).Draw(t, "common")}
				if falling {
					k.Value = 1000 - value
				}
				u.Knots = append(u.Knots, k)
				mark += rapid.Float64Range(0.01, 7).Draw(t, "step")
				value += rapid.Float64Range(0, 30).Draw(t, "rise")
			}
			kind.Units = append(kind.Units, u)
		}
		if len(kind.rules()) > 0 {
			return
		}
		g, err := kind.Gather()
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if err := g.Known.Check(); err != nil {
			t.Fatal(err)
		}
		if g.Known.DF < 1-1e-9 || math.IsNaN(g.Known.DF) {
			t.Fatalf("%g degrees of freedom", g.Known.DF)
		}
		if _, err := g.Known.Plan(3, curve.Options{}); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkGather20Units(b *testing.B) {
	kind := usual.gathered(b, rand.New(rand.NewPCG(1, 1)), 20, 5)
	for b.Loop() {
		if _, err := kind.Gather(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWithThreeReadings(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	g, err := usual.gathered(b, r, 20, 5).Gather()
	if err != nil {
		b.Fatal(err)
	}
	sheet := usual.bench(r, usual.unit(r, batch{}), []float64{0, 0.5, 1}, 1)
	for b.Loop() {
		if _, _, err := g.Known.With(sheet, curve.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlanOfThree(b *testing.B) {
	g, err := usual.gathered(b, rand.New(rand.NewPCG(1, 1)), 20, 5).Gather()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := g.Known.Plan(3, curve.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
