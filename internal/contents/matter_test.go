package contents_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/quantity"
)

func matterOf(t testing.TB, name string) contents.Matter {
	t.Helper()
	m, err := contents.MatterOf(name)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func matterNear(got contents.Range, low, mid, high, off float64) bool {
	return math.Abs(got.Low-low) <= off && math.Abs(got.Mid-mid) <= off && math.Abs(got.High-high) <= off
}

// The limits of the standards, each at its own temperature. EN 590 and
// ISO 22241-1 as reprinted in public, EN 228 and EN 15940 from memory; waste is
// common practice, no source.
func TestMatterLimits(t *testing.T) {
	for _, test := range []struct {
		name      string
		kind      contents.Kind
		standard  string
		celsius   float64
		low, high float64
	}{
		{"diesel", contents.KindDiesel, "EN 590", 15, 820, 845},
		{"HVO", contents.KindDiesel, "EN 15940", 15, 765, 800},
		{"petrol", contents.KindPetrol, "EN 228", 15, 720, 775},
		{"DEF", contents.KindOther, "ISO 22241-1", 20, 1087, 1093},
		{"AUS 32", contents.KindOther, "ISO 22241-1", 20, 1087, 1093},
		{"grey-water", contents.KindWaste, "", 15, 1000, 1020},
		{"Black Water", contents.KindWaste, "", 15, 1000, 1020},
		{"waste", contents.KindWaste, "", 15, 1000, 1020},
		{"water", contents.KindWater, "", 15, 999.1026, 999.1026},
	} {
		m := matterOf(t, test.name)
		d, err := m.Density(quantity.Celsius(test.celsius))
		if err != nil || m.Kind != test.kind || m.Standard != test.standard || !matterNear(d, test.low, (test.low+test.high)/2, test.high, 0.0001) {
			t.Errorf("%s: %s by %q, %+v, %v", test.name, m.Kind, m.Standard, d, err)
		}
		if m.Mark == "" || len(m.Cautions) == 0 {
			t.Errorf("%s has no mark or no cautions", test.name)
		}
	}
	// Every kind of contents that a job may name and that has a density.
	for _, kind := range []contents.Kind{contents.KindWater, contents.KindDiesel, contents.KindPetrol, contents.KindWaste} {
		if m := matterOf(t, string(kind)); m.Kind != kind {
			t.Errorf("%s is of the kind %s", kind, m.Kind)
		}
	}
}

func TestMatterRefuses(t *testing.T) {
	for name, want := range map[string]string{
		"lpg":   "lpg has no density of its own; state what it is mixed of",
		"other": `no liquid called "other" is known; expected one of: water, diesel, paraffinic diesel, petrol, urea solution, grey water, black water, waste; or state its density`,
	} {
		if m, err := contents.MatterOf(name); err == nil || err.Error() != want || m.Name != "" {
			t.Errorf("%s: %v, want %s", name, err, want)
		}
	}
	for _, test := range []struct {
		name    string
		celsius float64
		want    string
	}{
		{"diesel", 95, "the temperature of the diesel fuel is 95 °C; its density is known from −40 °C to 90 °C"},
		{"water", -5, "the temperature of the water is −5 °C, where it freezes; its density is known from 0 °C to 100 °C"},
		{"def", -12, "the temperature of the urea solution (AUS 32) is −12 °C, where it freezes; its density is known from −11.5 °C to 60 °C"},
		{"petrol", math.NaN(), "the temperature of the petrol is no number; its density is known from −40 °C to 90 °C"},
	} {
		m, at := matterOf(t, test.name), quantity.Celsius(test.celsius)
		for what, err := range map[string]error{
			"Density": matterError(m.Density(at)), "Head": matterError(m.Head(at)), "Mass": matterError(m.Mass(1, at)),
			"Volume": matterError(m.Volume(1, at)), "Heat": matterError(m.Heat(1, at)), "Brim": matterError(m.Brim(0.5, at)),
			"Change from": matterError(m.Change(1, at, quantity.Celsius(20))), "Change to": matterError(m.Change(1, quantity.Celsius(20), at)),
			"Measured": matterError(m.Measured(m.Base.Mid, at)),
		} {
			if err == nil || err.Error() != test.want {
				t.Errorf("%s.%s: %v, want %s", test.name, what, err, test.want)
			}
		}
	}
}

func matterError[T any](_ T, err error) error { return err }

// Diesel at 832.5 kg/m³ and 40 °C: α = 594.5418/832.5² = 8.57857e-4 1/K, 25 K of
// it are x = 0.0214464, and exp(−x·(1 + 0.8·x)) = 0.978422; by hand.
func TestMatterFigures(t *testing.T) {
	diesel := matterOf(t, "diesel")
	d, err := diesel.Density(quantity.Celsius(40))
	if err != nil || math.Abs(d.Mid-832.5*0.978422) > 0.001 || !(d.Low < d.Mid && d.Mid < d.High) {
		t.Errorf("%+v, %v", d, err)
	}
	mass, err := diesel.Mass(0.060, quantity.Celsius(15))
	if err != nil || !matterNear(mass, 49.2, 49.95, 50.7, 1e-9) {
		t.Errorf("60 L weigh %+v kg, %v", mass, err)
	}
	heat, err := diesel.Heat(0.001, quantity.Celsius(15))
	// The directive that has 43 MJ/kg has 36 MJ/L beside it, in whole MJ.
	if err != nil || !(heat.Low < 36e6 && heat.High > 36e6) {
		t.Errorf("a litre of diesel gives %+v J, %v", heat, err)
	}
	petrol, err := matterOf(t, "petrol").Heat(0.001, quantity.Celsius(15))
	if err != nil || !(petrol.Low < 32e6 && petrol.High > 32e6) {
		t.Errorf("a litre of petrol gives %+v J, %v", petrol, err)
	}
	if water, err := matterOf(t, "water").Heat(0.001, quantity.Celsius(15)); err != nil || water != (contents.Range{}) {
		t.Errorf("a litre of water gives %+v J, %v", water, err)
	}
	head, err := matterOf(t, "water").Head(quantity.Celsius(20))
	if err != nil || math.Abs(head.Mid-9789.068) > 0.01 {
		t.Errorf("a metre of water presses with %+v Pa, %v", head, err)
	}
	if k := d.Known(); math.Abs(k.Value-(d.Low+d.High)/2) > 1e-9 || math.Abs(k.Half-(d.High-d.Low)/2) > 1e-9 || k.U != 0 {
		t.Errorf("%+v from %+v", k, d)
	}
}

func TestMatterMeasured(t *testing.T) {
	diesel := matterOf(t, "diesel")
	at := quantity.Celsius(4)
	m, err := diesel.Measured(838, at)
	if err != nil {
		t.Fatal(err)
	}
	d, err := m.Density(at)
	if err != nil || !matterNear(d, 838, 838, 838, 1e-6) || m.Mark != "measured" || len(m.Cautions) != len(diesel.Cautions) {
		t.Errorf("%+v, %+v, %v", m, d, err)
	}
	heavy, err := diesel.Measured(880, at)
	if err != nil || len(heavy.Cautions) != len(diesel.Cautions)+1 || !strings.Contains(heavy.Cautions[len(heavy.Cautions)-1], "make sure of what is in the tank") {
		t.Errorf("%v, %v", heavy.Cautions, err)
	}
	if again := matterOf(t, "diesel"); !slices.Equal(again.Cautions, diesel.Cautions) {
		t.Error("a measured density changed the list")
	}
	_, err = diesel.Measured(0.838, at) // kg/L
	if err == nil || !strings.Contains(err.Error(), "the density of the diesel fuel is 0.838 kg/m³ at 4 °C; expected about 828 to 853 kg/m³") {
		t.Error(err)
	}
	salt, err := matterOf(t, "water").Measured(1025, quantity.Celsius(20))
	if err != nil || len(salt.Cautions) != 2 {
		t.Fatal(salt.Cautions, err)
	}
	if d, err := salt.Density(quantity.Celsius(20)); err != nil || math.Abs(d.Mid-1025) > 1e-9 {
		t.Error(d, err)
	}
	urea, err := matterOf(t, "def").Measured(1100, quantity.Celsius(0))
	if d, e := urea.Density(quantity.Celsius(0)); err != nil || e != nil || !matterNear(d, 1100, 1100, 1100, 1e-9) {
		t.Error(d, err, e)
	}
}

// What is warmed keeps its mass, whatever it is of those in the range; ends stay
// in order; there and back again is where it was.
func TestMatterLaws(t *testing.T) {
	all := contents.Matters()
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(all).Draw(t, "matter")
		draw := func(name string) quantity.Kelvin { return quantity.Celsius(rapid.Float64Range(0, 60).Draw(t, name)) }
		from, to := draw("from"), draw("to")
		v := rapid.Float64Range(0, 1).Draw(t, "m³")
		a, err1 := m.Density(from)
		b, err2 := m.Density(to)
		c, err3 := m.Change(quantity.CubicMetre(v), from, to)
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(err1, err2, err3)
		}
		for _, r := range []contents.Range{a, b, c.After, c.Grown, c.Part} {
			if !(r.Low <= r.Mid && r.Mid <= r.High) {
				t.Fatalf("%s: %+v isn't in order", m.Name, r)
			}
		}
		// The middle one keeps its mass to the last figures.
		if math.Abs(v*a.Mid-c.After.Mid*b.Mid) > 1e-9*(1+v*a.Mid) {
			t.Fatalf("%s: %v kg became %v kg", m.Name, v*a.Mid, c.After.Mid*b.Mid)
		}
		if back, err := m.Change(quantity.CubicMetre(c.After.Mid), to, from); err != nil || math.Abs(back.After.Mid-v) > 1e-12 {
			t.Fatalf("%s: %v m³ came back as %v, %v", m.Name, v, back.After.Mid, err)
		}
		mass, err := m.Mass(quantity.CubicMetre(v), from)
		if err != nil {
			t.Fatal(err)
		}
		if room, err := m.Volume(quantity.Kilogram(mass.Mid), from); err != nil || math.Abs(room.Mid-v) > 1e-12 || room.Low > v*(1+1e-12) || room.High < v*(1-1e-12) {
			t.Fatalf("%s: %v m³ weigh %v kg, which take %+v", m.Name, v, mass.Mid, room)
		}
	})
}

