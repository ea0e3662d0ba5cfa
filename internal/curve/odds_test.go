package curve_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// spans makes claims with the usual tolerance from pairs of ohms.
func spans(pairs ...quantity.Ohm) []curve.Stated {
	var claims []curve.Claim
	for i := 0; i < len(pairs); i += 2 {
		claims = append(claims, curve.Claim{Empty: pairs[i], Full: pairs[i+1]})
	}
	return curve.AsStated(claims)
}

func odds(t *testing.T, c *curve.Curve, claims []curve.Stated) curve.Odds {
	t.Helper()
	o, err := c.Odds(claims, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// of gives what the odds say of one claim.
func of(t *testing.T, o curve.Odds, empty, full quantity.Ohm) curve.Odd {
	t.Helper()
	for _, d := range o.List {
		if d.Empty == empty && d.Full == full {
			return d
		}
	}
	t.Fatalf("no odds of %v to %v in %+v", empty, full, o)
	return curve.Odd{}
}

func TestOddsVerdicts(t *testing.T) {
	tests := []struct {
		name    string
		sheet   curve.Sheet
		claim   curve.Stated
		verdict curve.Verdict
		low     float64 // the probability lies between these
		high    float64
	}{
		{"as claimed", dial(0, 0.3, 25, 22.7, 50, 45.2, 75, 67.6, 100, 90.1), spans(0, 90)[0], curve.Agrees, 0.99, 1},
		{"a tenth too much", dial(0, 0.3, 25, 25, 50, 50, 75, 75, 100, 99.5), spans(0, 90)[0], curve.RulesOut, 0, 0.001},
		{"falling, as claimed", dial(0, 240, 50, 137, 100, 33), spans(240, 33)[0], curve.Agrees, 0.99, 1},
		{"the other way about", dial(0, 240, 50, 137, 100, 33), spans(33, 240)[0], curve.RulesOut, 0, 0},
		{"top not reached", dial(0, 0.6, 20, 20, 40, 40.3, 60, 60.2, 80, 80), spans(0, 100)[0], curve.Agrees, 0.99, 1},
		{"top not reached, wrong", dial(0, 0.6, 20, 20, 40, 40.3, 60, 60.2, 80, 80), spans(0, 90)[0], curve.RulesOut, 0, 0.001},
		{"two marks", dial(0, 0, 100, 91), spans(0, 90)[0], curve.Agrees, 0.99, 1},
		{"two marks in the middle", dial(40, 36.5, 60, 54.5), spans(0, 90)[0], curve.Agrees, 0.9, 1},
		{"just outside the tolerance", dial(0, 0, 50, 47.4, 100, 94.7), spans(0, 90)[0], curve.Undecided, 0.05, 0.99},
		{"outside, and hardly known", dial(0, 0, 50, 43, 50, 52, 100, 92, 100, 101), spans(0, 90)[0], curve.Undecided, 0.3, 1},
		{"bent between good ends", dial(0, 0.5, 20, 30, 40, 52, 60, 70, 80, 82, 100, 90), spans(0, 90)[0], curve.RulesOut, 0, 0.001},
		{"a little bent", dial(0, 0.5, 20, 21, 40, 40.8, 60, 58.5, 80, 74.5, 100, 90), spans(0, 90)[0], curve.Undecided, 0.5, 1},
		{"a wider tolerance of its own", dial(0, 0, 50, 48, 100, 96), curve.Stated{Claim: curve.Claim{Empty: 0, Full: 90}, Tolerance: 0.1}, curve.Agrees, 0.99, 1},
		{"a tighter one", dial(0, 0, 50, 46, 100, 92), curve.Stated{Claim: curve.Claim{Empty: 0, Full: 90}, Tolerance: 0.01}, curve.RulesOut, 0, 0.05},
		{"near it as far as read, but bound elsewhere", dial(0, 0, 5, 2, 10, 4.5), spans(0, 90)[0], curve.Undecided, 0, 0.01},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			o := odds(t, fit(t, test.sheet), []curve.Stated{test.claim})
			d := o.List[0]
			if d.Verdict != test.verdict || !(d.Probability >= test.low && d.Probability <= test.high) {
				t.Errorf("%s (%.4f), want %s within %v to %v; %+v", d.Verdict, d.Probability, test.verdict, test.low, test.high, o)
			}
		})
	}
}

