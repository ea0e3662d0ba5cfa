package span_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

func dialScale(t interface{ Fatal(...any) }, kind scale.Kind) scale.Scale {
	s, err := scale.New(kind, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func looks(pairs ...float64) []span.Seen {
	var out []span.Seen
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, span.Seen{Mark: pairs[i] / 100, Shown: quantity.Share(pairs[i+1] / 100)})
	}
	return out
}

// By hand. On the permitted fill of 80 % a point of the dial is 1.25 points of
// the display. The display's step of 1 point is 1/√12, the mark ±0.5 points of
// the dial is 0.625/√3: together √(0.08333 + 0.13021) = 0.46211 points, and the
// guard band is 0.92421. Probabilities from a table of the normal distribution
// (Φ(2.164) = 0.98477, Φ(1.082) = 0.8604).
func TestProveByHand(t *testing.T) {
	p, err := span.Prove(dialScale(t, scale.Fill), looks(20, 24, 60, 73.5, 80, 98, 40, 53, 10, 16, 95, 100), 0.02)
	if err != nil {
		t.Fatal(err)
	}
	// 73.5 makes it a display of tenths; given as one of whole points it is as above.
	if p.Doubt.Step != 0.001 {
		t.Errorf("the step is %v", p.Doubt.Step)
	}
	d := span.UsualDoubt()
	d.Step = 0.01
	if p, err = span.ProveWith(dialScale(t, scale.Fill), looks(20, 24, 60, 73.5, 80, 98, 40, 53, 10, 16, 95, 100), 0.02, d); err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		error, u, probability float64
		verdict               doubt.Verdict
		odds                  string
	}{
		{-1, 0.46211, 0.98477, doubt.Pass, "98 %"},
		{-1.5, 0.46211, 0.8604, doubt.ConditionalPass, "86 %"},
		{-2, 0.46211, 0.5, doubt.ConditionalPass, "50 %"},
		{3, 0.46211, 0.0152, doubt.Fail, "1 %"},
		{3.5, 0.46211, 0.0006, doubt.Fail, "under 1 %"},
		// Above the permitted fill 100 % is right wherever the mark is held.
		{0, 0.28868, 1, doubt.Pass, "over 99 %"},
	} {
		r := p.Rows[i]
		if math.Abs(float64(r.Error())*100-want.error) > 1e-9 || math.Abs(float64(r.U)*100-want.u) > 1e-5 ||
			math.Abs(r.Probability-want.probability) > 1e-4 || r.Verdict != want.verdict || r.Odds() != want.odds {
			t.Errorf("row %d: error %v, u %v, probability %.5f (%s), %v; want %+v", i+1, r.Error(), r.U, r.Probability, r.Odds(), r.Verdict, want)
		}
		if r.Pass != (math.Abs(want.error) <= 2) || math.Abs(float64(r.GuardBand-2*r.U)) > 1e-12 {
			t.Errorf("row %d: pass %v, guard band %v", i+1, r.Pass, r.GuardBand)
		}
	}
	if p.Pass || p.Verdict != doubt.Fail || p.Judgement() != "4 of 6 within 2 points, 2 outside by more than the doubt" {
		t.Errorf("pass %v, %v, %s", p.Pass, p.Verdict, p.Judgement())
	}
	if text := p.Sources(); text != "the display's step of 1 point and a mark held to ±0.5 points" {
		t.Errorf("sources: %s", text)
	}
	if text := p.Rule(); text != "Rule: the guard band is the doubt itself (about 95 %); a pass is within 2 points by at least the guard band, a fail is outside by more than it, and what lies between is conditional (JCGM 106, 8.3)." {
		t.Errorf("rule: %s", text)
	}
}

