package curve_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// toRead gives the planned marks as shown, with "again" as a minus sign.
func toRead(p curve.Plan) []float64 {
	var marks []float64
	for _, n := range p.Next {
		m := quantity.Round(p.Unit.ToShown(n.Mark), 6)
		if n.Again {
			m = -m
		}
		marks = append(marks, m)
	}
	return marks
}

// Two marks at the ends and nothing else, by hand: a Brownian bridge of 2.5 %
// half-way, and the doubt of whole ohms, 90/√12 … Half-way first, then the
// quarters; a bridge over half the way has 1/√2 of it, over a quarter half.
func TestPlanByHand(t *testing.T) {
	p := fit(t, dial(0, 0, 100, 90)).Plan(3, 0, 1)
	own := 1 / math.Sqrt(12) / 90
	want := []float64{math.Hypot(0.025/math.Sqrt2, own), math.Hypot(0.025/math.Sqrt2, own), math.Hypot(0.0125, own)}
	if math.Abs(p.U-math.Hypot(0.025, own)) > 1e-12 || p.At != 0.5 {
		t.Errorf("doubt %v at %v, want %v at 0.5", p.U, p.At, math.Hypot(0.025, own))
	}
	if diff := cmp.Diff([]float64{50, 25, 75}, toRead(p)); diff != "" {
		t.Errorf("marks: %s", diff)
	}
	for i, n := range p.Next {
		if math.Abs(n.U-want[i]) > 1e-12 {
			t.Errorf("after %d readings %v, want %v", i+1, n.U, want[i])
		}
	}
	if p.Halve != 3 || p.Limit != curve.NoLimit {
		t.Errorf("halved by %d, limit %v", p.Halve, p.Limit)
	}
}

func TestPlanMarks(t *testing.T) {
	litres := curve.Sheet{Unit: curve.Volume}
	for k := range 13 {
		litres.Readings = append(litres.Readings, curve.Reading{Mark: 0.005 * float64(k), Ohm: quantity.Ohm(10 + 13*k)})
	}
	heights := curve.Sheet{Unit: curve.Height, Readings: []curve.Reading{{Mark: 0.03, Ohm: 2}, {Mark: 0.18, Ohm: 95}, {Mark: 0.33, Ohm: 188}}}
	tests := []struct {
		name        string
		sheet       curve.Sheet
		n           int
		empty, full float64
		marks       []float64
	}{
		// A straight sender: the widest gap is halved, and then its halves.
		{"one wide gap", dial(0, 0, 10, 9, 20, 18, 70, 63, 80, 72, 90, 81, 100, 90), 3, 0, 1, []float64{45, 30, 55}},
		{"one wide gap and noise", dial(0, 0, 0, 1, 10, 9.5, 10, 8.5, 20, 18, 20, 18.5, 70, 63.5, 70, 62.5, 80, 72, 90, 81, 90, 81.5, 100, 90), 1, 0, 1, []float64{45}},
		{"the top wasn't reached", dial(0, 0.6, 20, 20.4, 40, 40.3, 60, 60.2, 80, 80), 1, 0, 1, []float64{100}},
		{"neither end was", dial(20, 20, 40, 40, 60, 60), 2, 0, 1, []float64{100, 0}},
		// Dead up to somewhere between 20 and 40: that is where to look.
		{"dead travel", dial(0, 5, 10, 5, 20, 5, 40, 25, 50, 40, 60, 55, 70, 70, 80, 85, 90, 100, 100, 115), 2, 0, 1, []float64{28, 25}},
		{"a part of the dial alone", dial(0, 0, 50, 45, 100, 90), 1, 0, 0.5, []float64{25}},
		{"litres", litres, 1, 0, 0.06, []float64{2}},
		{"litres, full not reached", litres, 1, 0, 0.0633, []float64{63.3}},
		{"millimetres", heights, 2, 0.03, 0.33, []float64{100, 250}},
		{"nothing asked for", dial(0, 0, 100, 90), 0, 0, 1, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p := fit(t, test.sheet).Plan(test.n, test.empty, test.full)
			if diff := cmp.Diff(test.marks, toRead(p)); diff != "" {
				t.Errorf("%s\n%+v", diff, p)
			}
		})
	}
}

