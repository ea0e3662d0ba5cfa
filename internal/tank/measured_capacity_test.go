package tank_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

func outsideBox(wall tank.Size) tank.Outside {
	return tank.Outside{Dimensions: tank.Dimensions{Form: tank.BoxForm,
		Length: tank.Tape(0.81, 0.002), Width: tank.Tape(0.51, 0.002), Height: tank.Tape(0.31, 0.002)}, Wall: wall}
}

// By hand: 810 × 510 × 310 mm outside, 5 mm of wall: 800 × 500 × 300 mm, 120 L;
// u/V = √((2/800)² + (2/500)² + (2/300)²) = 0.81671 %.
func TestMeasuredCapacityByHand(t *testing.T) {
	c, err := tank.MeasuredCapacity(outsideBox(tank.Tape(0.005, 0)), 0.119)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(c.Measured)-0.12) > 1e-12 || math.Abs(float64(c.U)/0.12-0.0081671) > 1e-6 {
		t.Errorf("%s ± %v; want 120 L ± 0.98 L", c.Measured, float64(c.U))
	}
	if want := 0.001 / math.Hypot(0.12*0.0081671, 0.00119); math.Abs(c.Sigmas-want) > 1e-4 {
		t.Errorf("%v standard uncertainties; want %v", c.Sigmas, want)
	}
	for _, e := range c.Explanations {
		if e.Kind == "agrees" && math.Abs(e.Off+c.Sigmas) > 1e-9 {
			t.Errorf("off by %v in the explanation, %v in the difference", e.Off, -c.Sigmas)
		}
	}
	// 80 % of it would be 96 L; 119 L are off by 23 of √(0.784² + 1.19²).
	for _, e := range c.Explanations {
		if want := 0.023 / math.Hypot(0.8*0.12*0.0081671, 0.00119); e.Kind == "80-percent" && math.Abs(e.Off-want) > 1e-3 {
			t.Errorf("80 %%: off by %v; want %v", e.Off, want)
		}
	}
	if want := "By the tape the tank holds 120.0 ± 2.0 L; stated are 119 L. The two agree."; len(c.Findings) != 1 || c.Findings[0].Text != want {
		t.Errorf("%+v; want %q", c.Findings, want)
	}
	// The wall's own doubt: dV/dw = −2·(LW + LH + WH) = −1.58 m²; 0.5 mm are 0.79 L.
	c, err = tank.MeasuredCapacity(outsideBox(tank.Tape(0.005, 0.0005)), 0.119)
	if want := math.Hypot(0.12*0.0081671, 1.58*0.0005); err != nil || math.Abs(float64(c.U)-want) > 1e-6 {
		t.Errorf("%v, %v; want %v", float64(c.U), err, want)
	}
}

// The odds of two reasons by hand: of a stated 105 L, 120 L ± 0.98 L by the tape,
// 80 % of which are 96 L ± 0.78 L, and 1.05 L for round figures.
func TestMeasuredCapacityOdds(t *testing.T) {
	c, err := tank.MeasuredCapacity(outsideBox(tank.Tape(0.005, 0)), 0.105)
	if err != nil {
		t.Fatal(err)
	}
	p := map[string]float64{}
	for _, e := range c.Explanations {
		p[e.Kind] = e.Probability
	}
	u := 0.12 * math.Sqrt(math.Pow(2.0/800, 2)+math.Pow(2.0/500, 2)+math.Pow(2.0/300, 2))
	density := func(mean, u float64) float64 {
		s := math.Hypot(u, 0.00105)
		return math.Exp(-math.Pow((0.105-mean)/s, 2)/2) / s
	}
	if got, want := p["80-percent"]/p["agrees"], density(0.096, 0.8*u)/density(0.12, u); math.Abs(got/want-1) > 1e-6 {
		t.Errorf("odds of %v; want %v", got, want)
	}
}