// The mark that speaks most against a claim is named, with what it would read
// and did. Marks that were evened out are less sure: at 60 and 65 the ohms are
// further off in parts of the span than at 90, and yet 90 is named.
func TestOddsNameTheTellingMark(t *testing.T) {
	c := fit(t, dial(0, 0.1, 20, 20, 40, 40, 60, 60, 80, 80, 100, 99.7))
	d := of(t, odds(t, c, spans(0, 90)), 0, 90)
	if d.Mark != 1 || d.Expected != 90 || d.Found != 99.7 || math.Abs(d.Worst-9.7/90) > 1e-12 || d.UFound != c.Points()[5].U {
		t.Errorf("%+v", d)
	}
	c = fit(t, dial(0, 0, 20, 18, 40, 38, 60, 68, 65, 61, 80, 77, 90, 88, 100, 90))
	if d := of(t, odds(t, c, spans(0, 90)), 0, 90); d.Mark != 0.9 {
		t.Errorf("named %v: %+v; points %+v", d.Mark, d, c.Points())
	}
}

// Where marks are quantities, the tank's shape bends what lies between the
// ends. A lying cylinder with a straight sender: the level's share h/D against
// the filled share, from Perry's handbook formula (closed form).
func TestOddsAllowForTheTank(t *testing.T) {
	for unit, want := range map[curve.MarkUnit]curve.Verdict{curve.Volume: curve.Agrees, curve.Mass: curve.Agrees, curve.Height: curve.Undecided} {
		sheet := curve.Sheet{Unit: unit}
		for k := range 11 {
			h := float64(k) / 10
			r := 1 - 2*h
			share := (math.Acos(r) - r*math.Sqrt(1-r*r)) / math.Pi
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: share * 0.06, Ohm: quantity.Ohm(math.Round(10*(10+170*h)) / 10)})
		}
		c := fit(t, sheet)
		o, err := c.Odds(spans(10, 180), 0, 0.06)
		if err != nil {
			t.Fatal(err)
		}
		if o.List[0].Verdict != want || !o.List[0].Ends {
			t.Errorf("%s: %+v", unit.Symbol(), o.List[0])
		}
	}
}

// A perfect sender of each usual span is taken for that one first.
func TestFamiliesKnowTheirOwn(t *testing.T) {
	for _, s := range curve.UsualSpans() {
		var pairs []float64
		for mark := 0.0; mark <= 100; mark += 20 {
			ohm := float64(s.Empty) + mark/100*float64(s.Full-s.Empty)
			pairs = append(pairs, mark, math.Round(ohm*10)/10)
		}
		c := fit(t, dial(pairs...))
		o, err := c.Families(0, 1)
		if err != nil {
			t.Fatal(err)
		}
		if first := o.List[0]; first.Claim != s.Claim || first.Verdict != curve.Agrees || o.None > 0.01 {
			t.Errorf("%s: taken for %s (%.3f), none %.3f", s.Claim, first.Claim, first.Probability, o.None)
		}
		text := c.OddsFindings(o)[0].Text
		if name := fmt.Sprintf("%v to %v Ω", float64(s.Empty), float64(s.Full)); !strings.Contains(text, name) {
			t.Errorf("%s: says %q", s.Claim, text)
		}
	}
}

func TestUsualSpansAreSpans(t *testing.T) {
	seen := map[curve.Claim]bool{}
	for _, s := range curve.UsualSpans() {
		if seen[s.Claim] || s.Empty == s.Full || !(s.Tolerance >= curve.ClaimTolerance && s.Tolerance <= 0.1) {
			t.Errorf("%+v", s)
		}
		seen[s.Claim] = true
	}
	if len(seen) != 16 {
		t.Errorf("%d spans", len(seen))
	}
	curve.UsualSpans()[0].Full = 1
	if curve.UsualSpans()[0].Full == 1 {
		t.Error("the table itself is handed out")
	}
}

