package circuit_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/circuit"
	"gaugewright/internal/finding"
)

// The voltage divider of any electronics textbook, R = R_ref·V/(V_s − V), worked
// by hand: 10 kΩ from 5 V with 1.25 V across the unknown is 3333.3 Ω, and that is
// a quarter of full scale, 256 counts of 1024 or 1024 of 4096.
func TestInputDivider(t *testing.T) {
	for bits, count := range map[int]int{10: 256, 12: 1024} {
		in := circuit.Input{Reference: 5, Bits: bits, Ratiometric: true}
		if got := in.Counts(10e3, 10e3*1.25/(5-1.25)); got != count {
			t.Errorf("%d bits: %d counts, want %d", bits, got, count)
		}
		if got, err := in.Ohms(10e3, count); err != nil || !near(got, 3333.3333, 1e-4) {
			t.Errorf("%d bits: %v Ω, %v", bits, got, err)
		}
	}
	// The same divider on a converter of 2.5 V: half its scale.
	in := circuit.Input{Reference: 5, FullScale: 2.5, Bits: 12}
	if got := in.Counts(10e3, 10e3/3.0); got != 2048 {
		t.Errorf("%d counts, want 2048", got)
	}
	if got := in.Counts(10e3, math.Inf(1)); got != 4095 {
		t.Errorf("open: %d counts, want 4095", got)
	}
	for _, count := range []int{-1, 4095, 4096} {
		if got, err := in.Ohms(10e3, count); err == nil {
			t.Errorf("%d counts told as %v Ω", count, got)
		}
	}
}

func inputDraw(t *rapid.T) (circuit.Input, float64) {
	in := circuit.Input{
		Reference: rapid.Float64Range(0.5, 12).Draw(t, "reference"), Ratiometric: true,
		Bits: rapid.IntRange(4, 24).Draw(t, "bits"),
		Lead: circuit.Exactly(rapid.Float64Range(0, 5).Draw(t, "lead")),
	}
	if rapid.Bool().Draw(t, "own reference") {
		in.Ratiometric, in.FullScale = false, in.Reference*rapid.Float64Range(0.3, 2).Draw(t, "scale")
	}
	return in, math.Pow(10, rapid.Float64Range(0, 5).Draw(t, "pull-up"))
}

func TestInputLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, pullup := inputDraw(t)
		a, b := rapid.Float64Range(0, 1000).Draw(t, "a"), rapid.Float64Range(0, 1000).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		if in.Counts(pullup, a) > in.Counts(pullup, b) {
			t.Fatalf("%v Ω gives %d counts and %v Ω %d", a, in.Counts(pullup, a), b, in.Counts(pullup, b))
		}
		count := in.Counts(pullup, b)
		if ohm, err := in.Ohms(pullup, count); err == nil {
			if back := in.Counts(pullup, ohm); back != count && !(back == count+1 || back == count-1) {
				t.Fatalf("%d counts are %v Ω, which are %d counts", count, ohm, back)
			}
			// The middle of a count is within half a count of what gave it; the upper
			// neighbour's ohms per count are the larger.
			if d := math.Abs(ohm - b); d > 0.5*in.PerCount(pullup, max(ohm, b))*(1+1e-6)+1e-9 && b > 0 {
				t.Fatalf("%v Ω came back as %v Ω, further than half of %v Ω", b, ohm, in.PerCount(pullup, max(ohm, b)))
			}
		} else if count != in.Open() {
			t.Fatalf("%v Ω gives %d counts, and those: %v", b, count, err)
		}
		more := in
		more.Bits++
		span := circuit.Span{Empty: a, Full: b + 1}
		if more.Resolution(pullup, b, span) > in.Resolution(pullup, b, span) {
			t.Fatal("one bit more is worse")
		}
	})
}