// Of a change of 5e-12 °C the last digit of the middle one once lay above the high one.
func TestMatterOfNearlyNoChange(t *testing.T) {
	c, err := matterOf(t, "diesel").Change(1, quantity.Celsius(7.275957614183426e-12), quantity.Celsius(1.8189894035458565e-12))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []contents.Range{c.After, c.Grown, c.Part} {
		if !(r.Low <= r.Mid && r.Mid <= r.High) {
			t.Errorf("%+v isn't in order", r)
		}
	}
}

func TestMatterChangeSentence(t *testing.T) {
	petrol := matterOf(t, "petrol")
	c, err := petrol.Change(0.050, quantity.Celsius(10), quantity.Celsius(40))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Grown.High*1000-grownByHand(720)) > 1e-9 || math.Abs(c.Grown.Low*1000-grownByHand(775)) > 1e-9 {
		t.Errorf("%+v, by hand %v and %v", c.Grown, grownByHand(775), grownByHand(720))
	}
	if got, want := c.Sentence(quantity.Units{}), "From 10 °C to 40 °C, 50 L of petrol grow by "; !strings.HasPrefix(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	c, err = petrol.Change(0.050, quantity.Celsius(10), quantity.Celsius(-20))
	if got := c.Sentence(quantity.Units{Temperature: "F"}); err != nil || !strings.HasPrefix(got, "From 50 °F to −4 °F, 50 L of petrol shrink by ") {
		t.Errorf("%q, %v", got, err)
	}
	for _, v := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := petrol.Change(quantity.CubicMetre(v), 283, 293); err == nil {
			t.Errorf("%v m³ were warmed", v)
		}
	}
}