// A sender that is nothing usual is said to be none.
func TestFamiliesFitNone(t *testing.T) {
	for name, sheet := range map[string]curve.Sheet{
		"500 to 50":    dial(0, 500, 50, 275, 100, 50),
		"1000 to 5000": dial(0, 1000, 50, 3000, 100, 5000),
		"0 to 120":     dial(0, 0, 50, 60, 100, 120),
		"300 to 10":    dial(0, 300, 20, 242, 40, 184, 60, 126, 80, 68, 100, 10),
	} {
		o, err := fit(t, sheet).Families(0, 1)
		if err != nil || o.None < 0.9 {
			t.Errorf("%s: none %.3f, first %+v, %v", name, o.None, o.List[0], err)
		}
	}
}

func TestOddsRefuse(t *testing.T) {
	c := fit(t, dial(0, 0, 50, 45, 100, 90))
	nan := quantity.Ohm(math.NaN())
	for _, test := range []struct {
		claim       curve.Stated
		empty, full float64
		text        string
	}{
		{spans(90, 90)[0], 0, 1, "the claimed span 90:90 has equal ends; state the ohms at empty and at full, like 0:90"},
		{spans(-5, 90)[0], 0, 1, "the claimed span -5:90 has an end of -5 ohm; expected 0 to 100000"},
		{spans(0, nan)[0], 0, 1, "the claimed span 0:NaN has an end of NaN ohm; expected 0 to 100000"},
		{spans(0, 200_000)[0], 0, 1, "the claimed span 0:200000 has an end of 200000 ohm; expected 0 to 100000"},
		{curve.Stated{Claim: curve.Claim{Empty: 0, Full: 90}, Tolerance: 0.8}, 0, 1, "the claimed span 0:90 has a tolerance of 80 %; expected above 0 and at most 50 % of span"},
		{curve.Stated{Claim: curve.Claim{Empty: 0, Full: 90}, Tolerance: -0.01}, 0, 1, "the claimed span 0:90 has a tolerance of -1 %; expected above 0 and at most 50 % of span"},
		{spans(0, 90)[0], 1, 1, "the full mark must lie above the empty one; found empty 100 % and full 100 %"},
		{spans(0, 90)[0], 0, math.NaN(), "the full mark must lie above the empty one; found empty 0 % and full NaN %"},
	} {
		if _, err := c.Odds([]curve.Stated{test.claim}, test.empty, test.full); err == nil || err.Error() != test.text {
			t.Errorf("%+v: error %v, want %q", test.claim, err, test.text)
		}
	}
	if _, err := c.Families(1, 0); err == nil {
		t.Error("families with the full mark below the empty one: no error")
	}
	// A tolerance that isn't stated is the usual one.
	if d := odds(t, c, []curve.Stated{{Claim: curve.Claim{Empty: 0, Full: 90}}}).List[0]; d.Tolerance != curve.ClaimTolerance {
		t.Errorf("tolerance %v", d.Tolerance)
	}
	if o := odds(t, c, nil); len(o.List) != 0 || o.None != 1 || c.OddsFindings(o) != nil {
		t.Errorf("nothing claimed: %+v", o)
	}
}

func TestOddsOfASenderWithoutOrder(t *testing.T) {
	c := fit(t, dial(0, 10, 20, 40, 40, 80, 60, 60, 80, 30, 100, 12))
	o := odds(t, c, spans(0, 90, 10, 12))
	for _, d := range o.List {
		if d.Verdict != curve.Undecided || d.Probability != 0 {
			t.Errorf("%+v", d)
		}
	}
	if said := c.OddsFindings(o); o.None != 1 || said != nil {
		t.Errorf("none %v, says %v", o.None, said)
	}
}