func TestJudgement(t *testing.T) {
	for want, looks := range map[string][]span.Seen{
		"2 of 2 within 2 points":                                      looks(20, 20, 50, 51),
		"2 of 2 within 2 points, 1 of them by less than the doubt":    looks(20, 20, 50, 52),
		"2 of 2 within 2 points, but by less than the doubt":          looks(20, 18, 50, 52),
		"1 of 2 within 2 points, 1 outside by no more than the doubt": looks(20, 20, 50, 52.5),
		"0 of 2 within 2 points, 1 outside by more than the doubt":    looks(20, 17.5, 50, 54),
	} {
		d := span.UsualDoubt()
		d.Step = 0.01
		p, err := span.ProveWith(dialScale(t, scale.Mark), looks, 0.02, d)
		if err != nil || p.Judgement() != want {
			t.Errorf("%q, %v; want %q", p.Judgement(), err, want)
		}
	}
	// Simple acceptance, where no guard band is wanted.
	p, err := span.ProveWith(dialScale(t, scale.Mark), looks(20, 22, 50, 54), 0.02, span.CheckDoubt{Step: 0.01, Mark: 0.005})
	if err != nil || p.Judgement() != "1 of 2 within 2 points" || p.Rows[0].Verdict != doubt.Pass || p.Rows[1].Verdict != doubt.Fail || !strings.Contains(p.Rule(), "no guard band") {
		t.Errorf("%q, %v, %+v; %s", p.Judgement(), err, p.Rows, p.Rule())
	}
}

// The sender's own doubt, where it is known, is combined with the rest.
func TestProveWithSender(t *testing.T) {
	d := span.UsualDoubt()
	d.Step, d.Mark = 0.01, 0.004
	d.Sender = func(mark float64) (quantity.Share, bool) { return 0.003, mark < 0.5 }
	p, err := span.ProveWith(dialScale(t, scale.Mark), looks(20, 20, 60, 60), 0.02, d)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{math.Sqrt(1.0/12 + 0.16/3 + 0.09), math.Sqrt(1.0/12 + 0.16/3)} {
		if got := float64(p.Rows[i].U) * 100; math.Abs(got-want) > 1e-9 {
			t.Errorf("row %d: u %v, want %v", i+1, got, want)
		}
	}
	if text := p.Sources(); text != "the display's step of 1 point, a mark held to ±0.4 points and at 1 of 2 marks the sender's own scatter and hysteresis" {
		t.Errorf("sources: %s", text)
	}
}

func TestDisplayStep(t *testing.T) {
	for _, c := range []struct {
		seen []span.Seen
		want float64
	}{
		{looks(20, 25, 40, 50), 1}, {looks(0, 0), 1}, {looks(1, 7, 2, 57, 3, 29), 1},
		{looks(20, 25, 40, 50.1), 0.1}, {looks(20, 0.7), 0.1}, {looks(20, 12.25, 30, 8), 0.01}, {looks(20, 100.0/3), 0.001},
	} {
		if got := float64(span.DisplayStep(c.seen)) * 100; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v: a step of %v points, want %v", c.seen, got, c.want)
		}
	}
}

func TestProveRefuses(t *testing.T) {
	nan := math.NaN()
	good := looks(20, 20)
	for _, c := range []struct {
		name      string
		seen      []span.Seen
		tolerance quantity.Share
		change    func(*span.CheckDoubt)
		says      string
	}{
		{"no tolerance", good, 0, nil, "a tolerance lies above 0 and below 100 points; found 0"},
		{"tolerance that is no number", good, quantity.Share(nan), nil, "found NaN"},
		{"nothing seen", nil, 0.02, nil, "a check needs at least one"},
		{"a mark known to nothing", good, 0.02, func(d *span.CheckDoubt) { d.Mark = 0.6 }, "a mark can't be in doubt by 60 points; expected 0 (exact) to 25"},
		{"a mark known better than exactly", good, 0.02, func(d *span.CheckDoubt) { d.Mark = -0.01 }, "a mark can't be in doubt by -1 points"},
		{"a mark known to NaN", good, 0.02, func(d *span.CheckDoubt) { d.Mark = quantity.Share(nan) }, "a mark can't be in doubt by NaN points"},
		{"a step below zero", good, 0.02, func(d *span.CheckDoubt) { d.Step = -0.01 }, "steps of -1 points; expected above 0, up to 50"},
		{"a step that is no number", good, 0.02, func(d *span.CheckDoubt) { d.Step = quantity.Share(nan) }, "steps of NaN points"},
		{"a display of one step", good, 0.02, func(d *span.CheckDoubt) { d.Step = 1 }, "steps of 100 points"},
		{"a guard band below zero", good, 0.02, func(d *span.CheckDoubt) { d.Guard = -1 }, "a guard band of -1 times"},
		{"shown is no number", looks(20, 20, 30, nan), 0.02, nil, "reading 2 of the display"},
	} {
		d := span.UsualDoubt()
		if c.change != nil {
			c.change(&d)
		}
		if _, err := span.ProveWith(dialScale(t, scale.Mark), c.seen, c.tolerance, d); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.name, err, c.says)
		}
	}
}

