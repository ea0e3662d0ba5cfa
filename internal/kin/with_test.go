package kin

import (
	"errors"
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

func gatheredSample(t testing.TB) Known {
	t.Helper()
	kind, _ := sample(t)
	g, err := kind.Gather()
	if err != nil {
		t.Fatal(err)
	}
	return g.Known
}

// Without readings the posterior is the prior, and no verdict is given.
func TestNoReadingsLeaveTheTypeAsItIs(t *testing.T) {
	k := gatheredSample(t)
	c, v, err := k.With(curve.Sheet{}, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	alone, err := k.Curve()
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range alone.Points() {
		if q := c.Points()[i]; p != q {
			t.Errorf("%+v became %+v", p, q)
		}
	}
	if v.Judgement != CantTell || v.Used != 0 {
		t.Errorf("%+v", v)
	}
}

func values(points []curve.Point) (ohms []quantity.Ohm) {
	for _, p := range points {
		ohms = append(ohms, p.Ohm)
	}
	return ohms
}

// Laws of weighing: a reading never widens the doubt anywhere, the curve stays
// in order and within what a sender can give, and the doubt left is the planned
// one whatever the readings show.
func TestLawsOfReadings(t *testing.T) {
	known := gatheredSample(t)
	rapid.Check(t, func(t *rapid.T) {
		k := known
		k.DF = rapid.SampledFrom([]float64{0, 1, 2.5, 7}).Draw(t, "df")
		o := curve.Options{Doubts: curve.Doubts{
			Meter:         curve.Meter{OfReading: quantity.Share(rapid.Float64Range(0, 0.02).Draw(t, "meter")), Digits: 2, Step: 0.1},
			MarkHalfWidth: rapid.Float64Range(0, 0.02).Draw(t, "mark"),
			LeadsU:        quantity.Ohm(rapid.Float64Range(0, 1).Draw(t, "leads")),
			Temperature:   quantity.Share(rapid.Float64Range(0, 0.01).Draw(t, "temperature")),
		}}
		sheet := curve.Sheet{Unit: curve.Dial}
		alone, _, err := k.With(sheet, o)
		if err != nil {
			t.Fatal(err)
		}
		before := alone
		for range rapid.IntRange(1, 6).Draw(t, "readings") {
			mark := rapid.Float64Range(0, 1).Draw(t, "at")
			ohm := min(400, max(0, float64(before.Ohm(mark, curve.Refuse).Ohm)+rapid.Float64Range(-40, 40).Draw(t, "off")))
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
			after, v, err := k.With(sheet, o)
			if err != nil {
				t.Fatal(err)
			}
			if math.IsNaN(v.P) || v.P < 0 || v.P > 1 || v.Words == "" {
				t.Fatalf("%+v", v)
			}
			p, q := before.Points(), after.Points()
			if v.Judgement == Refused && slices.Equal(values(q), values(alone.Points())) {
				// What is left of readings that contradict each other may have no order,
				// as of 179, 203 and 83 Ω at one mark. Then the type's own curve stands,
				// with all its doubt.
				p = alone.Points()
			}
			for i := range q {
				// The sender's temperature goes by its ohms, which the readings move.
				warm := float64(o.Doubts.Temperature) * math.Abs(float64(q[i].Ohm-p[i].Ohm))
				if float64(q[i].U) > float64(p[i].U)*(1+1e-9)+warm+1e-9 {
					t.Fatalf("a reading at %g widened ±%g to ±%g at %g", mark, p[i].U, q[i].U, q[i].Mark)
				}
				if q[i].Ohm < 0 || i > 0 && q[i].Ohm < q[i-1].Ohm {
					t.Fatalf("out of order: %+v", q)
				}
			}
			before = after
		}
	})
}

// Readings that are the type's own curve are accepted, and move nothing; read
// better and better, the unit's curve goes through them.
func TestReadingsPullTheCurve(t *testing.T) {
	k := gatheredSample(t)
	alone, _ := k.Curve()
	on, off := curve.Sheet{Unit: curve.Dial}, curve.Sheet{Unit: curve.Dial}
	for _, mark := range []float64{0.1, 0.5, 0.9} {
		ohm := alone.Ohm(mark, curve.Refuse).Ohm
		on.Readings = append(on.Readings, curve.Reading{Mark: mark, Ohm: ohm})
		off.Readings = append(off.Readings, curve.Reading{Mark: mark, Ohm: ohm + 1.5})
	}
	c, v, err := k.With(on, curve.Options{})
	if err != nil || v.Judgement != Accepted || v.P < 0.999 || v.T2 > 1e-6 {
		t.Fatalf("%+v %v", v, err)
	}
	for i, p := range c.Points() {
		if math.Abs(float64(p.Ohm-alone.Points()[i].Ohm)) > 1e-6 {
			t.Errorf("moved: %+v", p)
		}
	}
	c, v, err = k.With(off, curve.Options{})
	if err != nil || v.Judgement != Accepted {
		t.Fatalf("%+v %v", v, err)
	}
	for _, r := range off.Readings {
		if d := math.Abs(float64(c.Ohm(r.Mark, curve.Refuse).Ohm - r.Ohm)); d > 0.2 {
			t.Errorf("%g Ω off the reading at %g", d, r.Mark)
		}
	}
	if u := c.Used(); len(u) != 3 {
		t.Errorf("%d readings are shown", len(u))
	}
	if s, _ := c.Source(); !strings.HasSuffix(s.From, "and 3 readings of its own") {
		t.Error(s.From)
	}
}

func TestVerdictsInWords(t *testing.T) {
	k := gatheredSample(t)
	alone, _ := k.Curve()
	at := func(shift ...float64) curve.Sheet {
		s := curve.Sheet{Unit: curve.Dial}
		for i, d := range shift {
			mark := float64(i) / float64(max(1, len(shift)-1))
			s.Readings = append(s.Readings, curve.Reading{Mark: mark, Ohm: alone.Ohm(mark, curve.Refuse).Ohm + quantity.Ohm(d), Line: i + 2})
		}
		return s
	}
	c, v, err := k.With(at(0, 30, 0), curve.Options{})
	if err != nil || v.Judgement != Refused || v.P > 0.01 || v.Mark != 0.5 || !strings.Contains(v.Words, "Refused as not of this type") || !strings.Contains(v.Words, "Furthest off is 50 %, 30.0 Ω") {
		t.Errorf("%+v %v", v, err)
	}
	if finding.Worst(c.Findings()) != finding.Bad {
		t.Error("a refused unit has no bad finding")
	}
	outside := at(0, 0, 0)
	short := k
	short.Knots = append([]Knot(nil), k.Knots[:9]...)
	if _, v, err = short.With(outside, curve.Options{}); err != nil || v.Used != 2 || v.LeftOut != 1 {
		t.Errorf("%+v %v", v, err)
	}
	few := k
	few.DF, few.Units = 1, 2
	for i := range few.Knots { // two units that hardly differ by chance, then widely
		few.Knots[i].U *= 20
	}
	if _, v, err = few.With(at(0, 0), curve.Options{}); err != nil || v.Judgement != CantTell || !strings.Contains(v.Words, "can't be told") {
		t.Errorf("%+v %v", v, err)
	}
}

func TestWithRefuses(t *testing.T) {
	k := gatheredSample(t)
	reading := []curve.Reading{{Mark: 0.5, Ohm: 100, Line: 7}}
	lone := k
	lone.Units, lone.Batches = 0, 0
	for name, c := range map[string]struct {
		k    Known
		s    curve.Sheet
		o    curve.Options
		want string
	}{
		"marks":   {k, curve.Sheet{Unit: curve.Height, Readings: reading}, curve.Options{}, "the marks are in mm and those of the type in %"},
		"signal":  {k, curve.Sheet{Signal: curve.Volts, Readings: reading}, curve.Options{}, "volts and those of the type in ohms"},
		"one":     {lone, curve.Sheet{Readings: reading}, curve.Options{}, "it isn't known how units differ"},
		"leads":   {k, curve.Sheet{Readings: reading}, curve.Options{Doubts: curve.Doubts{Leads: 200}}, "shorted test leads"},
		"reading": {k, curve.Sheet{Readings: []curve.Reading{{Mark: 0.5, Ohm: quantity.Ohm(math.NaN())}}}, curve.Options{}, "can't come from a level sender"},
	} {
		var sheet *curve.SheetError
		if _, _, err := c.k.With(c.s, c.o); !errors.As(err, &sheet) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCheckRefuses(t *testing.T) {
	for name, change := range map[string]func(*Known){
		"marks":  func(k *Known) { k.Marks = "mark" },
		"gives":  func(k *Known) { k.Gives = "" },
		"few":    func(k *Known) { k.Knots = k.Knots[:1] },
		"order":  func(k *Known) { k.Knots[1].Mark = 0 },
		"back":   func(k *Known) { k.Knots[5].Value = 0 },
		"beyond": func(k *Known) { k.Knots[10].Mark = 101 },
		"modes":  func(k *Known) { k.Knots[1].Modes = nil },
		"parts":  func(k *Known) { k.Knots[1].U = 0 },
		"df":     func(k *Known) { k.DF = -1 },
		"noise":  func(k *Known) { k.Noise = math.NaN() },
		"nan":    func(k *Known) { k.Knots[3].U = math.NaN() },
	} {
		k := gatheredSample(t)
		k.Knots = append([]Knot(nil), k.Knots...)
		change(&k)
		if err := k.Check(); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}

// A unit is told to be of the type it is of, and a stranger of none.
func TestWhich(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	other := usual
	other.hump = 0.02
	var types []Known
	for _, v := range []invented{usual, other} {
		g, err := v.gathered(t, r, 8, 4).Gather()
		if err != nil {
			t.Fatal(err)
		}
		types = append(types, g.Known)
	}
	marks := []float64{0, 0.5, 1}
	for i, v := range []invented{usual, other} {
		o, err := Which(types, v.bench(r, v.unit(r, v.batch(r)), marks, 1), curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if o.List[0].Index != i || o.List[0].Probability < 0.9 {
			t.Errorf("type %d: %+v", i, o)
		}
		sum := o.None
		for _, d := range o.List {
			sum += d.Probability
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("the probabilities come to %g", sum)
		}
		if text := o.Findings([]string{"a", "b"}); len(text) != 3 {
			t.Error(text)
		}
	}
	stranger := curve.Sheet{Unit: curve.Dial, Readings: []curve.Reading{{Mark: 0, Ohm: 240}, {Mark: 0.5, Ohm: 130}, {Mark: 1, Ohm: 33}}}
	o, err := Which(types, stranger, curve.Options{})
	if err != nil || o.None < 0.95 {
		t.Errorf("%+v %v", o, err)
	}
	if _, err := Which(nil, stranger, curve.Options{}); err == nil {
		t.Error("no type was taken for some")
	}
	stranger.Unit = curve.Height
	if _, err := Which(types, stranger, curve.Options{}); err == nil {
		t.Error("marks of another kind were taken")
	}
}

// A plan's doubt falls with every reading, is what the readings then leave, and
// what was read already isn't forgotten.
func TestPlanKeepsItsPromise(t *testing.T) {
	k := gatheredSample(t)
	o := curve.Options{Doubts: curve.Doubts{Meter: curve.Meter{Step: 0.1}}}
	plan, err := k.Plan(5, o)
	if err != nil || len(plan.Next) != 5 {
		t.Fatal(plan, err)
	}
	alone, _ := k.Curve()
	sheet := curve.Sheet{Unit: curve.Dial}
	worst := func(c *curve.Curve) float64 {
		w := 0.0
		for _, p := range c.Points() {
			w = max(w, float64(p.U))
		}
		return w / math.Abs(k.Knots[len(k.Knots)-1].Value-k.Knots[0].Value)
	}
	if math.Abs(worst(alone)-plan.Worst) > 1e-9 {
		t.Errorf("the type alone: %g, planned %g", worst(alone), plan.Worst)
	}
	var have []float64
	for i, n := range plan.Next {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: n.Mark, Ohm: alone.Ohm(n.Mark, curve.Refuse).Ohm})
		have = append(have, n.Mark)
		c, _, err := k.With(sheet, o)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(worst(c)-n.Worst) > 1e-6 {
			t.Errorf("after %d readings ±%g, planned ±%g", i+1, worst(c), n.Worst)
		}
		then, err := k.Plan(0, o, have...)
		if err != nil || math.Abs(then.Worst-n.Worst) > 1e-12 {
			t.Errorf("with %d read: %+v %v", i+1, then, err)
		}
	}
	if !strings.Contains(plan.Words(), "readings of its own: 1 to ±") || plan.Marks() == "" {
		t.Error(plan.Words())
	}
	lone := k
	lone.Units = 0
	if _, err := lone.Plan(1, curve.Options{}); err == nil {
		t.Error("planned for a sender of its own")
	}
}

// A falling sender with marks in millimetres is the same as the rising dial that
// it mirrors: same doubt, same verdict.
func TestFallingIsTheSameAsRising(t *testing.T) {
	kind, _ := sample(t)
	fall := &Type{Version: Version, Name: "mirrored", Marks: "mark_mm", Gives: "ohm"}
	for _, u := range kind.Units {
		m := u
		m.Knots = nil
		for _, k := range u.Knots {
			k.Mark, k.Value = 4*k.Mark, quantity.Round(240-k.Value, 9)
			m.Knots = append(m.Knots, k)
		}
		fall.Units = append(fall.Units, m)
	}
	g, err := fall.Gather()
	if err != nil {
		t.Fatal(err)
	}
	up, down := curve.Sheet{Unit: curve.Dial}, curve.Sheet{Unit: curve.Height}
	for _, r := range [][2]float64{{0.05, 26}, {0.5, 118}, {1, 176.5}} {
		up.Readings = append(up.Readings, curve.Reading{Mark: r[0], Ohm: quantity.Ohm(r[1])})
		down.Readings = append(down.Readings, curve.Reading{Mark: 0.4 * r[0], Ohm: quantity.Ohm(240 - r[1])})
	}
	a, va, err := gatheredSample(t).With(up, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, vb, err := g.Known.With(down, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if b.Direction() != curve.Falling || va.Judgement != vb.Judgement || math.Abs(va.P-vb.P) > 1e-4 {
		t.Errorf("%+v\n%+v", va, vb)
	}
	for i, p := range a.Points() {
		q := b.Points()[i]
		if math.Abs(float64(240-p.Ohm-q.Ohm)) > 1e-4 || math.Abs(float64(p.U-q.U)) > 1e-4 {
			t.Errorf("%+v mirrored is %+v", p, q)
		}
	}
}

// Where marks are what was filled in, no plan invites filling too far.
func TestPlanOfLitresKeepsToThePermittedFill(t *testing.T) {
	kind, _ := sample(t)
	litres := *kind
	litres.Marks = "mark_l"
	g, err := litres.Gather()
	if err != nil {
		t.Fatal(err)
	}
	plan, err := g.Known.Plan(2, curve.Options{})
	if err != nil || !strings.Contains(plan.Words(), "Never fill beyond the permitted fill") {
		t.Errorf("%s %v", plan.Words(), err)
	}
	for _, n := range plan.Next {
		if n.Mark > 0.1 {
			t.Errorf("beyond what was read: %g m³", n.Mark)
		}
	}
}
