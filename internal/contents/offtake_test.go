package contents_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
)

// offtakeFrost is a tank of propane at −10 °C with 0.3 m² of wet wall.
func offtakeFrost() contents.Offtake {
	return contents.Offtake{Ambient: 263.15, Wetted: contents.Exactly(0.3), Boiling: contents.MixBoiling(contents.Mix{Propane: 1}), NetHeat: 46.33356e6}
}

// By hand: 131.325 kPa lies between the vapour pressures of propane at −40
// (111.1212 kPa) and −30 °C (167.8322), by ln p straight in 1/T at −36.05 °C; the
// heat of vaporisation (423.355 and 412.409 kJ/kg) is 419.03 kJ/kg there. Then
// 8·0.3·26.05/419030 = 0.14920 g/s = 0.5371 kg/h, and 15/8 of that.
func TestOfftakeByHand(t *testing.T) {
	g, err := offtakeFrost().Steady()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(g.Coldest-(273.15-36.05)) > 0.1 {
		t.Errorf("coldest at %.3f °C, want about -36.05", g.Coldest-273.15)
	}
	loadsNear(t, "heat", g.Heat, 419.03e3, 0.001)
	loadsNear(t, "least", g.Rate.Low*3600, 0.5371, 0.004)
	loadsNear(t, "most", g.Rate.High*3600, 0.5371*15/8, 0.004)
	loadsNear(t, "least power", g.Power.Low, 0.5371/3600*46.33356e6, 0.004)
	p, _, _ := offtakeFrost().Boiling(g.Coldest)
	loadsNear(t, "pressure there", p, 131_325, 1e-7)
	for _, want := range []string{"8 to 15 W/(m²·K)", "common practice, no source", "0.3 m²", "-10 °C", "1.31 bar absolute", "-36"} {
		if !strings.Contains(strings.Join(g.Assumptions, "\n"), want) {
			t.Errorf("no %q among the assumptions %q", want, g.Assumptions)
		}
	}
	if len(g.Findings) != 0 {
		t.Errorf("findings: %v", g.Findings)
	}
}

// Butane in frost, and what is held at the cold end of the properties.
func TestOfftakeEnds(t *testing.T) {
	o := offtakeFrost()
	o.Boiling = contents.MixBoiling(contents.Mix{NButane: 1})
	g, err := o.Steady()
	if err != nil || g.Rate != (contents.Between{}) || g.Power != (contents.Between{}) || finding.Worst(g.Findings) != finding.Bad {
		t.Errorf("butane at -10 °C: %+v, %v", g, err)
	}
	if text := g.Sentence(o.Ambient, 0.8, "heater", contents.Exactly(0.16/3600)); text != "At −10 °C with 80 % left it gives no vapour to speak of; the heater needs 0.16 kg/h: not enough. An estimate." {
		t.Error(text)
	}
	o = offtakeFrost()
	o.Needed, o.Mixed = 101_325, true
	g, err = o.Steady()
	if err != nil || g.Coldest != 233.15 || !strings.Contains(strings.Join(g.Assumptions, "\n"), "no colder than -40 °C") {
		t.Errorf("held at -40 °C: %+v, %v", g, err)
	}
	if len(g.Findings) != 1 || g.Findings[0].Kind != "mixed" {
		t.Errorf("a mixture: %v", g.Findings)
	}
	o.Needed = 2e6 // more than propane has anywhere
	if b, err := o.Burst(contents.Exactly(1e-5), contents.Exactly(5), contents.Exactly(0), 0); err != nil || b != (contents.Burst{}) {
		t.Errorf("no pressure from the beginning: %+v, %v", b, err)
	}
}

