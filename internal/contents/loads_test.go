package contents_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/contents"
)

// loadsPropane is 10 kg of propane: heating values of ISO 6976:1995 at 25 °C
// (from memory; 46.33356 and 50.32634 MJ/kg), density at 15 °C.
func loadsPropane() contents.Supply {
	return contents.Supply{Name: "gas", Left: contents.Known{Value: 10}, NetHeat: 46.33356e6, GrossHeat: 50.32634e6, Density: 507.503}
}

func loadsNear(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*max(math.Abs(want), 1e-3)) {
		t.Errorf("%s: got %.10g, want %.10g to within %g of it", what, got, want, relative)
	}
}

// The two columns of the table that presets come from, kW and g/h (common
// practice, no source), have to say the same to within their rounding.
func TestLoadsOfGasAgreeInHeatAndMass(t *testing.T) {
	grams := map[string][2]float64{
		"hob burner": {70, 220}, "oven or grill": {90, 190}, "absorption fridge": {10, 30},
		"small space heater": {160, 160}, "large space heater": {480, 480},
		"storage water heater": {60, 160}, "instant water heater": {600, 900},
		"generator, 2 kW electric": {600, 1200}, "gas lamp": {12, 20},
	}
	list := contents.GasLoads()
	if len(list) != len(grams) {
		t.Errorf("%d presets, want %d", len(list), len(grams))
	}
	s := loadsPropane()
	for _, l := range list {
		want, ok := grams[l.Name]
		if !ok {
			t.Errorf("%q isn't in the table", l.Name)
			continue
		}
		rate, err := s.Rate(l)
		if err != nil {
			t.Errorf("%s: %v", l.Name, err)
			continue
		}
		low, high := rate.Low*3.6e6, rate.High*3.6e6
		if want[0] == want[1] { // one figure in the table: the preset is a range around it
			if low > want[0] || high < want[0] {
				t.Errorf("%s: %.0f to %.0f g/h, without the table's %.0f", l.Name, low, high, want[0])
			}
			continue
		}
		loadsNear(t, l.Name+", least", low, want[0], 0.08)
		loadsNear(t, l.Name+", most", high, want[1], 0.08)
	}
}

func TestLoadsPresetsHold(t *testing.T) {
	for _, list := range [][]contents.Load{contents.GasLoads(), contents.WaterLoads(), contents.DieselLoads()} {
		for _, l := range list {
			if err := l.Check(); err != nil {
				t.Error(err)
			}
			if !l.Practice {
				t.Errorf("%s: not marked as common practice", l.Name)
			}
			if !(l.Rate.Low > 0 && l.Rate.High > l.Rate.Low) {
				t.Errorf("%s: the rate is no range: %v", l.Name, l.Rate)
			}
			if found, err := contents.LoadNamed(list, l.Name); err != nil || found != l {
				t.Errorf("%s isn't found by its name: %v", l.Name, err)
			}
		}
	}
	list := contents.GasLoads()
	list[0].Name = "changed"
	if contents.GasLoads()[0].Name == "changed" {
		t.Error("a caller can change the presets")
	}
	_, err := contents.LoadNamed(contents.WaterLoads(), "bath")
	if want := `no load is called "bath"; expected "tap", "shower" or "toilet flush"`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if _, err := contents.LoadNamed(nil, "bath"); err == nil || !strings.Contains(err.Error(), "state its rate") {
		t.Errorf("no presets at all: %v", err)
	}
}

// A plate that doesn't say takes in both: g/h per kW of propane from 71.5331
// (gross) to 77.6975 (net), recomputed from the heating values.
func TestLoadsPlate(t *testing.T) {
	s := loadsPropane()
	for _, test := range []struct {
		plate     contents.Plate
		low, high float64
	}{
		{contents.PlateUnknown, 71.5331, 77.6975}, {contents.PlateNet, 77.6975, 77.6975}, {contents.PlateGross, 71.5331, 71.5331},
	} {
		rate, err := s.Rate(contents.Load{Name: "heater", Rate: contents.Exactly(1000), Plate: test.plate})
		if err != nil {
			t.Fatal(err)
		}
		loadsNear(t, "least", rate.Low*3.6e6, test.low, 1e-5)
		loadsNear(t, "most", rate.High*3.6e6, test.high, 1e-5)
	}
}

func TestLoadsPerDay(t *testing.T) {
	gas := loadsPropane()
	water := contents.Supply{Name: "water", By: contents.ByCubicMetres, Left: contents.Known{Value: 0.1}}
	diesel := contents.Supply{Name: "diesel", By: contents.ByCubicMetres, Left: contents.Known{Value: 0.02}, Density: 830, NetHeat: 43e6, GrossHeat: 45.6e6}
	for name, test := range map[string]struct {
		supply    contents.Supply
		load      contents.Load
		low, high float64
	}{
		"heat":           {gas, contents.Load{Rate: contents.Between{Low: 1000, High: 3000}, Plate: contents.PlateNet, HoursPerDay: contents.Between{Low: 1, High: 2}}, 3.6e6 / 46.33356e6, 3 * 7.2e6 / 46.33356e6},
		"mass":           {gas, contents.Load{Kind: contents.KilogramsPerSecond, Rate: contents.Exactly(0.13 / 3600), HoursPerDay: contents.Exactly(10)}, 1.3, 1.3},
		"two of them":    {gas, contents.Load{Kind: contents.KilogramsPerSecond, Rate: contents.Exactly(0.13 / 3600), HoursPerDay: contents.Exactly(10), Count: 2}, 2.6, 2.6},
		"every other":    {gas, contents.Load{Kind: contents.KilogramsPerSecond, Rate: contents.Exactly(0.13 / 3600), HoursPerDay: contents.Exactly(10), DaysShare: contents.Exactly(0.5)}, 0.65, 0.65},
		"litres of gas":  {gas, contents.Load{Kind: contents.CubicMetresPerDay, Rate: contents.Exactly(0.001)}, 0.507503, 0.507503},
		"shower":         {water, contents.Load{Kind: contents.CubicMetresPerSecond, Rate: contents.Between{Low: 4e-3 / 60, High: 8e-3 / 60}, HoursPerDay: contents.Exactly(0.1)}, 0.024, 0.048},
		"flush":          {water, contents.Load{Kind: contents.CubicMetresPerUse, Rate: contents.Exactly(0.0005), UsesPerDay: contents.Between{Low: 4, High: 6}}, 0.002, 0.003},
		"diesel by heat": {diesel, contents.Load{Rate: contents.Exactly(2000), Plate: contents.PlateNet, HoursPerDay: contents.Exactly(1)}, 7.2e6 / 43e6 / 830, 7.2e6 / 43e6 / 830},
	} {
		got, err := test.supply.PerDay(test.load)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		loadsNear(t, name+", least", got.Low, test.low, 1e-12)
		loadsNear(t, name+", most", got.High, test.high, 1e-12)
	}
}