// inputBrute is the same choice, written apart from the package: with its own
// list of values, the largest of many places over the span instead of its end,
// and the resolution from the slope of the divider by a difference quotient.
func inputBrute(mantissas []float64, in circuit.Input, span circuit.Span) (pullup, worst float64) {
	full := in.Reference
	if !in.Ratiometric && in.FullScale > 0 {
		full = in.FullScale
	}
	count := func(pullup, ohm float64) float64 {
		return math.Exp2(float64(in.Bits)) * in.Reference / full * ohm / (pullup + ohm)
	}
	worst = math.Inf(1)
	for decade := 0; decade < 7; decade++ {
		for _, m := range mantissas {
			r := math.Round(m*100) * math.Pow10(decade) / 100
			if in.Reference*(1+in.ReferenceError)/(r*(1-in.Tolerance)*(1-in.Tempco*in.Warmth)) > in.Current*(1+1e-12) {
				continue
			}
			here, hot := 0.0, 0.0
			for i := 0; i <= 200; i++ {
				ohm := span.Empty + (span.Full-span.Empty)*float64(i)/200
				h := 1e-4 * (ohm + 1)
				slope := (count(r, ohm+h) - count(r, ohm-h)) / (2 * h)
				here = max(here, (1+in.Noise)/slope*100/math.Abs(span.Full-span.Empty))
				i := in.Reference / (r + ohm)
				hot = max(hot, i*i*ohm)
			}
			top := max(count(r, span.Empty), count(r, span.Full))
			if hot <= 0.05 && math.Round(top) < min(math.Exp2(float64(in.Bits))-1, math.Round(math.Exp2(float64(in.Bits))*in.Reference/full)) && here < worst {
				pullup, worst = r, here
			}
		}
	}
	return pullup, worst
}

func TestInputChoiceIsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := circuit.Input{
			Reference: rapid.SampledFrom([]float64{1.8, 2.5, 3.3, 5}).Draw(t, "reference"), Ratiometric: true,
			Bits: rapid.IntRange(8, 24).Draw(t, "bits"), Noise: rapid.Float64Range(0, 4).Draw(t, "noise"),
			Tolerance: rapid.SampledFrom([]float64{0, 0.001, 0.01, 0.05}).Draw(t, "tolerance"),
			Tempco:    1e-4, Warmth: 40, NotFlammable: true,
			Current: rapid.Float64Range(1e-4, 0.03).Draw(t, "current"),
		}
		if rapid.Bool().Draw(t, "own reference") {
			in.Ratiometric, in.FullScale, in.ReferenceError = false, in.Reference*rapid.Float64Range(0.3, 2).Draw(t, "scale"), 0.01
		}
		a := rapid.Float64Range(0, 1000).Draw(t, "a")
		span := circuit.Span{Empty: a, Full: a + rapid.Float64Range(10, 1000).Draw(t, "width")}
		if rapid.Bool().Draw(t, "falling") {
			span.Empty, span.Full = span.Full, span.Empty
		}
		series := rapid.SampledFrom([]circuit.Series{circuit.E12, circuit.E24, circuit.E96}).Draw(t, "series")
		mantissas, err := series.Values()
		if err != nil {
			t.Fatal(err)
		}
		pullup, worst := inputBrute(mantissas, in, span)
		c, err := in.Choose(series, span)
		if err != nil {
			if pullup != 0 {
				t.Fatalf("%v, and %v Ω would do", err, pullup)
			}
			return
		}
		if !near(c.Resolution, worst, 1e-5*worst) {
			t.Fatalf("chose %v Ω with %v points, and %v Ω has %v", c.Pullup, c.Resolution, pullup, worst)
		}
		if c.Bound > c.Resolution*(1+1e-12) {
			t.Fatalf("%v points is better than the bound of %v", c.Resolution, c.Bound)
		}
		if in.Shorted(c.Pullup) > in.Current*(1+1e-9) {
			t.Fatalf("%v A flow, and the limit is %v A", in.Shorted(c.Pullup), in.Current)
		}
		for _, r := range c.RunnersUp {
			if r.Resolution < c.Resolution {
				t.Fatalf("%+v is better than %+v", r, c.Candidate)
			}
		}
	})
}