// What readings can't mend is said to be so.
func TestPlanLimits(t *testing.T) {
	hysteresis := []float64{0, 0}
	for m := 5.0; m < 100; m += 5 {
		hysteresis = append(hysteresis, m, m-3)
	}
	hysteresis = append(hysteresis, 100, 100)
	for m := 95.0; m >= 5; m -= 5 {
		hysteresis = append(hysteresis, m, m+3)
	}
	var coarse, noisy, steps []float64
	for m := 0.0; m <= 100; m += 5 {
		coarse = append(coarse, m, math.Round(0.2*m))
		k := math.Floor(m / 15)
		steps = append(steps, m, 18*k)
	}
	for m := 0.0; m <= 100; m += 10 {
		for k := range 4 {
			noisy = append(noisy, m, 50+m+5*float64(k%2*2-1))
		}
	}
	tests := []struct {
		name    string
		sheet   curve.Sheet
		options curve.Options
		limit   curve.Limit
		text    string
	}{
		{"hysteresis", dial(hysteresis...), curve.Options{}, curve.LimitHysteresis, "More readings can't halve the doubt: the sender's hysteresis stays."},
		{"whole ohms", dial(coarse...), curve.Options{}, curve.LimitMeter, "what the meter, its last digit, the leads and the marks add stays"},
		{"steps", dial(steps...), curve.Options{}, curve.LimitSteps, "More readings can't halve the doubt: the sender moves in steps."},
		{"scatter", dial(noisy...), curve.Options{}, curve.LimitCount, "Even 50 more readings don't halve the doubt."},
		{"no order", dial(0, 10, 20, 40, 40, 80, 60, 60, 80, 30, 100, 12), curve.Options{}, curve.LimitOrder, "More readings don't help before the sender keeps one direction."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c, err := curve.Fit(test.sheet, test.options)
			if err != nil {
				t.Fatal(err)
			}
			p := c.Plan(3, 0, 1)
			if p.Limit != test.limit || p.Halve != -1 {
				t.Errorf("limit %v, halved by %d; %+v", p.Limit, p.Halve, p)
			}
			if text := planText(p); !strings.Contains(text, test.text) {
				t.Errorf("says %q, want %q", text, test.text)
			}
		})
	}
	// Marks a percent apart, nothing repeated: no figure is left between them.
	var dense []float64
	for m := 0.0; m <= 100; m++ {
		dense = append(dense, m, math.Round(10*(0.9*m+0.3*math.Sin(m)))/10)
	}
	if p := fit(t, dial(dense...)).Plan(1, 0, 1); p.Limit != curve.LimitMarks || p.Next != nil {
		t.Errorf("a reading at every percent: %+v", p)
	}
}

func TestPlanMissingSweep(t *testing.T) {
	for name, test := range map[string]struct {
		sheet curve.Sheet
		want  curve.Sweep
	}{
		"only up":         {dial(0, 0, 50, 45, 100, 90), curve.Down},
		"only down":       {dial(100, 90, 50, 45, 0, 0), curve.Up},
		"both":            {dial(0, 0, 50, 45, 100, 90, 50, 46, 0, 0), curve.Unstated},
		"jumbled, upward": {dial(0, 0, 100, 90, 25, 22, 75, 68, 50, 45, 60, 54), curve.Down},
	} {
		if got := fit(t, test.sheet).Plan(1, 0, 1).Missing; got != test.want {
			t.Errorf("%s: %q, want %q", name, got, test.want)
		}
	}
	written := dial(0, 0, 50, 45, 100, 90)
	for i := range written.Readings {
		written.Readings[i].Sweep = curve.Down
	}
	if got := fit(t, written).Plan(1, 0, 1).Missing; got != curve.Up {
		t.Errorf("written down as down: %q", got)
	}
}

