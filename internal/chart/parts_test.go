package chart_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/chart"

	"pgregory.net/rapid"
)

func TestStep125(t *testing.T) {
	for _, c := range []struct {
		span float64
		most int
		want float64
	}{
		{100, 10, 10}, {100, 9, 20}, {100, 4, 50}, {101, 10, 20}, {1, 10, 0.1}, {0.3, 5, 0.1},
		{240, 10, 50}, {7, 7, 1}, {1e9, 10, 1e8}, {10, 1, 10}, {11, 1, 20},
	} {
		if got := chart.Step125(c.span, c.most); math.Abs(got-c.want) > 1e-9*c.want {
			t.Errorf("a span of %g in at most %d parts: step %g, want %g", c.span, c.most, got, c.want)
		}
	}
}

func TestDivisions(t *testing.T) {
	for _, c := range []struct {
		lo, hi, pixels float64
		upright        bool
		want           string
	}{
		{0, 100, 500, false, "0 10 20 30 40 50 60 70 80 90 100"},
		{0, 100, 180, false, "0 20 40 60 80 100"},
		{0, 100, 60, true, "0 50 100"},
		{33, 240, 300, true, "40 60 80 100 120 140 160 180 200 220 240"},
		{-0.2, 0.2, 300, false, "−0.2 −0.1 0.0 0.1 0.2"},
		{5, 5, 300, true, "4.9995 4.9996 4.9997 4.9998 4.9999 5.0000 5.0001 5.0002 5.0003 5.0004 5.0005"},
	} {
		_, figures, _ := chart.Divisions(c.lo, c.hi, c.pixels, c.upright)
		if got := strings.Join(figures, " "); got != c.want {
			t.Errorf("%g to %g over %g pixels: %s; want %s", c.lo, c.hi, c.pixels, got, c.want)
		}
	}
}

// Whatever the range, figures are in order, keep clear of each other, and are
// steps of 1, 2 or 5 apart.
func TestDivisionsLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-chart.Limit, chart.Limit).Draw(t, "lo")
		hi := lo + math.Pow(10, rapid.Float64Range(-4, 9).Draw(t, "size"))
		pixels := rapid.Float64Range(60, 900).Draw(t, "pixels")
		values, figures, closest := chart.Divisions(lo, hi, pixels, false)
		if len(values) > 13 {
			t.Fatalf("%d figures", len(values))
		}
		if closest < 2 {
			t.Fatalf("divisions %g pixels apart", closest)
		}
		for i := 1; i < len(values); i++ {
			if figures[i] == figures[i-1] {
				t.Fatalf("%s stands at %g and at %g", figures[i], values[i-1], values[i])
			}
			step := values[i] - values[i-1]
			lead := step / math.Pow(10, math.Floor(math.Log10(step)+1e-6))
			if math.Abs(lead-1) > 1e-3 && math.Abs(lead-2) > 1e-3 && math.Abs(lead-5) > 1e-3 {
				t.Fatalf("step %g", step)
			}
		}
	})
}

// The strokes of a hatching, each as wide as their distance, cover the area:
// that of a triangle is known from school, and strokes along x + y lie
// gap/√2 apart.
func TestHatchCoversTheArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(0, 600)
		var p [3]chart.Point
		for i := range p {
			p[i] = chart.Point{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y")}
		}
		area := math.Abs((p[1].X-p[0].X)*(p[2].Y-p[0].Y)-(p[2].X-p[0].X)*(p[1].Y-p[0].Y)) / 2
		sum, longest := 0.0, 0.0
		for _, s := range chart.Hatching(p[:]) {
			l := math.Hypot(s[1].X-s[0].X, s[1].Y-s[0].Y)
			sum, longest = sum+l, max(longest, l)
			if d := (s[1].X + s[1].Y) - (s[0].X + s[0].Y); math.Abs(d) > 1e-6 {
				t.Fatalf("a stroke isn't at 45°: %v", s)
			}
		}
		apart := chart.HatchGap / math.Sqrt2
		// A triangle's section along the strokes rises straight to that through its
		// middle corner and falls straight. The sum of such a section, step by step,
		// differs from its integral by no more than its greatest times the step:
		// where it only rises or only falls each step's area lies between its two
		// ends, and those differences add up to the greatest. The greatest may lie
		// between two strokes, so it is known by the area: half of greatest by width.
		sums := []float64{p[0].X + p[0].Y, p[1].X + p[1].Y, p[2].X + p[2].Y}
		width := (slices.Max(sums) - slices.Min(sums)) / math.Sqrt2
		if width < 1e-6 {
			return // hardly an area: the strokes' ends are then rounding alone
		}
		if greatest := 2 * area / width; longest > greatest+1e-6 || math.Abs(sum*apart-area) > greatest*apart+1e-6 {
			t.Fatalf("strokes cover %g of an area of %g (longest %g of %g)", sum*apart, area, longest, greatest)
		}
	})
}

func TestStraightenedStaysNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 200).Draw(t, "n")
		points := make([]chart.Point, n)
		for i := range points {
			points[i] = chart.Point{X: float64(i) * 3, Y: rapid.Float64Range(0, rapid.SampledFrom([]float64{0.05, 1, 300}).Draw(t, "size")).Draw(t, "y")}
		}
		kept := chart.Straight(points)
		if kept[0] != points[0] || kept[len(kept)-1] != points[n-1] {
			t.Fatal("an end was lost")
		}
		k := 0
		for _, p := range points {
			for kept[k+1].X < p.X {
				k++
			}
			a, b := kept[k], kept[k+1]
			if d := math.Abs(p.Y - a.Y - (p.X-a.X)/(b.X-a.X)*(b.Y-a.Y)); d > 0.0501 {
				t.Fatalf("%v lies %g off", p, d)
			}
		}
	})
}

func TestLettering(t *testing.T) {
	long := "a very long label that nobody would write on purpose"
	cut := chart.Fitted(long, 12, 100)
	if !strings.HasSuffix(cut, "…") || chart.TextWidth(cut, 12) > 100 {
		t.Errorf("cut to 100 pixels: %q, %g wide", cut, chart.TextWidth(cut, 12))
	}
	if got := chart.Fitted("short", 12, 100); got != "short" {
		t.Errorf("short text came out as %q", got)
	}
	lines := chart.Wrapped("81 Ω stands for 100 % of the scale", 12, 80, 2)
	if len(lines) != 2 || strings.HasSuffix(lines[0], "…") || !strings.HasSuffix(lines[1], "…") {
		t.Errorf("two lines of 80 pixels: %q", lines)
	}
	if got := chart.Wrapped("", 12, 80, 2); len(got) != 0 {
		t.Errorf("nothing became %q", got)
	}
}

func TestPrefix(t *testing.T) {
	d := chart.DrawColumn(sampleColumn())
	for _, bad := range []string{"", "1a", "A", "a b", `a"`, "a<", "ä"} {
		if err := d.Inline(&bytes.Buffer{}, bad); err == nil {
			t.Errorf("the prefix %q was taken", bad)
		}
	}
	var b bytes.Buffer
	if err := d.Inline(&b, "tank-1"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`id="tank-1-title"`, `id="tank-1-desc"`, `aria-labelledby="tank-1-title tank-1-desc"`, `role="img"`, `class="gw-drawing gw-gas"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in the drawing", want)
		}
	}
}

// A column whose level isn't known doesn't look like one that is empty.
func TestColumnOfUnknownLevel(t *testing.T) {
	written := func(change func(*chart.Column)) string {
		c := sampleColumn()
		change(&c)
		var b bytes.Buffer
		if err := chart.DrawColumn(c).Inline(&b, "tank-1"); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	const crossed, words = "gw-strike", ">no level</text>"
	unknown := written(func(c *chart.Column) { c.Level, c.Unknown = nil, "no level" })
	for _, want := range []string{crossed, words, "no level is known"} {
		if !strings.Contains(unknown, want) {
			t.Errorf("no %q in the drawing of an unknown level", want)
		}
	}
	if strings.Contains(unknown, "gw-level") || strings.Contains(unknown, "gw-liquid") {
		t.Error("a level is drawn that isn't known")
	}
	for name, other := range map[string]string{
		"known": written(func(c *chart.Column) { c.Unknown = "no level" }),
		"empty": written(func(c *chart.Column) { c.Level.Mark = 0 }),
	} {
		if strings.Contains(other, crossed) || strings.Contains(other, words) {
			t.Errorf("%s: the tube is crossed out", name)
		}
	}
}

func TestUnknownAccentIsPlain(t *testing.T) {
	if got := chart.Accent(`x" onload="`).Class(); got != "gw-plain" {
		t.Errorf("class %q", got)
	}
	if !slices.Contains(strings.Fields(chart.CSS()), ".gw-plain{--gw-accent:#525d69}") {
		t.Error("the plain accent has no rule")
	}
}

// Text keeps a contrast of 4.5 to 1 and lines that carry meaning 3 to 1, by
// the formula of WCAG 2.2 (relative luminance and contrast ratio).
func TestContrast(t *testing.T) {
	luminance := func(hex string) float64 {
		sum := 0.0
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			digit := func(c byte) int { return strings.IndexByte("0123456789abcdef", c) }
			v := float64(digit(hex[1+2*i])*16+digit(hex[2+2*i])) / 255
			if v <= 0.04045 {
				v /= 12.92
			} else {
				v = math.Pow((v+0.055)/1.055, 2.4)
			}
			sum += weight * v
		}
		return sum
	}
	for _, dark := range []bool{false, true} {
		tone := chart.Tones(dark)
		for name, least := range map[string]float64{"ink": 7, "muted": 4.5, "plain": 3, "water": 3, "fuel": 3, "gas": 3, "waste": 3} {
			for _, ground := range []string{"paper", "sheet"} {
				a, b := luminance(tone[name]), luminance(tone[ground])
				if ratio := (max(a, b) + 0.05) / (min(a, b) + 0.05); ratio < least {
					t.Errorf("dark %v: %s on %s has a contrast of %.2f, want %g", dark, name, ground, ratio, least)
				}
			}
		}
	}
}
