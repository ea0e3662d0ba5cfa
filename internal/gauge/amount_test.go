package gauge_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// propane15 is propane at 15 °C: densities of saturated liquid and vapour from
// the reference equation of Lemmon, McLinden and Wagner, J. Chem. Eng. Data 54
// (2009) 3141, solved with other software; heating values of ISO 6976:1995 at
// 25 °C over the molar mass.
var propane15 = gauge.Matter{Density: gauge.Density{Liquid: 507.5033, Vapour: 15.8129}, Net: 46.33356e6, Gross: 50.32634e6}

func near(t *testing.T, what string, found, want, within float64) {
	t.Helper()
	if !(math.Abs(found-want) <= within) {
		t.Errorf("%s: found %.9g, expected %.9g", what, found, want)
	}
}

// By the same equation, independently: 80 % of 54 L is 21.924141 kg of liquid and
// the vapour adds 0.170779 kg; 15.000 kg in 54 L stand at 53.2784 %, 0.3990 kg of
// it vapour.
func TestAmountOfPropane(t *testing.T) {
	a := propane15.Amount(0.054, 0.8, 0.01)
	near(t, "litres", a.Volume.Mid*1000, 43.2, 1e-9)
	near(t, "± litres", a.Volume.U*1000, 0.54, 1e-9)
	near(t, "liquid", a.Mass.Mid-a.Vapour, 21.924141, 5e-6)
	near(t, "vapour", a.Vapour, 0.170779, 1e-6)
	near(t, "± kg", a.Mass.U, 0.54*(0.5075033-0.0158129), 1e-9)
	near(t, "kWh net", a.Net.Mid/3.6e6, (21.924141+0.170779)*12.87043, 1e-3)
	near(t, "kWh gross", a.Gross.Mid/3.6e6, (21.924141+0.170779)*50.32634/3.6, 1e-3)
	near(t, "± of the heat, as of the mass", a.Net.U/a.Net.Mid, a.Mass.U/a.Mass.Mid, 1e-12)
	if !a.Weighs || !a.Burns {
		t.Error("neither weighs nor burns")
	}
	share, ok := propane15.ShareOf(0.054, 15)
	if near(t, "15 kg stand at", float64(share), 0.532784, 1e-6); !ok {
		t.Error("no share")
	}
	near(t, "vapour with 15 kg", propane15.Amount(0.054, share, 0).Vapour, 0.3990, 5e-5)
}

// What isn't known is not told as nothing.
func TestAmountUnknown(t *testing.T) {
	for _, c := range []struct {
		matter        gauge.Matter
		capacity      quantity.CubicMetre
		weighs, burns bool
	}{
		{gauge.Matter{}, 0.05, false, false},
		{gauge.Matter{Density: gauge.Density{Liquid: 999}}, 0.05, true, false},
		{propane15, 0, false, false},
		{propane15, 0.05, true, true},
	} {
		a := c.matter.Amount(c.capacity, 0.5, 0.01)
		if a.Weighs != c.weighs || a.Burns != c.burns || !a.Weighs && a.Mass != (gauge.Figure{}) || !a.Burns && a.Net != (gauge.Figure{}) {
			t.Errorf("%+v in %v: %+v", c.matter, c.capacity, a)
		}
		if _, ok := c.matter.ShareOf(c.capacity, 3); ok != c.weighs {
			t.Errorf("%+v in %v: a share is told: %v", c.matter, c.capacity, ok)
		}
	}
}

// The doubt of the kilograms and of the heat against draws of level, density and
// heating value.
func TestAmountAgainstDraws(t *testing.T) {
	m := gauge.Matter{Density: gauge.Density{Liquid: 832}, UDensity: 0.012, Net: 42.6e6, Gross: 45.4e6, UHeat: 0.01}
	const n = 400_000
	random := rand.New(rand.NewPCG(5, 15))
	var mass, heat [2]float64
	for range n {
		density, share := 832*(1+0.012*random.NormFloat64()), 0.4+0.02*random.NormFloat64()
		kg := density * 0.06 * share
		e := kg * 42.6e6 * (1 + 0.01*random.NormFloat64())
		mass[0], mass[1] = mass[0]+kg, mass[1]+kg*kg
		heat[0], heat[1] = heat[0]+e, heat[1]+e*e
	}
	sd := func(s [2]float64) float64 { return math.Sqrt(s[1]/n - s[0]/n*s[0]/n) }
	a := m.Amount(0.06, 0.4, 0.02)
	near(t, "± kg", a.Mass.U, sd(mass), 0.01*a.Mass.U)
	near(t, "± J", a.Net.U, sd(heat), 0.01*a.Net.U)
}