func planText(p curve.Plan) string {
	var texts []string
	for _, f := range p.Findings() {
		texts = append(texts, f.Text)
	}
	return strings.Join(texts, "\n")
}

func TestPlanSentences(t *testing.T) {
	litres := curve.Sheet{Unit: curve.Volume, Readings: []curve.Reading{{Mark: 0, Ohm: 10}, {Mark: 0.02, Ohm: 60}, {Mark: 0.04, Ohm: 105}, {Mark: 0.02, Ohm: 61}, {Mark: 0, Ohm: 10}}}
	tests := []struct {
		name  string
		sheet curve.Sheet
		n     int
		full  float64
		text  string
	}{
		{"two readings", dial(0, 0, 100, 90), 3, 1,
			"Read 50 % next, then 25 % and 75 %: the doubt falls from ±5.0 to ±2.6 points.\n3 readings halve it.\n" +
				"Read some marks going down too: none was read both ways, so hysteresis isn't known and isn't in the doubt."},
		{"one is enough", dial(0, 0.6, 20, 20.4, 40, 40.3, 60, 60.2, 80, 80, 60, 60.4, 40, 40.5, 20, 20.5, 0, 0.6), 1, 1,
			"Read 100 % next: the doubt falls from ±23.2 to ±1.1 points.\nOne reading halves the doubt."},
		{"the worst stays", dial(0, 0, 25, 22.5, 50, 45, 75, 67.5, 100, 90, 75, 67.5, 50, 45, 25, 22.5, 0, 0), 2, 1,
			"Read 10 % next, then 35 %: the doubt stays at ±1.3 points at the worst, and falls on the whole.\n20 readings halve it."},
		{"further than was poured", litres, 2, 0.05,
			"Read 50 L next, then 10 L: the doubt falls from ±28.2 to ±11.6 points.\n" +
				"A mark above 40 L means filling further than was read: never beyond the permitted fill.\nOne reading halves the doubt."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := planText(fit(t, test.sheet).Plan(test.n, 0, test.full)); got != test.text {
				t.Errorf("says\n%s\nwant\n%s", got, test.text)
			}
		})
	}
}

// Laws: the marks are round figures (or an end) on the scale and not read yet
// unless said so; no more than asked for; the doubt never grows, nothing is
// NaN; the curve is left as it is, and the same plan comes out again.
func TestPlanLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(t, "readings")
		var sheet curve.Sheet
		for range n {
			mark := float64(rapid.IntRange(0, 50).Draw(t, "mark")) / 50
			ohm := math.Round(10*max(0, 100*mark*mark+rapid.Float64Range(-4, 4).Draw(t, "noise"))) / 10
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
		}
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			return
		}
		before := c.Points()
		ask := rapid.IntRange(0, 8).Draw(t, "ask")
		p := c.Plan(ask, 0, 1)
		if diff := cmp.Diff(p, c.Plan(ask, 0, 1)); diff != "" {
			t.Fatalf("another plan: %s", diff)
		}
		if diff := cmp.Diff(before, c.Points()); diff != "" {
			t.Fatalf("the curve has changed: %s", diff)
		}
		if len(p.Next) > ask || p.Halve == 0 || p.Halve > curve.MostPlanned || p.Halve < 0 != (p.Limit != curve.NoLimit) {
			t.Fatalf("%+v", p)
		}
		read := map[float64]bool{}
		for _, point := range before {
			read[math.Round(100*point.Mark)] = true
		}
		last := p.U
		for i, next := range p.Next {
			shown := 100 * next.Mark
			if !(shown >= 0 && shown <= 100) || math.Abs(shown-math.Round(shown)) > 1e-9 || read[math.Round(shown)] != next.Again {
				t.Fatalf("mark %v, again %v; %+v", shown, next.Again, p)
			}
			read[math.Round(shown)] = true
			if !(next.U <= last) {
				t.Fatalf("reading %d raises the doubt from %v to %v", i+1, last, next.U)
			}
			last = next.U
		}
		if text := planText(p); strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Fatalf("says %q", text)
		}
	})
}

