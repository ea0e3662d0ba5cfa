package curve

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// straightKnots is a dial sender of 10 to 180 Ω, known to 1 Ω everywhere.
func straightKnots(n int, u quantity.Ohm) []Knot {
	knots := make([]Knot, n)
	for i := range knots {
		s := float64(i) / float64(n-1)
		knots[i] = Knot{s, quantity.Ohm(10 + 170*s), u}
	}
	return knots
}

func TestFromKnotsAnswersAsAFittedCurveDoes(t *testing.T) {
	c, err := FromKnots(Dial, Ohms, straightKnots(11, 1), Source{From: "an invented type", Repeat: doubt.Pooled{SD: 0.5, DF: 4},
		Readings: []Reading{{Mark: 0.5, Ohm: 95, Sweep: Up}}, Findings: []finding.Finding{{Kind: "own", Text: "Said besides."}}})
	if err != nil {
		t.Fatal(err)
	}
	if c.Direction() != Rising || !c.Ordered() || c.Unit() != Dial || c.Signal() != Ohms {
		t.Error("direction, order, unit or signal")
	}
	if low, high := c.Range(); low != 10 || high != 180 {
		t.Errorf("range %v to %v", low, high)
	}
	if a := c.Ohm(0.55, Refuse); math.Abs(float64(a.Ohm)-103.5) > 1e-9 || math.Abs(float64(a.UOhm)-1) > 1e-9 {
		t.Errorf("at 55 %%: %+v", a)
	}
	a := c.Mark(95, Refuse)
	want := math.Hypot(1, 0.5) / 170 // straight, so the slope turns ohms into marks
	if math.Abs(a.Mark-0.5) > 1e-12 || math.Abs(a.UMark-want) > 1e-6 {
		t.Errorf("95 Ω: %+v, u %g expected", a, want)
	}
	if b, ok := c.BudgetOfMark(95, Refuse); !ok || math.Abs(b.Combined()-100*want) > 1e-4 {
		t.Errorf("budget %v %+v", ok, b)
	}
	if b, ok := c.BudgetOfOhm(0.5); !ok || math.Abs(b.Combined()-1) > 1e-9 {
		t.Errorf("budget %v %+v", ok, b)
	}
	if c.Hysteresis().Known || c.Repeatability().DF != 4 {
		t.Error("hysteresis is known, or repeatability isn't")
	}
	if u := c.Used(); len(u) != 1 || u[0].Sweep != Up || len(c.SetAside()) != 0 {
		t.Errorf("used %v", u)
	}
	if l := c.Linearity(); l.Independent > 1e-12 {
		t.Errorf("%+v", l)
	}
	if p := c.Plan(3, 0, 1); p.Limit != LimitKnown || len(p.Next) != 0 || p.Missing != Unstated || p.U < 1.0/170 || p.U > 1.2/170 || len(p.Findings()) != 1 {
		t.Errorf("plan %+v %v", p, p.Findings())
	}
	text := ""
	for _, f := range c.Findings() {
		text += f.Text + "\n"
		if f.Weight == finding.Bad {
			t.Errorf("bad: %s", f.Text)
		}
	}
	for _, want := range []string{"an invented type", "Said besides.", "Hysteresis isn't known", "Repeatability 0.50 Ω"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if s, ok := c.Source(); !ok || s.From != "an invented type" || !strings.Contains(c.DoubtWords(), s.From) {
		t.Error("the source is lost")
	}
}

// The Monte Carlo interval is the one that the straight line gives in closed
// form: ±1.96·√(U² + s²) in ohms. Source: the normal distribution; 10 degrees
// of freedom make the scatter's part a little wider, so it is left out here.
func TestIntervalsOfKnots(t *testing.T) {
	c, err := FromKnots(Dial, Ohms, straightKnots(5, 2), Source{From: "x"})
	if err != nil {
		t.Fatal(err)
	}
	for _, course := range []Course{Redrawn, AsFitted} {
		list, _, err := c.Intervals([]quantity.Ohm{95}, course, doubt.Rule{Seed: 1, P: 0.95, Tolerance: 0.0002})
		if err != nil {
			t.Fatal(err)
		}
		want := 1.96 * 2 / 170
		if i := list[0]; math.Abs(i.High-0.5-want) > 0.02*want || math.Abs(0.5-i.Low-want) > 0.02*want || math.Abs(i.U-2.0/170) > 0.0003 {
			t.Errorf("course %d: %+v, ±%g expected", course, i, want)
		}
	}
}

// Many knots with one doubt don't make an end better known than each of them.
func TestOddsOfKnotsShareOneDoubt(t *testing.T) {
	for _, n := range []int{2, 5, 33} {
		c, err := FromKnots(Dial, Ohms, straightKnots(n, 3), Source{From: "x"})
		if err != nil {
			t.Fatal(err)
		}
		o, err := c.Odds(AsStated([]Claim{{10, 180}, {240, 33}}), 0, 1)
		if err != nil {
			t.Fatal(err)
		}
		if o.EndU[0] < 2.5 || o.EndU[0] > 3.5 {
			t.Errorf("%d knots: ends to ±%g", n, o.EndU[0])
		}
		if o.List[0].Claim != (Claim{10, 180}) || o.List[0].Verdict != Agrees || o.List[1].Verdict != RulesOut {
			t.Errorf("%d knots: %+v", n, o.List)
		}
	}
}

func TestFromKnotsRefuses(t *testing.T) {
	var sheet *SheetError
	var sender *SenderError
	for name, k := range map[string][]Knot{
		"one":      {{0, 1, 0}},
		"falling":  {{0.5, 1, 0}, {0.5, 2, 0}},
		"no mark":  {{math.NaN(), 1, 0}, {1, 2, 0}},
		"negative": {{0, -1, 0}, {1, 2, 0}},
		"no doubt": {{0, 1, quantity.Ohm(math.NaN())}, {1, 2, 0}},
		"endless":  {{0, 1, quantity.Ohm(math.Inf(1))}, {1, 2, 0}},
		"back":     {{0, 1, 0}, {0.5, 3, 0}, {0.7, 2, 0}, {1, 5, 0}},
	} {
		if _, err := FromKnots(Dial, Ohms, k, Source{}); !errors.As(err, &sheet) || sheet.Text == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := FromKnots(Dial, Ohms, []Knot{{0, 5, 0}, {1, 5, 0}}, Source{}); !errors.As(err, &sender) {
		t.Errorf("standing still: %v", err)
	}
}

// Whatever knots there are, all questions have answers that are numbers, and
// the curve gives back its knots.
func TestKnotsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 20).Draw(t, "n")
		falling := rapid.Bool().Draw(t, "falling")
		knots := make([]Knot, n)
		mark, ohm := rapid.Float64Range(0, 0.2).Draw(t, "mark"), rapid.Float64Range(0, 50).Draw(t, "ohm")
		for i := range knots {
			knots[i] = Knot{mark, quantity.Ohm(ohm), quantity.Ohm(rapid.Float64Range(0, 5).Draw(t, "u"))}
			mark += rapid.Float64Range(0.001, 0.04).Draw(t, "step")
			ohm += rapid.Float64Range(0, 20).Draw(t, "rise")
		}
		if falling {
			for i := range knots {
				knots[i].Ohm = 500 - knots[i].Ohm
			}
		}
		c, err := FromKnots(Dial, Ohms, knots, Source{From: "x", Repeat: doubt.Pooled{SD: 0.3, DF: 3}})
		var sender *SenderError
		if errors.As(err, &sender) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range knots {
			a := c.Ohm(k.Mark, Refuse)
			if math.Abs(float64(a.Ohm-k.Ohm)) > 1e-9 || math.Abs(float64(a.UOhm-k.U)) > 1e-9 {
				t.Fatalf("%+v came back as %+v", k, a)
			}
			if m := c.Mark(k.Ohm, Continue); !m.Known || math.IsNaN(m.Mark) || math.IsNaN(m.UMark) {
				t.Fatalf("%+v gives %+v", k, m)
			}
		}
		list, _, err := c.Intervals([]quantity.Ohm{knots[n/2].Ohm}, AsFitted, doubt.Rule{Seed: 1, P: 0.95, Blocks: 2, Tolerance: 1})
		if err != nil || math.IsNaN(list[0].Low) || math.IsNaN(list[0].High) {
			t.Fatalf("%v %v", list, err)
		}
		o, err := c.Families(0, 1)
		if err != nil || math.IsNaN(o.None) || len(c.OddsFindings(o)) == 0 {
			t.Fatalf("%+v %v", o, err)
		}
		if p := c.Plan(2, 0, 1); math.IsNaN(p.U) {
			t.Fatalf("%+v", p)
		}
		c.LeastKnown()
		c.Linearity()
	})
}

// A claim whose ends are one but for rounding has odds that are numbers.
func TestOddsOfAClaimWithoutSpan(t *testing.T) {
	c, err := FromKnots(Dial, Ohms, straightKnots(5, 1), Source{From: "x"})
	if err != nil {
		t.Fatal(err)
	}
	o, err := c.Odds(AsStated([]Claim{{0, 1e-161}, {10, 180}}), 0, 1)
	if err != nil || math.IsNaN(o.None) {
		t.Fatalf("%+v %v", o, err)
	}
	for _, d := range o.List {
		if math.IsNaN(d.Probability) || d.Full < 1 && d.Probability != 0 {
			t.Errorf("%+v", d)
		}
	}
}
