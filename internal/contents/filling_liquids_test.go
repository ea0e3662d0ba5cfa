package contents_test

import (
	"strings"
	"testing"

	"gaugewright/internal/contents"
)

// By hand: 131.325 kPa of propane (44.0956 g/mol) at 15 °C, ideal, has 131325 ·
// 0.0440956/(8.314463·288.15) = 2.41706 kg/m³. The saturated vapour is 3.0 at
// −36.05 °C, between 2.63262 (−40) and 3.86688 (−30 °C).
func TestMixHeel(t *testing.T) {
	heel, err := contents.MixHeel(contents.Mix{Propane: 1}, 0.054, 288.15, 0)
	if err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "ideal", heel.Low, 0.054*2.41706, 1e-5)
	loadsNear(t, "saturated", heel.High, 0.054*3.08, 0.01)
	for want, err := range map[string]error{
		"the water capacity is 0 L":               filling2(contents.MixHeel(contents.Mix{Propane: 1}, 0, 288.15, 0)),
		"LPG is reckoned from":                    filling2(contents.MixHeel(contents.Mix{Propane: 1}, 1, 100, 0)),
		"expected 0.1 to 20 bar":                  filling2(contents.MixHeel(contents.Mix{Propane: 1}, 1, 288.15, 5)),
		"the mass fractions add up to 0; they":    filling2(contents.MixHeel(contents.Mix{}, 1, 288.15, 0)),
		"the amount of gas that is left is -1 kg": filling2(contents.MixSupply(contents.Mix{Propane: 1}, contents.Known{Value: -1}, contents.Between{})),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

func filling2[T any](_ T, err error) error { return err }

func TestSupplies(t *testing.T) {
	gas, err := contents.MixSupply(contents.Mix{Propane: 1}, contents.Known{Value: 10}, contents.Between{})
	if err != nil {
		t.Fatal(err)
	}
	want := loadsPropane()
	loadsNear(t, "net", gas.NetHeat, want.NetHeat, 1e-5)
	loadsNear(t, "gross", gas.GrossHeat, want.GrossHeat, 1e-5)
	loadsNear(t, "density", gas.Density, want.Density, 1e-4)
	diesel, err := contents.MatterOf("diesel")
	if err != nil {
		t.Fatal(err)
	}
	s, err := contents.MatterSupply(diesel, contents.Known{Value: 0.02}, contents.Between{}, 288.15)
	if err != nil || s.By != contents.ByCubicMetres || s.Density < 820 || s.Density > 845 || s.NetHeat == 0 || s.GrossHeat <= s.NetHeat {
		t.Errorf("diesel: %+v, %v", s, err)
	}
	// 20 L for a heater of 0.1 to 0.5 L/h: 40 to 200 h, and 95 % of it within.
	burn, err := contents.BurnTime(s, contents.DieselLoads()[0])
	if err != nil {
		t.Fatal(err)
	}
	lastsEstimate(t, "diesel", burn.Hours(), contents.Estimate{Low: 20 / 0.49, Mid: 20 / 0.3, High: 20 / 0.11}, 1e-9)
	water, err := contents.MatterOf("water")
	if err != nil {
		t.Fatal(err)
	}
	l, v, err := contents.MatterDensities(water)(288.15)
	if err != nil || v != 0 {
		t.Errorf("water: %v, %v, %v", l, v, err)
	}
	loadsNear(t, "water at 15 °C", l, 999.1026, 1e-4) // IAPWS-95
	if s, err = contents.MatterSupply(water, contents.Known{Value: 0.1}, contents.Between{}, 288.15); err != nil || s.NetHeat != 0 {
		t.Errorf("water: %+v, %v", s, err)
	}
	if _, err := contents.MatterSupply(water, contents.Known{Value: 0.1}, contents.Between{}, 200); err == nil {
		t.Error("water at -73 °C")
	}
}