func TestOfftakeSentence(t *testing.T) {
	g := contents.Give{Rate: contents.Between{Low: 0.21 / 3600, High: 0.39 / 3600}}
	for _, test := range []struct {
		low, high float64
		want      contents.Verdict
		says      string
	}{
		{0.16, 0.16, contents.Enough, "the heater needs 0.16 kg/h: enough. An estimate."},
		{0.18, 0.18, contents.EnoughJust, "the heater needs 0.18 kg/h: enough, just. An estimate."},
		{0.14, 0.24, contents.MayFail, "the heater needs 0.14 to 0.24 kg/h: perhaps not enough. An estimate."},
		{0.35, 0.35, contents.MayFail, "perhaps not enough"},
		{0.48, 0.48, contents.NotEnough, "not enough"},
	} {
		need := contents.Between{Low: test.low / 3600, High: test.high / 3600}
		if got := g.Covers(need); got != test.want {
			t.Errorf("%v: %v, want %v", need, got, test.want)
		}
		text := g.Sentence(263.15, 0.2, "heater", need)
		if !strings.HasPrefix(text, "At −10 °C with 20 % left it can give about 0.2 to 0.4 kg/h; ") || !strings.Contains(text, test.says) {
			t.Errorf("%q, want %q", text, test.says)
		}
	}
	g.Rate = contents.Between{Low: 0.033 / 3600, High: 0.0612 / 3600}
	if text := g.Sentence(278.15, 0.05, "heater", contents.Exactly(0)); !strings.HasPrefix(text, "At 5 °C with 5 % left it can give about 0.03 to 0.07 kg/h") {
		t.Error(text)
	}
}

func TestOfftakeRefuses(t *testing.T) {
	for want, change := range map[string]func(*contents.Offtake){
		"the temperature of the air is -60 °C; expected -40 to 60 °C":   func(o *contents.Offtake) { o.Ambient = 213.15 },
		"the temperature of the air is NaN °C":                          func(o *contents.Offtake) { o.Ambient = math.NaN() },
		"the wetted wall is -1 m²; expected 0":                          func(o *contents.Offtake) { o.Wetted = contents.Exactly(-1) },
		"the heat through the wall is 15 to 8 W/(m²·K); expected the":   func(o *contents.Offtake) { o.Wall = contents.Between{Low: 15, High: 8} },
		"the regulator needs is 0.003 bar absolute; expected 0.1 to":    func(o *contents.Offtake) { o.Needed = 300 },
		"the net heating value is 46 J/kg; expected":                    func(o *contents.Offtake) { o.NetHeat = 46 },
		"the pressure is -1 Pa and the heat of vaporisation 1 J/kg; ex": func(o *contents.Offtake) { o.Boiling = func(float64) (float64, float64, error) { return -1, 1, nil } },
	} {
		o := offtakeFrost()
		change(&o)
		if g, err := o.Steady(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %+v, %v; want %q", g, err, want)
		}
	}
	one := contents.Exactly(1)
	for want, burst := range map[string]func() (contents.Burst, error){
		"the burn is -3600000 g/h; expected 0":             func() (contents.Burst, error) { return offtakeFrost().Burst(contents.Exactly(-1), one, one, 0) },
		"the liquid in the tank is -1 kg; expected 0":      func() (contents.Burst, error) { return offtakeFrost().Burst(one, contents.Exactly(-1), one, 0) },
		"the steel of the tank isn't a number":             func() (contents.Burst, error) { return offtakeFrost().Burst(one, one, contents.Exactly(math.NaN()), 0) },
		"the gas begins at -100 °C; expected -40 to 60 °C": func() (contents.Burst, error) { return offtakeFrost().Burst(one, one, one, 173.15) },
	} {
		if b, err := burst(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %+v, %v; want %q", b, err, want)
		}
	}
}

// Without a wall the whole heat comes from the store: 10 kg of liquid at 2200
// J/(kg·K) and 20 kg of steel at 450 at the least, from −10 to the coldest.
func TestBurstOfTheStoreAlone(t *testing.T) {
	o := offtakeFrost()
	o.Wetted = contents.Exactly(0)
	g, err := o.Steady()
	if err != nil {
		t.Fatal(err)
	}
	burn := 2.0 / 3600
	b, err := o.Burst(contents.Exactly(burn), contents.Exactly(10), contents.Exactly(20), 0)
	if err != nil {
		t.Fatal(err)
	}
	// With C the store that is left, dC = −ṁ·c·dt and C·dT = −ṁ·h·dt, so that
	// dT = h/c · dC/C, and C = C₀·exp(−c·fall/h).
	fall := 263.15 - g.Coldest
	least, most := 10*2200+20*450.0, 10*2700+20*500.0
	loadsNear(t, "least", (10-burn*b.Time.Low)*2200+20*450, least*math.Exp(-2200*fall/g.Heat), 1e-9)
	loadsNear(t, "most", (10-burn*b.Time.High)*2700+20*500, most*math.Exp(-2700*fall/g.Heat), 1e-9)
	if simple := least * fall / (burn * g.Heat); b.Time.Low >= simple || b.Time.Low < 0.8*simple {
		t.Errorf("%v s; if the liquid grew no less it would be %v", b.Time.Low, simple)
	}
	if b.Sustained || b.MaySustain {
		t.Errorf("%+v", b)
	}
}