// A check that could pass nothing says so, and what it says would cure it does.
func TestCoarseCheck(t *testing.T) {
	for _, c := range []struct {
		name string
		d    span.CheckDoubt
		says []string
		cure func(*span.CheckDoubt) // does as the finding says
	}{
		{"a mark read from afar", span.CheckDoubt{Step: 0.01, Mark: 0.02, Guard: 1},
			// limit u = 1: √(1 − 1/12)·√3 = 1.6583; 2√(1/12 + 4/3) = 2.3805
			[]string{"its guard band is 2.39 points and the tolerance 2, so no mark could pass", "to hold the mark closer than ±1.65 points, or to allow more than 2.39 points."},
			func(d *span.CheckDoubt) { d.Mark = 0.0165 }},
		{"a display of bars", span.CheckDoubt{Step: 0.1, Mark: 0.005, Guard: 1},
			// √(1 − 0.25/3)·√12 = 3.3166; 2√(100/12 + 0.25/3) = 5.8023
			[]string{"its guard band is 5.81 points", "to read a display with a finer step than 3.31 points, or to allow more than 5.81 points."},
			func(d *span.CheckDoubt) { d.Step = 0.0331 }},
		{"both", span.CheckDoubt{Step: 0.1, Mark: 0.05, Guard: 1},
			[]string{"to hold the mark closer and read a display with a finer step, or to allow more"},
			func(d *span.CheckDoubt) { d.Step, d.Mark = 0.01, 0.005 }},
	} {
		p, err := span.ProveWith(dialScale(t, scale.Mark), looks(20, 20, 50, 50), 0.02, c.d)
		if err != nil {
			t.Fatal(err)
		}
		found := p.Findings()
		if len(found) != 1 || !p.Pass || p.Verdict != doubt.ConditionalPass {
			t.Errorf("%s: pass %v, %v, %v", c.name, p.Pass, p.Verdict, found)
			continue
		}
		for _, want := range c.says {
			if !strings.Contains(found[0].Text, want) {
				t.Errorf("%s: %q isn't in %q", c.name, want, found[0].Text)
			}
		}
		c.cure(&c.d)
		if p, err = span.ProveWith(dialScale(t, scale.Mark), looks(20, 20, 50, 50), 0.02, c.d); err != nil || p.Verdict != doubt.Pass || len(p.Findings()) > 0 {
			t.Errorf("%s, cured: %v, %v, %v", c.name, p.Verdict, p.Findings(), err)
		}
	}
	// A sender that scatters more than the tolerance can't be cured by looking closer.
	d := span.UsualDoubt()
	d.Sender = func(mark float64) (quantity.Share, bool) { return 0.015, mark > 0.3 }
	p, err := span.ProveWith(dialScale(t, scale.Mark), looks(20, 20, 50, 50), 0.02, d)
	if err != nil {
		t.Fatal(err)
	}
	if found := p.Findings(); len(found) != 1 || !strings.Contains(found[0].Text, "so 1 of 2 marks could not pass, whatever was shown. It would help to allow more than") {
		t.Errorf("found %v", found)
	}
}