// A capacity that was made by one of the reasons is put down to it.
func TestMeasuredCapacityReasons(t *testing.T) {
	wall := tank.Tape(0.005, 0.0003)
	lying := tank.Outside{Dimensions: tank.Dimensions{Form: tank.LyingForm, Diameter: tank.Tape(0.306, 0.001), Length: tank.Tape(0.956, 0.002)}, Wall: tank.Tape(0.003, 0.0003)}
	// Inside 300 mm across and 950 mm long over all; 2:1 ends are 75 mm deep each.
	bulged := math.Pi/4*0.09*0.8 + math.Pi/12*0.027
	for _, c := range []struct {
		name   string
		tank   tank.Outside
		stated float64
		kind   string
		asks   string
	}{
		{"80 %", outsideBox(wall), 0.096, "80-percent", "what may be filled, 80 % of the water capacity?"},
		{"US gallons as litres", outsideBox(wall), 0.120 / 3.785411784, "us-gallons-as-litres", "US gallons, written as litres?"},
		{"imperial gallons as litres", outsideBox(wall), 0.120 / 4.54609, "imperial-gallons-as-litres", "imperial gallons, written as litres?"},
		{"imperial for US", outsideBox(wall), 0.120 * 1.20095, "us-taken-for-imperial", "with the imperial gallon?"},
		// 810 × 510 × 310 mm are 128.06 L.
		{"outside", outsideBox(wall), 0.128, "outside-as-inside", "without the wall?"},
		// 60 mm at the four edges: 0.858407·0.06²·0.3 = 0.927 L too little to see;
		// of 100 mm 2.575 L, seen with a tape of 0.3 mm.
		{"corners", tank.Outside{Dimensions: tank.Dimensions{Form: tank.BoxForm, Length: tank.Tape(0.31, 0.0002), Width: tank.Tape(0.31, 0.0002), Height: tank.Tape(0.31, 0.0002)}, Wall: tank.Tape(0.005, 0)},
			0.027 - (4-math.Pi)*0.0064*0.3, "rounded-corners", "Are the upright edges rounded"},
		{"ends", lying, bulged, "bulged-ends", "Are the ends bulged rather than flat?"},
	} {
		got, err := tank.MeasuredCapacity(c.tank, quantity.CubicMetre(c.stated))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		sum := 0.0
		for _, e := range got.Explanations {
			sum += e.Probability
		}
		last := got.Findings[len(got.Findings)-1]
		if got.Explanations[0].Kind != c.kind || last.Kind != tank.KindAsksFitter || !strings.Contains(last.Text, c.asks) || !strings.HasSuffix(strings.TrimSuffix(last.Text, " Look for the water capacity on the plate."), "?") {
			t.Errorf("%s: %+v\n%+v; want %s, asking %q", c.name, got.Explanations, last, c.kind, c.asks)
		}
		if math.Abs(sum-1) > 1e-12 || math.Abs(got.Sigmas) < 2 || got.Findings[0].Kind != tank.KindCapacityDiffers {
			t.Errorf("%s: probabilities sum to %v, %v standard uncertainties, %+v", c.name, sum, got.Sigmas, got.Findings)
		}
	}
	got, err := tank.MeasuredCapacity(outsideBox(wall), 0.060)
	if err != nil || got.Findings[1].Kind != tank.KindNoneExplains || finding.Worst(got.Findings) != finding.Doubt {
		t.Errorf("half of it: %+v, %v", got, err)
	}
	// u of the tape 1.088 L, of the stated 0.6 L: 60 L are 48.3 of both.
	if want := "By the tape the tank holds 120.0 ± 2.2 L; stated are 60 L: the tape gives 60.0 L more, 48.3 standard uncertainties."; !strings.HasPrefix(got.Findings[0].Text, want) {
		t.Errorf("%q; want %q", got.Findings[0].Text, want)
	}
}

// Without a known wall its thickness is part of the doubt.
func TestMeasuredCapacityUnknownWall(t *testing.T) {
	c, err := tank.MeasuredCapacity(outsideBox(tank.Size{}), 0.121)
	if err != nil {
		t.Fatal(err)
	}
	// Half the way from 1 to 8 mm, give or take 7/√12 mm of about 1.6 m².
	if math.Abs(float64(c.Measured)-0.1208) > 0.0003 || math.Abs(float64(c.U)-math.Hypot(0.00098, 1.59*0.007/math.Sqrt(12))) > 2e-4 {
		t.Errorf("%s ± %v", c.Measured, float64(c.U))
	}
	if c.Findings[0].Kind != tank.KindCapacityAgrees {
		t.Errorf("%+v", c.Findings)
	}
	// A ball of a tank: a lying cylinder without a straight part.
	ball := tank.Outside{Dimensions: tank.Dimensions{Form: tank.LyingForm, Heads: 0.999, Diameter: tank.Tape(0.4, 0.001), Length: tank.Tape(0.4, 0.001)}, Wall: tank.Tape(0.002, 0)}
	b, err := tank.MeasuredCapacity(ball, 0.0325)
	if want := math.Pi / 6 * math.Pow(0.396, 3); err != nil || math.Abs(float64(b.Measured)/want-1) > 0.001 {
		t.Errorf("%s, %v; want about %v", b.Measured, err, want)
	}
}

func TestMeasuredCapacityRefuses(t *testing.T) {
	missing := outsideBox(tank.Size{})
	missing.Width = tank.Size{}
	long := tank.Outside{Dimensions: tank.Dimensions{Form: tank.LyingForm, Heads: 1, Diameter: tank.Tape(0.4, 0.001), Length: tank.Tape(0.3, 0.001)}}
	for _, c := range []struct {
		tank   tank.Outside
		stated float64
		say    string
	}{
		{outsideBox(tank.Size{}), 0, "stated capacity is 0 L"},
		{outsideBox(tank.Size{}), math.NaN(), "stated capacity is NaN"},
		{missing, 0.1, "the width of the box wasn't measured; expected all of length, width and height"},
		{outsideBox(tank.Tape(0.1, 0)), 0.1, "the wall is 100 mm thick"},
		{long, 0.1, "the bulged ends take up 400 mm"},
	} {
		if _, err := tank.MeasuredCapacity(c.tank, quantity.CubicMetre(c.stated)); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%+v, %v: %v; want %q", c.tank, c.stated, err, c.say)
		}
	}
}