// Colder or emptier never gives more; a greater burn never goes on for longer; a
// burn that the wall alone can feed goes on until the liquid is used up.
func TestOfftakeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		propane := rapid.Float64Range(0, 1).Draw(t, "propane")
		o := contents.Offtake{Boiling: contents.MixBoiling(contents.Mix{Propane: propane, NButane: 1 - propane}), Ambient: rapid.Float64Range(240, 320).Draw(t, "air")}
		capacity, level := rapid.Float64Range(0.01, 3).Draw(t, "m³"), rapid.Float64Range(0, 1).Draw(t, "level")
		wet := func(level float64) contents.Between {
			a, err := contents.WettedLying(capacity, level)
			if err != nil {
				t.Fatal(err)
			}
			return contents.Exactly(a)
		}
		steady := func(o contents.Offtake) contents.Give {
			g, err := o.Steady()
			if err != nil {
				t.Fatal(err)
			}
			return g
		}
		o.Wetted = wet(level)
		g := steady(o)
		emptier, colder := o, o
		emptier.Wetted = wet(level * rapid.Float64Range(0, 1).Draw(t, "emptier"))
		colder.Ambient -= rapid.Float64Range(0, 6).Draw(t, "colder")
		for what, less := range map[string]contents.Offtake{"emptier": emptier, "colder": colder} {
			if l := steady(less); l.Rate.Low > g.Rate.Low || l.Rate.High > g.Rate.High {
				t.Fatalf("%s gives more: %v, before %v", what, l.Rate, g.Rate)
			}
		}
		liquid, burn := contents.Exactly(500*capacity*level), contents.Between{Low: 1e-5, High: rapid.Float64Range(1e-5, 1e-2).Draw(t, "burn")}
		burst := func(o contents.Offtake, burn contents.Between) contents.Burst {
			b, err := o.Burst(burn, liquid, contents.Between{Low: 0, High: 300 * capacity}, 0)
			if err != nil {
				t.Fatal(err)
			}
			return b
		}
		b, more := burst(o, burn), burst(o, contents.Between{Low: 2 * burn.Low, High: 2 * burn.High})
		if more.Time.Low > b.Time.Low || more.Time.High > b.Time.High || b.Time.Low > b.Time.High {
			t.Fatalf("twice the burn goes on for %v, the single for %v", more.Time, b.Time)
		}
		if burn.High <= g.Rate.Low && g.Coldest < o.Ambient && (!b.Sustained || math.Abs(b.Time.Low-liquid.Low/burn.High) > 1e-6*b.Time.Low) {
			t.Fatalf("%v from what gives %v without end: %+v", burn, g.Rate, b)
		}
		if b.Time.Low > liquid.Low/burn.High*(1+1e-12) {
			t.Fatalf("%v s of %v kg/s from %v kg", b.Time.Low, burn.High, liquid.Low)
		}
	})
}