func TestClaimsMadeTwice(t *testing.T) {
	c := fit(t, dial(0, 0, 50, 45, 100, 90))
	once := odds(t, c, spans(0, 90, 0, 95))
	twice := odds(t, c, append(spans(0, 90, 0, 95, 0, 90, 0, 90), curve.Stated{Claim: curve.Claim{Empty: 0, Full: 95}, Tolerance: 0.02}))
	if len(twice.List) != 2 || len(twice.Twice) != 2 {
		t.Fatalf("%+v", twice)
	}
	if got := of(t, twice, 0, 95).Tolerance; got != 0.02 {
		t.Errorf("of two tolerances %v is taken, want the tighter, 0.02", got)
	}
	if a, b := of(t, once, 0, 90).Verdict, of(t, twice, 0, 90).Verdict; a != b {
		t.Errorf("%v once, %v twice", a, b)
	}
}

// Laws: probabilities sum to 1 with none and stay within 0 and 1; no order of
// claims matters; a claim that goes the other way is ruled out whatever the
// readings; a sender and its claims read from full to empty have the same odds;
// verdicts fit their numbers. Nothing is NaN however odd the readings are.
func TestOddsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "readings")
		var sheet, turned curve.Sheet
		slope := rapid.Float64Range(-300, 300).Draw(t, "slope")
		base := rapid.Float64Range(0, 300).Draw(t, "base") + max(0, -slope)
		noise := rapid.SampledFrom([]float64{0, 0.1, 5}).Draw(t, "noise")
		for range n {
			mark := float64(rapid.IntRange(0, 20).Draw(t, "mark")) / 20
			ohm := quantity.Ohm(math.Round(10*max(0, base+slope*mark+noise*rapid.Float64Range(-1, 1).Draw(t, "error"))) / 10)
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: ohm})
			turned.Readings = append(turned.Readings, curve.Reading{Mark: 1 - mark, Ohm: ohm})
		}
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			return
		}
		var claims, reversed, mirrored []curve.Stated
		for range rapid.IntRange(1, 6).Draw(t, "claims") {
			s := curve.Stated{
				Claim:     curve.Claim{Empty: quantity.Ohm(rapid.IntRange(0, 60).Draw(t, "empty") * 10), Full: quantity.Ohm(rapid.IntRange(0, 60).Draw(t, "full")*10 + 3)},
				Tolerance: rapid.SampledFrom([]float64{0.01, 0.05, 0.2}).Draw(t, "tolerance"),
			}
			claims = append(claims, s)
			reversed = append([]curve.Stated{s}, reversed...)
			mirrored = append(mirrored, curve.Stated{Claim: curve.Claim{Empty: s.Full, Full: s.Empty}, Tolerance: s.Tolerance})
		}
		o, err := c.Odds(claims, 0, 1)
		if err != nil {
			t.Fatal(err)
		}
		sum := o.None
		for _, d := range o.List {
			sum += d.Probability
			if !(d.Probability >= 0 && d.Probability <= 1) || !(d.Worst >= 0) || math.IsNaN(float64(d.UFound+d.Expected+d.Found)) {
				t.Fatalf("%+v", d)
			}
			wrongWay := (d.Full > d.Empty) != (c.Direction() == curve.Rising)
			if c.Ordered() && wrongWay && (d.Verdict != curve.RulesOut || d.Probability != 0) {
				t.Fatalf("%s on a %s sender: %+v", d.Claim, c.Direction(), d)
			}
			if d.Verdict == curve.Agrees && d.Worst > d.Tolerance+1e-9 || d.Verdict == curve.RulesOut && d.Probability >= 0.05 {
				t.Fatalf("%+v", d)
			}
		}
		if !(math.Abs(sum-1) < 1e-12) {
			t.Fatalf("sum to %v: %+v", sum, o)
		}
		for _, text := range c.OddsFindings(o) {
			if strings.Contains(text.Text, "NaN") || strings.Contains(text.Text, "Inf") {
				t.Fatalf("says %q", text.Text)
			}
		}
		other, err := c.Odds(reversed, 0, 1)
		if err != nil {
			t.Fatal(err)
		}
		m, err := curve.Fit(turned, curve.Options{})
		if err != nil {
			return // a tie of directions, and then no order
		}
		mirror, err := m.Odds(mirrored, 0, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range o.List {
			for _, e := range other.List {
				if e.Claim == d.Claim && (math.Abs(e.Probability-d.Probability) > 1e-12 || e.Verdict != d.Verdict) {
					t.Fatalf("in another order: %+v and %+v", d, e)
				}
			}
			if !mirrors(c, m) {
				continue // ties of directions and of outliers are settled one way
			}
			for _, e := range mirror.List {
				if e.Full == d.Empty && e.Empty == d.Full && math.Abs(e.Probability-d.Probability) > 1e-6 {
					t.Fatalf("read from full to empty: %s %.9f and %s %.9f; %+v and %+v", d.Claim, d.Probability, e.Claim, e.Probability, c.Points(), m.Points())
				}
			}
		}
	})
}