func TestPlanNeedsAScale(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a full mark below the empty one was taken")
		}
	}()
	fit(t, dial(0, 0, 100, 90)).Plan(1, 1, 0)
}

// Followed one reading at a time on senders of known course, a plan does at
// least about as well as marks spread evenly, and better where the sender has a
// knee (dead travel). The senders are closed forms; the meter shows a tenth.
func TestPlanFollowed(t *testing.T) {
	for _, test := range []struct {
		name   string
		course func(float64) float64
		ratio  float64 // of the worst errors, planned to evenly spread
	}{
		{"dead travel", func(s float64) float64 { return 5 + 100*max(0, s-0.27)/0.73 }, 0.6},
		{"dead at both ends", func(s float64) float64 { return 100 * min(1, max(0, (s-0.12)/0.7)) }, 0.9},
		{"swing arm", func(s float64) float64 { return 50 + 50*math.Sin((2*s-1)*math.Pi/3)/math.Sin(math.Pi/3) }, 1.5},
		{"straight", func(s float64) float64 { return 10 + 170*s }, 1.5},
	} {
		read := func(marks map[int]bool) *curve.Curve {
			var pairs []float64
			for m := range 101 {
				if marks[m] {
					pairs = append(pairs, float64(m), math.Round(10*test.course(float64(m)/100))/10)
				}
			}
			return fit(t, dial(pairs...))
		}
		worst := func(c *curve.Curve) float64 {
			e := 0.0
			for k := range 1001 {
				s := float64(k) / 1000
				e = max(e, math.Abs(float64(c.Ohm(s, curve.Refuse).Ohm)-test.course(s)))
			}
			return e
		}
		even, planned := map[int]bool{}, map[int]bool{0: true, 50: true, 100: true}
		for m := 0; m <= 100; m += 10 {
			even[m] = true
		}
		for len(planned) < len(even) {
			p := read(planned).Plan(1, 0, 1)
			if len(p.Next) == 0 || p.Next[0].Again {
				t.Fatalf("%s: nothing to read after %v: %+v", test.name, planned, p)
			}
			planned[int(math.Round(100*p.Next[0].Mark))] = true
		}
		a, b := worst(read(planned)), worst(read(even))
		t.Logf("%s: planned %.2f Ω, even %.2f Ω", test.name, a, b)
		if a > test.ratio*b+0.05 {
			t.Errorf("%s: worst error planned %.2f Ω, evenly spread %.2f Ω", test.name, a, b)
		}
	}
}

func BenchmarkPlan40(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 4))
	noisy := sheet40()
	for i := range noisy.Readings { // twenty marks twice, with scatter
		noisy.Readings[i].Mark = math.Round(float64(i/2)*100/19) / 100
		noisy.Readings[i].Ohm = quantity.Ohm(math.Round(10*(2+90*noisy.Readings[i].Mark+random.NormFloat64())) / 10)
	}
	noisy.Readings[0].Ohm = 0.5
	for name, sheet := range map[string]curve.Sheet{"smooth": sheet40(), "noisy": noisy} {
		b.Run(name, func(b *testing.B) {
			c, err := curve.Fit(sheet, curve.Options{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				c.Plan(3, 0, 1)
			}
		})
	}
}

// Between scale ends so large that a step more is the same number, the marks to
// try come to an end.
func TestPlanOfAnEndlessScale(t *testing.T) {
	const empty = -1.6e300
	c, err := curve.Fit(curve.Sheet{Readings: []curve.Reading{{Mark: math.Nextafter(empty, 0), Ohm: 1}, {Mark: 0.3, Ohm: 40}, {Mark: 0.5, Ohm: 90}}}, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Plan(5, empty, 0.68); len(got.Next) > 5 {
		t.Errorf("five were asked for, and %d came", len(got.Next))
	}
}