// There and back, and never more than the tank holds.
func TestAmountLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(low, high float64, name string) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		m := gauge.Matter{Density: gauge.Density{Liquid: draw(400, 1200, "liquid"), Vapour: draw(0, 60, "vapour")}, Net: 1e7, Gross: 1e7}
		capacity := quantity.CubicMetre(draw(1e-3, 10, "capacity"))
		share := draw(-0.5, 1.5, "share")
		a := m.Amount(capacity, quantity.Share(share), quantity.Share(draw(0, 0.2, "u")))
		if a.Volume.Mid < 0 || a.Volume.Mid > float64(capacity) || a.Mass.Low() < 0 || a.Mass.High() < a.Mass.Mid {
			t.Fatalf("%+v", a)
		}
		back, ok := m.ShareOf(capacity, quantity.Kilogram(a.Mass.Mid))
		if !ok || math.Abs(float64(back-a.Share)) > 1e-9 {
			t.Fatalf("%v goes to %v kg and back to %v", a.Share, a.Mass.Mid, back)
		}
	})
}

// A weighed tank on every scale: 54 L of propane at 15 °C hold 0.853897 kg of
// vapour with no liquid, and 27.405178 kg full; so 80 % stand at
// 0.853897 + 0.8·26.551281 = 22.094922 kg.
func TestWeighed(t *testing.T) {
	f, err := gauge.Weighed(0.054, propane15.Density)
	if err != nil {
		t.Fatal(err)
	}
	if f.Words != "by the kilograms weighed, liquid and vapour" {
		t.Errorf("says %q", f.Words)
	}
	s, err := scale.Through(scale.Fill, f, 0.8, 0, 0, 30, false)
	if err != nil {
		t.Fatal(err)
	}
	_, full := s.Ends()
	near(t, "100 %", full, 22.094922, 1e-5)
	near(t, "half of it", float64(s.Target((0.853897+22.094922)/2)), 0.5, 1e-6)
	near(t, "the tank at 15 kg", f.Share(15), 0.532784, 1e-6)
	near(t, "nothing", f.Share(0), 0, 0)

	water, err := gauge.Weighed(0.09, gauge.Density{Liquid: 999.1})
	if err != nil || water.Words != "by the kilograms weighed" {
		t.Fatal(err, water.Words)
	}
	near(t, "water", water.Share(44.9595), 0.5, 1e-9)

	for says, d := range map[string]gauge.Density{
		"the liquid is the heavier one": {Liquid: 10, Vapour: 20},
		"0 kg/m³ for the liquid":        {},
		"NaN":                           {Liquid: math.NaN()},
	} {
		if _, err := gauge.Weighed(0.05, d); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
	if _, err := gauge.Weighed(0, propane15.Density); err == nil || !strings.Contains(err.Error(), "water capacity") {
		t.Error(err)
	}
}

// The part of the tank at a level, on every scale, against the formula of the
// lying cylinder; and the dial's own scale of a tank of which only the capacity is
// known.
func TestInside(t *testing.T) {
	f, err := gauge.Filling(lyingTank(t), nil, curve.Height)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := scale.New(scale.Mark, 1, 0, 0.3, false)
	if err != nil {
		t.Fatal(err)
	}
	in, err := gauge.NewInside(plain, f)
	if err != nil {
		t.Fatal(err)
	}
	share, u := in.OfLevel(0.25, 0.01)
	near(t, "a quarter of the height", float64(share), 0.195501109478, 1e-9)
	// The formula's slope is (8/π)·√(x − x²) at a part x of the height, so 0.01 of
	// the height is 0.01·(8/π)·√(3/16) of the volume.
	near(t, "and its doubt", float64(u), 0.01*8/math.Pi*math.Sqrt(3.0/16), 1e-5)
	near(t, "back", float64(in.LevelOf(share)), 0.25, 1e-9)
	for _, c := range []struct {
		kind        scale.Kind
		bottom, top float64
	}{{scale.Volume, 0, 1}, {scale.Fill, 0, 0.8}, {scale.Usable, 0.03, 0.8}} {
		s, err := scale.Through(c.kind, f, 0.8, 0.03, 0, 0.3, false)
		if err != nil {
			t.Fatal(err)
		}
		if in, err = gauge.NewInside(s, f); err != nil {
			t.Fatal(err)
		}
		share, u := in.OfLevel(0.6, 0.02)
		near(t, string(c.kind), float64(share), c.bottom+0.6*(c.top-c.bottom), 1e-9)
		near(t, string(c.kind)+", its doubt", float64(u), 0.02*(c.top-c.bottom), 1e-9)
		near(t, string(c.kind)+", back", float64(in.LevelOf(share)), 0.6, 1e-6)
		near(t, string(c.kind)+", the capacity", float64(in.Capacity())*1000, 56.54866776, 1e-7)
	}
}