// mirrors says whether two curves have the same points from the other end.
func mirrors(c, m *curve.Curve) bool {
	a, b := c.Points(), m.Points()
	if len(a) != len(b) || m.Direction() == c.Direction() || !c.Ordered() || !m.Ordered() {
		return false
	}
	for i, p := range a {
		q := b[len(b)-1-i]
		if math.Abs(float64(p.Ohm-q.Ohm)) > 1e-9 || math.Abs(float64(p.U-q.U)) > 1e-9 {
			return false
		}
	}
	return true
}

// One more claim that doesn't fit changes nothing for those that do.
func TestMisfitsDontMatter(t *testing.T) {
	c := fit(t, dial(0, 0.3, 25, 22.9, 50, 46, 75, 68.5, 100, 91.5))
	few := odds(t, c, spans(0, 90, 0, 95))
	many := odds(t, c, spans(0, 90, 0, 95, 0, 30, 300, 10, 240, 33, 50, 400))
	a, b := of(t, few, 0, 90).Probability/of(t, few, 0, 95).Probability, of(t, many, 0, 90).Probability/of(t, many, 0, 95).Probability
	if math.Abs(a-b) > 1e-9*a {
		t.Errorf("0:90 to 0:95 is %v, with misfits %v", a, b)
	}
}