func TestLoadsRefused(t *testing.T) {
	gas := loadsPropane()
	noHeat := contents.Supply{Name: "water", By: contents.ByCubicMetres, Left: contents.Known{Value: 0.1}, Density: 999}
	bare := contents.Supply{Name: "water", By: contents.ByCubicMetres, Left: contents.Known{Value: 0.1}}
	one := contents.Exactly
	for want, test := range map[string]struct {
		supply contents.Supply
		load   contents.Load
	}{
		"the rate of hob is 3 to 1 kW; expected the lower figure first":     {gas, contents.Load{Name: "hob", Rate: contents.Between{Low: 3000, High: 1000}}},
		"the rate of hob is -1 kW; expected 0 to 100000 kW":                 {gas, contents.Load{Name: "hob", Rate: one(-1000)}},
		"the rate of hob isn't a number; expected 0 to 100000 kW":           {gas, contents.Load{Name: "hob", Rate: one(math.NaN())}},
		"the rate of hob isn't a number; expected 0 to 600000 L/min":        {gas, contents.Load{Name: "hob", Kind: contents.CubicMetresPerSecond, Rate: one(math.Inf(1))}},
		"the hours per day of hob is 25 h; expected 0 to 24 h":              {gas, contents.Load{Name: "hob", Rate: one(1), HoursPerDay: one(25)}},
		"the share of days of hob is 50 to 150%; expected 0 to 100%":        {gas, contents.Load{Name: "hob", Rate: one(1), DaysShare: contents.Between{Low: 0.5, High: 1.5}}},
		"hob is there -1 times; expected 1 to 1000":                         {gas, contents.Load{Name: "hob", Rate: one(1), Count: -1}},
		"by the use and has hours per day":                                  {bare, contents.Load{Name: "flush", Kind: contents.CubicMetresPerUse, Rate: one(1), HoursPerDay: one(1)}},
		"by the day and has hours or uses per day":                          {bare, contents.Load{Name: "tap", Kind: contents.CubicMetresPerDay, Rate: one(1), HoursPerDay: one(1)}},
		"by the hour and has uses per day":                                  {bare, contents.Load{Name: "tap", Kind: contents.CubicMetresPerSecond, Rate: one(1), UsesPerDay: one(1)}},
		"its rate isn't heat":                                               {gas, contents.Load{Name: "lamp", Kind: contents.KilogramsPerSecond, Plate: contents.PlateNet}},
		"kettle is counted in kW, and the water has no heating value":       {noHeat, contents.Load{Name: "kettle", Rate: one(1000)}},
		"kettle is counted in kW or g/h and the water in litres":            {bare, contents.Load{Name: "kettle", Rate: one(1000)}},
		"tap is counted in litres and the gas in kilograms; state the dens": {contents.Supply{Name: "gas", Left: contents.Known{Value: 1}}, contents.Load{Name: "tap", Kind: contents.CubicMetresPerDay, Rate: one(1)}},
		"the amount of gas that is left is -1 kg; expected 0":               {contents.Supply{Name: "gas", Left: contents.Known{Value: -1}}, contents.Load{Name: "hob"}},
		"the amount of gas that is left isn't a number":                     {contents.Supply{Name: "gas", Left: contents.Known{Value: math.NaN()}}, contents.Load{Name: "hob"}},
		"the uncertainty of the amount of gas that is left is -1 kg":        {contents.Supply{Name: "gas", Left: contents.Known{Value: 1, U: -1}}, contents.Load{Name: "hob"}},
		"the heel of supply is 2 to 1 L; expected the lower figure first":   {contents.Supply{By: contents.ByCubicMetres, Heel: contents.Between{Low: 0.002, High: 0.001}}, contents.Load{Name: "hob"}},
		"gross no less than net":                                            {contents.Supply{NetHeat: 50e6, GrossHeat: 46e6}, contents.Load{Name: "hob"}},
		"the density of supply is -1 kg/m³; expected 1 to 25000":            {contents.Supply{Density: -1}, contents.Load{Name: "hob"}},
	} {
		if _, err := test.supply.PerDay(test.load); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q in it", err, want)
		}
		if _, err := contents.Lasts(test.supply, []contents.Load{test.load}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Lasts: got %v, want %q in it", err, want)
		}
	}
	if !slices.ContainsFunc(contents.WaterLoads(), func(l contents.Load) bool {
		_, err := noHeat.Rate(l)
		return err != nil && strings.Contains(err.Error(), "no rate while it runs")
	}) {
		t.Error("a flush has a rate while it runs")
	}
}
