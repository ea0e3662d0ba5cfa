package telling_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// up and down are the next numbers there are.
func up(v float64) float64   { return math.Nextafter(v, math.Inf(1)) }
func down(v float64) float64 { return math.Nextafter(v, math.Inf(-1)) }

func TestFigures(t *testing.T) {
	for _, test := range []struct{ name, got, want string }{
		{"points", telling.Points(0.125), "12.5"},
		{"points, whole", telling.Points(1), "100.0"},
		{"points, no minus before nothing", telling.Points(-0.0004), "0.0"},
		// A sixteenth is exact in binary, and so are its 6.25 points: between two steps.
		{"points, one ulp below the middle", telling.Points(quantity.Share(down(0.0625))), "6.2"},
		{"points, one ulp above the middle", telling.Points(quantity.Share(up(0.0625))), "6.3"},
		{"signed, up", telling.Signed(0.0126), "+1.3"},
		{"signed, down", telling.Signed(-0.004), "−0.4"},
		{"signed, nothing", telling.Signed(0), "0.0"},
		{"signed, next to nothing above", telling.Signed(0.00049), "0.0"},
		{"signed, next to nothing below", telling.Signed(-0.00049), "0.0"},
		{"signed, the first step", telling.Signed(0.00051), "+0.1"},
		{"doubt, on the step", telling.Doubt(1.3), "1.3"},
		{"doubt, one ulp above the step is noise", telling.Doubt(up(1.3)), "1.3"},
		{"doubt, truly above the step", telling.Doubt(1.3001), "1.4"},
		{"doubt, one ulp below the step", telling.Doubt(down(1.3)), "1.3"},
		{"doubt, nothing", telling.Doubt(0), "0.1"},
		// The example of JCGM 100:2008, 7.2.6, rounds 10.47 up to 11 (from memory);
		// with a figure more it is 10.5.
		{"doubt, the Guide's", telling.Doubt(10.47), "10.5"},
		{"doubt of ohms", telling.DoubtOf(curve.Ohms, 0.201), "0.3"},
		{"doubt of ohms, on the step", telling.DoubtOf(curve.Ohms, 0.2), "0.2"},
		{"doubt of volts", telling.DoubtOf(curve.Volts, 0.0121), "0.013"},
		{"doubt of volts, nothing", telling.DoubtOf(curve.Volts, 0), "0.001"},
		{"litres, on the step", telling.Litres(0.0432), "43.2"},
		{"litres, one ulp below is noise", telling.Litres(quantity.CubicMetre(down(0.0432))), "43.2"},
		{"litres, truly below", telling.Litres(0.043199), "43.1"},
		{"litres, never rounded up", telling.Litres(0.04329), "43.2"},
		{"pair", telling.Pair(span.Ends{Lower: 240, Upper: 33.25}), "240:33.25"},
		{"no marks", telling.Marks(curve.Dial, nil), ""},
		{"a mark", telling.Marks(curve.Dial, []float64{0.4}), "40 %"},
		{"marks", telling.Marks(curve.Dial, []float64{0.4, 0.6, 0.8}), "40 %, 60 % and 80 %"},
		{"heights", telling.Marks(curve.Height, []float64{0.12, 0.3}), "120 mm and 300 mm"},
		{"a fine mark", telling.FineMark(curve.Dial, 0.4267), "42.7 %"},
		{"a sentence", telling.Sentence("über 5 °C"), "Über 5 °C."},
		{"a sentence that was one", telling.Sentence("It is."), "It is."},
		{"no sentence", telling.Sentence(""), ""},
		{"a note", telling.Finding(finding.Finding{Text: "It rises."}), "It rises."},
		{"a doubt", telling.Finding(finding.Finding{Text: "It rises.", Weight: finding.Doubt}), "Look: It rises."},
		{"a bad one", telling.Finding(finding.Finding{Text: "It rises.", Weight: finding.Bad}), "BAD: It rises."},
	} {
		if test.got != test.want {
			t.Errorf("%s: %q, want %q", test.name, test.got, test.want)
		}
	}
}

func number(t *rapid.T, text string) float64 {
	v, err := strconv.ParseFloat(strings.Replace(text, "−", "-", 1), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// A doubt is never told smaller than it is, litres never more than there are, and
// a figure is off by half its last digit at most.
func TestRoundingGoesTheSafeWay(t *testing.T) {
	const noise = 1e-6 // of a last digit
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 1000).Draw(t, "v")
		if got := number(t, telling.Doubt(v)); got < v-noise || got > max(0.1, v+0.1) {
			t.Errorf("doubt of %g is told as %g", v, got)
		}
		for _, s := range curve.Signals {
			last := math.Pow(10, -float64(s.Decimals()))
			if got := number(t, telling.DoubtOf(s, v)); got < v-noise*last-1e-12 || got > max(last, v+last)+1e-12 {
				t.Errorf("doubt of %g %s is told as %g", v, s.Symbol(), got)
			}
		}
		if got := number(t, telling.Litres(quantity.CubicMetre(v/1000))); got > v+noise || got <= v-0.1 {
			t.Errorf("%g L are told as %g", v, got)
		}
		d := rapid.Float64Range(-1, 1).Draw(t, "d")
		plain, text := telling.Points(quantity.Share(d)), telling.Signed(quantity.Share(d))
		if got := number(t, plain); math.Abs(got-d*100) > 0.05+1e-9 {
			t.Errorf("%g points are told as %g", d*100, got)
		}
		if strings.Contains(text, "-") || strings.TrimLeft(text, "+−") != strings.TrimPrefix(plain, "-") {
			t.Errorf("%g points are told as %q, and with a sign as %q", d*100, plain, text)
		}
	})
}

func TestToLookAt(t *testing.T) {
	list := []finding.Finding{{Kind: "a"}, {Kind: "b", Weight: finding.Doubt}, {Kind: "c"}, {Kind: "d", Weight: finding.Bad}}
	if got := telling.ToLookAt(list); len(got) != 2 || got[0].Kind != "b" || got[1].Kind != "d" {
		t.Errorf("found %v", got)
	}
}

func TestGrid(t *testing.T) {
	g := telling.Grid{Head: []string{"", "a", "b"}}
	g.Add("1")
	if len(g.Rows[0]) != 3 || g.Rows[0][0] != "1" || g.Rows[0][2] != "" {
		t.Errorf("a short row became %q", g.Rows[0])
	}
	if !g.Headed() || (&telling.Grid{Head: []string{"", ""}}).Headed() {
		t.Error("a head is shown where it says something, and only there")
	}
}