// By hand: 3.3 V and 1 mA want 3300 Ω; E24 has it. At 90 Ω a count of 12 bits is
// 3390²/(4096·3300) = 0.8502 Ω, 0.9447 points of 90 Ω.
func TestInputChoose(t *testing.T) {
	in := circuit.Input{Reference: 3.3, Bits: 12, Ratiometric: true}
	span := circuit.Span{Empty: 0, Full: 90}
	c, err := in.Choose(circuit.E24, span)
	if err != nil || c.Pullup != 3300 || !near(c.Resolution, 0.9447, 5e-5) || !near(c.WorstAt, 100, 1e-9) || !near(c.Shorted, 1e-3, 1e-12) || c.Tried != 169 {
		t.Errorf("%+v, %v", c, err)
	}
	if !near(c.Bound, c.Resolution, 1e-9) || len(c.RunnersUp) != 4 || c.RunnersUp[0].Pullup != 3600 {
		t.Errorf("bound %v, runners-up %v", c.Bound, c.RunnersUp)
	}
	if !near(c.CurrentEmpty, 1e-3, 1e-12) || !near(c.CurrentFull, 3.3/3390, 1e-12) || !near(c.SenderPower, math.Pow(3.3/3390, 2)*90, 1e-12) {
		t.Errorf("currents %v, %v, power %v", c.CurrentEmpty, c.CurrentFull, c.SenderPower)
	}
	if len(c.Findings) == 0 || c.Findings[0].Text != circuit.CodeCaution {
		t.Errorf("no caution for a tank of unknown contents: %+v", c.Findings)
	}
	// With 1 % the current of 3300 Ω may be more than 1 mA.
	in.Tolerance = 0.01
	if c, err := in.Choose(circuit.E24, span); err != nil || c.Pullup != 3600 {
		t.Errorf("with 1 %%: %v Ω, %v", c.Pullup, err)
	}
	in.Tolerance, in.NotFlammable = 0, true
	if c, err := in.Choose(circuit.E24, span); err != nil || finding.Worst(c.Findings) == finding.Bad || strings.Contains(c.Findings[0].Text, "hazardous") {
		t.Errorf("water: %+v, %v", c.Findings, err)
	}
}

// A larger current at a tank that may hold fuel or gas needs to be asked for, and
// is written down.
func TestInputCurrentRaised(t *testing.T) {
	in, span := circuit.Input{Reference: 3.3, Bits: 12, Ratiometric: true, Current: 5e-3}, circuit.Span{Empty: 0, Full: 90}
	if _, err := in.Choose(circuit.E24, span); err == nil || !strings.Contains(err.Error(), "may sit in fuel or gas") {
		t.Errorf("5 mA taken for a tank of unknown contents: %v", err)
	}
	in.RaiseCurrent = true
	c, err := in.Choose(circuit.E24, span)
	if err != nil || c.Shorted > 5e-3 || c.Pullup >= 3300 {
		t.Fatalf("%+v, %v", c, err)
	}
	found := false
	for _, f := range c.Findings {
		found = found || f.Kind == "current-raised" && f.Weight == finding.Doubt
	}
	if !found {
		t.Errorf("not written down: %+v", c.Findings)
	}
}

