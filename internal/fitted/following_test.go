package fitted_test

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/fitted"
	"gaugewright/internal/job"
	"gaugewright/internal/watch"
)

// A gas tank of 100 L with a permitted fill of 80 %, a fridge, a lamp, a heater and a
// hob: what runs for hours is added up at its greatest, by hand: 20 + 12 g/h and
// 2.2 kW over the net heat of propane, 46.35 MJ/kg (from memory, to 1 %). The density
// of liquid propane less its vapour's at 15 °C is 507 − 16 kg/m³ (from memory).
func TestSteadyLoads(t *testing.T) {
	tk := tankOf(t, `{"name":"A","contents":"lpg","water_capacity_l":100,"permitted_fill_pct":80,"gas":{"propane":1,"by":"mass"},
		"loads":[{"name":"fridge","g_per_h":[10,20],"hours_per_day":[24,24]},
		{"name":"lamp","g_per_h":[10,12],"hours_per_day":[2,5]},
		{"name":"heater","kw":[1.8,2.2],"plate":"net","hours_per_day":[3,12]},
		{"name":"hob","kw":[1,9],"hours_per_day":[0.5,1.5]}],
		"sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":0},{"mark_pct":100,"ohm":90}]}}`)
	in, err := fitted.Of(tk)
	if err != nil {
		t.Fatal(err)
	}
	c := fitted.Following(tk, in)
	kgPerHour := 0.020 + 0.012 + 2200*3600/46.35e6
	full := in.VolumeAt(1).Mid
	want := kgPerHour / (507 - 16) / full
	if !c.Breathes || c.Fills || math.Abs(c.Steady/want-1) > 0.02 {
		t.Errorf("breathes %v, fills %v, steady %g an hour; want %g", c.Breathes, c.Fills, c.Steady, want)
	}
	if c.Content == nil || math.Abs(c.Content(1)-1) > 1e-9 || c.Content(0.5) >= 1 {
		t.Error("what the levels come to isn't known")
	}
	if !(c.Prior > 0 && c.PriorSpread >= 0.25) {
		t.Errorf("use of %g a day expected, spread %g", c.Prior, c.PriorSpread)
	}
}

// The sample jobs: gas breathes, waste fills, taps don't run for hours.
func TestFollowingOfSamples(t *testing.T) {
	for _, file := range []string{"tidewater.job.json", "hut.job.json"} {
		j, err := job.ReadFile(filepath.Join("../../docs/samples", file))
		if err != nil {
			t.Fatal(err)
		}
		for i := range j.Tanks {
			tk := &j.Tanks[i]
			in, err := fitted.Of(tk)
			if err != nil {
				t.Fatal(err)
			}
			c := fitted.Following(tk, in)
			if c.Breathes != (tk.Contents == job.LPG) || c.Fills != (tk.Contents == job.Waste) || c.Fills && c.To != 1 {
				t.Errorf("%s: breathes %v, fills %v, to %g", tk.Name, c.Breathes, c.Fills, c.To)
			}
			if tk.Contents == job.Water && c.Steady >= 0 {
				t.Errorf("%s: steady %g", tk.Name, c.Steady)
			}
			if len(tk.Loads) > 0 && in.VolumeAt(1).Mid > 0 && !(c.Prior > 0 && c.Prior < 5) {
				t.Errorf("%s: use of %g of it a day expected", tk.Name, c.Prior)
			}
			if heel, stated := tk.Heel(); stated && !c.Fills && math.Abs(c.To*in.VolumeAt(1).Mid-float64(heel)) > 1e-9 {
				t.Errorf("%s: can be drawn to %g", tk.Name, c.To)
			}
		}
	}
}

// What people state of the largest load is held against the tank.
func TestLargestLoad(t *testing.T) {
	in, err := watch.Ends(10, 180, 0.2)
	if err != nil {
		t.Fatal(err)
	}
	bare, err := watch.Ends(10, 180, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		text string
		want float64
	}{{"none", -1}, {"0.3L/h", 0.3 / 200}, {"24 L/day", 1. / 200}, {"0.5%/h", 0.005}, {"0.5 % / h", 0.005}} {
		l, err := fitted.ParseLargestLoad(test.text)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := l.Of(in); err != nil || math.Abs(got-test.want) > 1e-12 {
			t.Errorf("%s: %g, %v; want %g", test.text, got, err, test.want)
		}
	}
	l, err := fitted.ParseLargestLoad("0.3L/h")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Of(bare); err == nil {
		t.Error("litres were held against a tank whose capacity isn't known")
	}
	// A weight is led over into litres by what the contents usually weigh: water 1.00 kg/L,
	// diesel 0.84, petrol 0.74 or so, propane 0.51 (common practice, no source).
	if l, err = fitted.ParseLargestLoad("420g/h"); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Of(in); err == nil || !strings.Contains(err.Error(), "write it in litres: 0.8") || !strings.Contains(err.Error(), "0.505L/h of diesel") || !strings.Contains(err.Error(), "0.42L/h of water") {
		t.Errorf("%v", err)
	}
	for _, text := range []string{"", "3", "3L", "L/h", "-1L/h", "0%/h", "nan%/h", "infL/h", "3L/h/h"} {
		if _, err := fitted.ParseLargestLoad(text); err == nil {
			t.Errorf("%q was taken", text)
		}
	}
}