func TestMatterBrim(t *testing.T) {
	petrol := matterOf(t, "petrol")
	b, err := petrol.Brim(0.98, quantity.Celsius(10))
	if err != nil || !(b.Earliest > b.At && b.Earliest < b.Latest) {
		t.Fatalf("%+v, %v", b, err)
	}
	// At that temperature the lightest fuel has grown to just the whole tank, and
	// none has grown beyond it before.
	c, err := petrol.Change(0.98, quantity.Celsius(10), b.Earliest)
	if err != nil || math.Abs(c.After.High-1) > 1e-9 || c.After.Low >= 1 {
		t.Errorf("%+v, %v", c.After, err)
	}
	c, err = petrol.Change(0.98, quantity.Celsius(10), b.Latest)
	if err != nil || math.Abs(c.After.Low-1) > 1e-9 {
		t.Errorf("%+v, %v", c.After, err)
	}
	text := b.Sentence(quantity.Units{})
	for _, part := range []string{"Filled to 98 % at 10 °C, the petrol can stand at the brim from 25 °C", "This is no mark to fill up to"} {
		if !strings.Contains(text, part) {
			t.Errorf("%q isn't in %q", part, text)
		}
	}
	b, err = petrol.Brim(1, quantity.Celsius(10))
	if err != nil || b.Earliest != b.At || !strings.Contains(b.Sentence(quantity.Units{}), "runs over as soon as") {
		t.Errorf("%+v, %v, %q", b, err, b.Sentence(quantity.Units{}))
	}
	b, err = petrol.Brim(0.5, quantity.Celsius(10))
	if text = b.Sentence(quantity.Units{}); err != nil || b.Earliest != 0 || b.Latest != 0 || !strings.Contains(text, "no mark to fill up to") {
		t.Errorf("%+v, %v, %q", b, err, text)
	}
	for _, filled := range []float64{0, -0.1, 1.0001, math.NaN()} {
		if _, err := petrol.Brim(quantity.Share(filled), quantity.Celsius(10)); err == nil {
			t.Errorf("a tank was filled to %v", filled)
		}
	}
}