// Each budget line against what the divider does when the cause is applied: an
// input with a known error is read as if it had none.
func TestInputBudget(t *testing.T) {
	const pullup, ref, full = 1000.0, 3.3, 3.0
	span := circuit.Span{Empty: 240, Full: 33}
	in := circuit.Input{Reference: ref, FullScale: full, ReferenceError: 1e-4, Bits: 24, Noise: 3, Nonlinearity: 2, Leakage: 1e-8,
		Tolerance: 1e-4, Tempco: 1e-6, Warmth: 50, Lead: circuit.Between{Low: 0.4, High: 0.6}, Current: 0.01, RaiseCurrent: true}
	marks, err := in.Doubts(pullup, span, 0, 50, 100)
	if err != nil || len(marks) != 3 {
		t.Fatal(err)
	}
	told := func(volt float64) float64 { return pullup*volt/(ref-volt) - 0.5 }
	for _, m := range marks {
		volt := func(r, v, leak, lead float64) float64 { return (v/r + leak) / (1/r + 1/(m.Ohm+lead)) }
		lsb := full / math.Exp2(24)
		base := volt(pullup, ref, 0, 0.5)
		third := math.Sqrt(3)
		want := map[string]float64{
			"count of the converter":        told(base+lsb/math.Sqrt(12)) - m.Ohm,
			"noise of the converter":        told(base+3*lsb) - m.Ohm,
			"nonlinearity of the converter": told(base+2*lsb/third) - m.Ohm,
			"tolerance of the resistor":     told(volt(pullup*(1+1e-4/third), ref, 0, 0.5)) - m.Ohm,
			"warmth of the resistor":        told(volt(pullup*(1+5e-5/third), ref, 0, 0.5)) - m.Ohm,
			"reference":                     told(volt(pullup, ref*(1+1e-4/third), 0, 0.5)) - m.Ohm,
			"leakage of the input":          told(volt(pullup, ref, 1e-8/third, 0.5)) - m.Ohm,
			"wire":                          told(volt(pullup, ref, 0, 0.5+0.1/third)) - m.Ohm,
		}
		sum := 0.0
		for _, l := range m.Budget.Lines {
			w, ok := want[l.Quantity]
			if !ok || !near(l.Contribution(), math.Abs(w)*100/207, 1e-3*l.Contribution()) {
				t.Errorf("mark %v, %s: %v points, want %v", m.Mark, l.Quantity, l.Contribution(), math.Abs(w)*100/207)
			}
			delete(want, l.Quantity)
			sum += l.Contribution() * l.Contribution()
		}
		if len(want) != 0 || !near(m.U, math.Sqrt(sum), 1e-12) {
			t.Errorf("mark %v: lines missing: %v; u %v", m.Mark, want, m.U)
		}
	}
	in.Ratiometric, in.FullScale = true, 0
	if marks, err = in.Doubts(pullup, span, 50); err != nil || strings.Contains(marks[0].Budget.Lines[5].Quantity, "reference") {
		t.Errorf("the reference doesn't cancel: %+v, %v", marks, err)
	}
}

func TestInputRefused(t *testing.T) {
	good, span := circuit.Input{Reference: 3.3, Bits: 12, Ratiometric: true}, circuit.Span{Empty: 0, Full: 90}
	for name, change := range map[string]func(*circuit.Input){
		"reference": func(in *circuit.Input) { in.Reference = 0 }, "nan": func(in *circuit.Input) { in.Noise = math.NaN() },
		"bits": func(in *circuit.Input) { in.Bits = 3 }, "scale": func(in *circuit.Input) { in.FullScale = 2 },
		"tolerance": func(in *circuit.Input) { in.Tolerance = -0.01 }, "lead": func(in *circuit.Input) { in.Lead.Low = 1 },
		"current": func(in *circuit.Input) { in.Current = 2 }, "none": func(in *circuit.Input) { in.Current = 1e-8 },
	} {
		in := good
		change(&in)
		if c, err := in.Choose(circuit.E24, span); err == nil {
			t.Errorf("%s: %+v taken: %+v", name, in, c)
		}
	}
	if _, err := good.Choose("E48", span); err == nil {
		t.Error("E48 taken")
	}
	if _, err := good.Doubts(0, span, 50); err == nil {
		t.Error("a pull-up of 0 Ω taken")
	}
	if _, err := good.Doubts(1000, span, 101); err == nil {
		t.Error("mark 101 taken")
	}
}

// Looking at the chosen resistor says the same as choosing it, and one below the
// limit is told as bad.
func TestInputLook(t *testing.T) {
	in, span := circuit.Input{Reference: 3.3, Bits: 12, Ratiometric: true}, circuit.Span{Empty: 0, Full: 90}
	c, err := in.Look(3300, span)
	if chosen, _ := in.Choose(circuit.E24, span); err != nil || c.Candidate != chosen.Candidate || c.SenderPower != chosen.SenderPower || finding.Worst(c.Findings) == finding.Bad {
		t.Errorf("%+v, %v; chosen %+v", c, err, chosen)
	}
	if c, err := in.Look(330, span); err != nil || finding.Worst(c.Findings) != finding.Bad || !near(c.Shorted, 0.01, 1e-12) {
		t.Errorf("%+v, %v", c, err)
	}
	if _, err := in.Look(0, span); err == nil {
		t.Error("a pull-up of 0 Ω taken")
	}
}