// A half-full lying cylinder is wet on half of its wall: with D the diameter and
// 3D the length, half of 3πD² + πD²/2, and V = 3πD³/4.
func TestWettedLying(t *testing.T) {
	const d = 0.3
	capacity := 3 * math.Pi * d * d * d / 4
	whole := 3.5 * math.Pi * d * d
	for level, want := range map[float64]float64{0: 0, 0.5: whole / 2, 1: whole} {
		got, err := contents.WettedLying(capacity, level)
		if err != nil || math.Abs(got-want) > 1e-9 {
			t.Errorf("level %v: %v, %v; want %v", level, got, err, want)
		}
	}
	// A fifth of the volume is at h/D = 0.254069083618 (the inverse of the segment
	// formula to 12 digits): the arc is 2·acos(1 − 2·0.254069083618) of a radian.
	got, err := contents.WettedLying(capacity, 0.2)
	want := d / 2 * 2 * math.Acos(1-2*0.254069083618) * 3 * d
	if want += 0.2 * math.Pi * d * d / 2; err != nil || math.Abs(got-want) > 1e-9 {
		t.Errorf("a fifth: %v, %v; want %v", got, err, want)
	}
	for _, bad := range [][2]float64{{0, 0.5}, {math.NaN(), 0.5}, {1, -0.1}, {1, 1.1}, {1, math.NaN()}} {
		if a, err := contents.WettedLying(bad[0], bad[1]); err == nil {
			t.Errorf("%v: %v", bad, a)
		}
	}
}

// offtakeCylinder is a lying cylinder of many facets with flat ends, its axis
// along x and its bottom at z = 0.
func offtakeCylinder(d, length float64, n int) (corners [][3]float64, triangles [][3]int) {
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		for _, x := range []float64{0, length} {
			corners = append(corners, [3]float64{x, d / 2 * s, d/2 + d/2*c})
		}
	}
	corners = append(corners, [3]float64{0, 0, d / 2}, [3]float64{length, 0, d / 2})
	for i := range n {
		a, b, j := 2*i, 2*i+1, (i+1)%n
		c, e := 2*j, 2*j+1
		triangles = append(triangles, [3]int{a, c, b}, [3]int{b, c, e}, [3]int{2 * n, c, a}, [3]int{2*n + 1, b, e})
	}
	return corners, triangles
}

func TestWettedMesh(t *testing.T) {
	corners, triangles := offtakeCylinder(0.3, 0.9, 720)
	capacity := math.Pi * 0.09 / 4 * 0.9
	for _, test := range [][2]float64{{0.2, 0.254069083618}, {0.05, 0.0973081817399}, {0.8, 0.745930916382}} { // level and h/D
		want, err := contents.WettedLying(capacity, test[0])
		if err != nil {
			t.Fatal(err)
		}
		got, err := contents.WettedMesh(corners, triangles, [3]float64{0, 0, 2}, test[1]*0.3)
		if err != nil || math.Abs(got/want-1) > 2e-4 {
			t.Errorf("level %v: %v, %v; want %v", test[0], got, err, want)
		}
	}
	// A plane and the same from above share out the whole surface, whatever the
	// direction.
	whole, err := contents.WettedMesh(corners, triangles, [3]float64{0, 0, 1}, 10)
	if err != nil || math.Abs(whole/(math.Pi*0.3*0.9+math.Pi*0.09/2)-1) > 1e-4 {
		t.Errorf("whole: %v, %v", whole, err)
	}
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.Float64Range(-1, 1)
		up := [3]float64{part.Draw(t, "x"), part.Draw(t, "y"), 0.1 + math.Abs(part.Draw(t, "z"))}
		level := part.Draw(t, "level")
		below, err := contents.WettedMesh(corners, triangles, up, level)
		if err != nil {
			t.Fatal(err)
		}
		above, err := contents.WettedMesh(corners, triangles, [3]float64{-up[0], -up[1], -up[2]}, -level)
		if err != nil || math.Abs(below+above-whole) > 1e-9 {
			t.Fatalf("%v below and %v above make %v, %v", below, above, whole, err)
		}
	})
	for want, bad := range map[string]func() (float64, error){
		"expected a direction": func() (float64, error) { return contents.WettedMesh(corners, triangles, [3]float64{}, 0) },
		"triangle 0 has corner 9": func() (float64, error) {
			return contents.WettedMesh(corners[:3], [][3]int{{0, 1, 9}}, [3]float64{0, 0, 1}, 0)
		},
		"corner 0 isn't at a place": func() (float64, error) {
			return contents.WettedMesh([][3]float64{{math.NaN(), 0, 0}}, nil, [3]float64{0, 0, 1}, 0)
		},
	} {
		if a, err := bad(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, %v; want %q", a, err, want)
		}
	}
}