// Pass stays simple acceptance, whatever the doubt; the verdict of the whole is
// the worst; and the doubt itself is at least that of the display.
func TestProveLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]scale.Kind{scale.Mark, scale.Fill}).Draw(t, "scale")
		var seen []span.Seen
		for range rapid.IntRange(1, 6).Draw(t, "marks") {
			seen = append(seen, looks(float64(rapid.IntRange(0, 100).Draw(t, "mark")), float64(rapid.IntRange(0, 1100).Draw(t, "shown"))/10)...)
		}
		tolerance := quantity.Share(rapid.IntRange(1, 60).Draw(t, "tolerance")) / 1000
		d := span.CheckDoubt{Mark: quantity.Share(rapid.Float64Range(0, 0.25).Draw(t, "mark doubt")), Guard: 1}
		p, err := span.ProveWith(dialScale(t, kind), seen, tolerance, d)
		if err != nil {
			t.Fatal(err)
		}
		all, worst := true, doubt.Pass
		for _, r := range p.Rows {
			within := math.Abs(float64(r.Shown-r.Target)) <= float64(tolerance)+1e-9
			if r.Pass != within {
				t.Fatalf("%+v passes: %v", r, r.Pass)
			}
			all, worst = all && within, max(worst, r.Verdict)
			if float64(r.U) < doubt.Resolution(float64(p.Doubt.Step))-1e-15 || r.Verdict == doubt.Pass && r.Probability < 0.954 {
				t.Fatalf("%+v", r)
			}
		}
		if p.Pass != all || p.Verdict != worst {
			t.Fatalf("pass %v, %v; want %v, %v", p.Pass, p.Verdict, all, worst)
		}
	})
}

// A simulated bench: a display with an error of its own, a hand that doesn't
// hold the mark quite, whole percents shown. Of the checks given a probability,
// that part of the displays is truly within the tolerance, to what taking the
// two rectangular sources for normal costs (2 % at most, see doubt.Conformity).
func TestProveAgainstSimulation(t *testing.T) {
	const tolerance, trials, bins = 0.02, 200_000, 10
	s := dialScale(t, scale.Fill)
	random := rand.New(rand.NewPCG(17025, 8))
	d := span.UsualDoubt()
	d.Step = 0.01
	var n, conforming, expected [bins]float64
	var passed, wrong float64
	for range trials {
		// Held at 10 to 70 % of the dial, well inside the scale.
		mark := 0.1 + 0.6*random.Float64()
		truth := 0.05 * (2*random.Float64() - 1)
		held := mark + float64(d.Mark)*(2*random.Float64()-1)
		shown := math.Round((float64(s.Target(held))+truth)*100) / 100
		p, err := span.ProveWith(s, []span.Seen{{Mark: mark, Shown: quantity.Share(shown)}}, tolerance, d)
		if err != nil {
			t.Fatal(err)
		}
		r := p.Rows[0]
		i := min(bins-1, int(r.Probability*bins))
		n[i]++
		expected[i] += r.Probability
		conforms := math.Abs(truth) <= tolerance
		if conforms {
			conforming[i]++
		}
		if r.Verdict == doubt.Pass {
			passed++
			if !conforms {
				wrong++
			}
		}
	}
	for i := range n {
		if n[i] < 500 {
			t.Fatalf("only %.0f checks with a probability of %.1f to %.1f", n[i], float64(i)/bins, float64(i+1)/bins)
		}
		mean := expected[i] / n[i]
		if off := math.Abs(conforming[i]/n[i] - mean); off > 0.02+4*math.Sqrt(mean*(1-mean)/n[i]) {
			t.Errorf("probability %.1f to %.1f: %.3f conform, expected %.3f", float64(i)/bins, float64(i+1)/bins, conforming[i]/n[i], mean)
		}
	}
	if passed < 1000 || wrong/passed > 0.0228 {
		t.Errorf("%.0f passed, %.2f %% of them wrongly", passed, wrong/passed*100)
	}
}