// Filled fuller, a tank runs over sooner; the lightest liquid does before the
// densest, and none before it was filled.
func TestMatterBrimLaws(t *testing.T) {
	all := contents.Matters()
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(all).Draw(t, "matter")
		at := quantity.Celsius(rapid.Float64Range(0, 50).Draw(t, "°C"))
		filled := rapid.Float64Range(0.9, 1).Draw(t, "filled")
		more := rapid.Float64Range(filled, 1).Draw(t, "more")
		reach := func(filled float64) (float64, float64) {
			b, err := m.Brim(quantity.Share(filled), at)
			if err != nil {
				t.Fatal(err)
			}
			never := func(k quantity.Kelvin) float64 {
				if k == 0 {
					return math.Inf(1)
				}
				return float64(k)
			}
			return never(b.Earliest), never(b.Latest)
		}
		first, last := reach(filled)
		if first > last+1e-9 || first < float64(at) {
			t.Fatalf("%s filled to %v at %v: %v to %v K", m.Name, filled, at, first, last)
		}
		if sooner, _ := reach(more); sooner > first+1e-9 {
			t.Fatalf("%s: filled to %v it is full at %v K, to %v at %v K", m.Name, filled, first, more, sooner)
		}
	})
}

func FuzzMatterOf(f *testing.F) {
	for _, seed := range []string{"water", "AUS 32", "lpg", "LPG ", "", "grey-water", "Ω", strings.Repeat("x", 100)} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, name string) {
		m, err := contents.MatterOf(name)
		if (err == nil) == (m.Name == "") {
			t.Fatalf("%q: %q, %v", name, m.Name, err)
		}
		if err == nil && m.Kind == contents.KindLPG {
			t.Fatalf("%q is LPG", name)
		}
	})
}

// grownByHand is what 50 L of petrol of a density at 15 °C grow by in litres from
// 10 to 40 °C, from the formula written down once more.
func grownByHand(base float64) float64 {
	alpha := 346.4228/base/base + 0.4388/base
	if base > 770.5 {
		alpha = 2680.3206/base/base - 0.00336312
	}
	cold, warm := -5*alpha, 25*alpha
	return 50 * (math.Exp(warm*(1+0.8*warm)-cold*(1+0.8*cold)) - 1)
}