func TestOddsSentences(t *testing.T) {
	six := dial(0, 0.6, 20, 20.4, 40, 40.3, 60, 60.2, 80, 80, 100, 99.6)
	litres := curve.Sheet{Unit: curve.Volume, Readings: []curve.Reading{{Mark: 0, Ohm: 240.6}, {Mark: 0.03, Ohm: 135.4}, {Mark: 0.06, Ohm: 33.1}}}
	heights := curve.Sheet{Unit: curve.Height}
	for k := range 16 {
		heights.Readings = append(heights.Readings, curve.Reading{Mark: 0.03 + 0.02*float64(k), Ohm: quantity.Ohm(math.Round(10*(2+12.4*float64(k))) / 10)})
	}
	tests := []struct {
		name   string
		sheet  curve.Sheet
		claims []curve.Stated // nil asks for the usual spans
		empty  float64
		full   float64
		texts  []string
	}{
		{"three claims", six, spans(0, 90, 0, 95, 0, 100), 0, 1, []string{
			"Agrees with 0 to 100 Ω over the dial from 0 to 100 % (95 in 100), at most 0.6 % of span off (at 0 %).",
			"Agrees with 0 to 95 Ω too, far less likely (5 in 100), at most 4.8 % of span off (at 100 %).",
			"Rules out 0 to 90 Ω: at 100 % it would read 90.0 Ω and read 99.6 ± 0.1 Ω."}},
		{"none fits", six, spans(0, 90, 240, 33), 0, 1, []string{
			"Rules out 0 to 90 Ω: at 100 % it would read 90.0 Ω and read 99.6 ± 0.1 Ω.",
			"Rules out 240 to 33 Ω: its ohms fall as the mark goes up, and these rise.",
			"None of the claimed spans fits: go by the readings, not by the data sheet."}},
		{"both ways and twice", six, spans(100, 0, 0, 100, 0, 100), 0, 1, []string{
			"Agrees with 0 to 100 Ω over the dial from 0 to 100 % (more than 99 in 100), at most 0.6 % of span off (at 0 %).",
			"Rules out 100 to 0 Ω: its ohms fall as the mark goes up, and these rise.",
			"0 to 100 Ω is claimed more than once and counted once."}},
		{"bent", dial(0, 0.5, 20, 30, 40, 52, 60, 70, 80, 82, 100, 90), spans(0, 90), 0, 1, []string{
			"Rules out 0 to 90 Ω on a straight line, though both ends fit: at 40 % it would read 36.0 Ω and read 52.0 ± 0.1 Ω.",
			"None of the claimed spans fits: go by the readings, not by the data sheet."}},
		{"a little bent", dial(0, 0.5, 20, 21, 40, 40.8, 60, 58.5, 80, 74.5, 100, 90), spans(0, 90), 0, 1, []string{
			"Can't decide on 0 to 90 Ω: both ends fit it (more than 99 in 100), but it doesn't run straight between them: at 40 % it would read 36.0 Ω and read 40.8 ± 0.1 Ω."}},
		{"bent, and nothing claimed", dial(0, 0.5, 20, 30, 40, 52, 60, 70, 80, 82, 100, 90), nil, 0, 1, []string{
			"Looks like the usual 0 to 90 Ω (93 in 100)."}},
		{"float on a rod", heights, spans(0, 190), 0.03, 0.33, []string{
			"Agrees with 0 to 190 Ω over the marks from 30 to 330 mm (more than 99 in 100), at most 1.1 % of span off (at 30 mm)."}},
		{"too little read", dial(0, 0, 5, 2, 10, 4.5), spans(0, 90), 0, 1, []string{
			"Can't decide on 0 to 90 Ω (less than 1 in 100): the marks read are within 5.0 % of it, but they point to 0.0 ± 0.2 Ω at 0 % and 45 ± 14 Ω at 100 %: read nearer to the ends."}},
		{"two that can't be told apart", dial(0, 0.5, 50, 46.3, 100, 92.4), spans(0, 90, 0, 95), 0, 1, []string{
			"Agrees with 0 to 90 Ω over the dial from 0 to 100 % (53 in 100), at most 2.7 % of span off (at 100 %).",
			"Agrees with 0 to 95 Ω too, about as likely (47 in 100), at most 2.7 % of span off (at 100 %)."}},
		{"one rather than the other", dial(0, 0.3, 100, 91), spans(0, 95, 0, 90), 0, 1, []string{
			"Agrees with 0 to 90 Ω over the dial from 0 to 100 % (84 in 100), at most 1.1 % of span off (at 100 %).",
			"Agrees with 0 to 95 Ω too, less likely (15 in 100), at most 4.2 % of span off (at 100 %)."}},
		{"at the edge of a claim", dial(0, 0, 50, 47.4, 100, 94.7), spans(0, 90), 0, 1, []string{
			"Can't decide on 0 to 90 Ω (91 in 100): at 100 % it would read 90.0 Ω and read 94.7 ± 0.1 Ω, 5.2 % of span off where 5.0 % is allowed."}},
		{"exactly", dial(0, 0, 50, 45, 100, 90), spans(0, 90), 0, 1, []string{
			"Agrees with 0 to 90 Ω over the dial from 0 to 100 % (more than 99 in 100), nowhere off."}},
		{"litres", litres, spans(240, 33), 0, 0.06, []string{
			"Agrees with 240 to 33 Ω over the marks from 0 to 60 L (more than 99 in 100), as far as its ends go: between them the tank's shape counts too."}},
		{"hardly any travel", dial(50, 50, 50.01, 50.1), nil, 0, 1, []string{
			"Fits none of the usual spans (98 in 100): the readings point to nothing certain at the ends. Only 50 to 50.01 % was read; marks nearer to the ends would tell more."}},
		{"coarse", dial(0, 0, 100, 185), nil, 0, 1, []string{
			"Looks like one of the usual spans 0 to 180 Ω (37 in 100), 0 to 190 Ω (36 in 100) or 3 to 180 Ω (26 in 100)."}},
		{"usual", dial(0, 0.3, 25, 22.6, 50, 45.3, 75, 67.4, 100, 90.1), nil, 0, 1, []string{
			"Looks like the usual 0 to 90 Ω (99 in 100)."}},
		{"between two", dial(0, 0.5, 50, 46.3, 100, 92.4), nil, 0, 1, []string{
			"Looks like one of the usual spans 0 to 90 Ω (53 in 100) or 0 to 95 Ω (46 in 100)."}},
		{"at the edge", six, nil, 0, 1, []string{
			"Looks most like the usual 0 to 95 Ω (90 in 100), though at most 4.8 % of span off (at 100 %)."}},
		{"nothing usual", dial(0, 0, 50, 60, 100, 120), nil, 0, 1, []string{
			"Fits none of the usual spans (more than 99 in 100): the readings point to 0.0 ± 0.8 Ω at 0 % and 120.0 ± 0.8 Ω at 100 %."}},
		{"half the dial", dial(0, 240, 20, 198.8, 40, 157), nil, 0, 1, []string{
			"Looks like the usual 240 to 33 Ω (99 in 100). Only 0 to 40 % was read; marks nearer to the ends would tell more."}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := fit(t, test.sheet)
			o, err := c.Odds(test.claims, test.empty, test.full)
			if test.claims == nil {
				o, err = c.Families(test.empty, test.full)
			}
			if err != nil {
				t.Fatal(err)
			}
			var texts []string
			for _, f := range c.OddsFindings(o) {
				texts = append(texts, f.Text)
				if want := map[bool]finding.Weight{true: finding.Doubt}[strings.HasPrefix(f.Text, "None of")]; f.Weight != want {
					t.Errorf("%q has the weight %v", f.Text, f.Weight)
				}
			}
			if got, want := strings.Join(texts, "\n"), strings.Join(test.texts, "\n"); got != want {
				t.Errorf("says\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// Far more marks than are worth weighing, and marks a hair apart.
func TestOddsOfStrangeSheets(t *testing.T) {
	var many curve.Sheet
	for k := range 3001 {
		many.Readings = append(many.Readings, curve.Reading{Mark: float64(k) / 3000, Ohm: quantity.Ohm(math.Round(900*float64(k)/3000) / 10)})
	}
	if d := odds(t, fit(t, many), spans(0, 90)).List[0]; d.Verdict != curve.Agrees {
		t.Errorf("3001 marks: %+v", d)
	}
	o := odds(t, fit(t, dial(50, 50, 50.0001, 50.1)), spans(0, 90, 40, 250))
	if math.IsNaN(o.None) || math.IsNaN(o.List[0].Probability) {
		t.Errorf("marks a hair apart: %+v", o)
	}
	// A scale far from the readings.
	far, err := fit(t, dial(50, 50, 51, 51)).Odds(spans(0, 90), -1e6, 1e6)
	if err != nil || math.IsNaN(far.None) {
		t.Errorf("a scale of a million dials: %+v, %v", far, err)
	}
}

func sheet40() curve.Sheet {
	var pairs []float64
	for i := range 40 {
		mark := float64(i) * 100 / 39
		pairs = append(pairs, mark, math.Round(10*(1+0.9*mark+math.Sin(mark/20)))/10)
	}
	return dial(pairs...)
}

func BenchmarkOdds40(b *testing.B) {
	c, err := curve.Fit(sheet40(), curve.Options{})
	if err != nil {
		b.Fatal(err)
	}
	claims := spans(0, 90, 0, 95, 240, 33)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Odds(claims, 0, 1); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFamilies40(b *testing.B) {
	c, err := curve.Fit(sheet40(), curve.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Families(0, 1); err != nil {
			b.Fatal(err)
		}
	}
}
