package fitted_test

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/circuit"
	"gaugewright/internal/curve"
	"gaugewright/internal/fitted"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// steady asks an instrument about one value, by a sender that stands still.
func steady(t *testing.T, in *watch.Instrument, signal watch.Signal, value float64, tilt *watch.Tilt) watch.Level {
	t.Helper()
	w, err := watch.New(watch.Config{Tank: "tank", Instrument: in})
	if err != nil {
		t.Fatal(err)
	}
	var l watch.Level
	for i := range 400 {
		l = w.Take(watch.Reading{Tank: "tank", Time: time.Unix(1772352000+int64(10*i), 0), Signal: signal, Value: value, Tilt: tilt})
	}
	return l
}

// The sample jobs, read as the bench's own computation reads them.
func TestAgreesWithTheBench(t *testing.T) {
	for _, file := range []string{"tidewater.job.json", "hut.job.json"} {
		j, err := job.ReadFile(filepath.Join("../../docs/samples", file))
		if err != nil {
			t.Fatal(err)
		}
		for i := range j.Tanks {
			tk := &j.Tanks[i]
			t.Run(file+"/"+tk.Name, func(t *testing.T) { agrees(t, tk) })
		}
	}
}

func agrees(t *testing.T, tk *job.Tank) {
	in, err := fitted.Of(tk)
	if err != nil {
		t.Fatal(err)
	}
	c, err := tk.Curve()
	if err != nil {
		t.Fatal(err)
	}
	s, err := tk.Scale()
	if err != nil {
		t.Fatal(err)
	}
	g := gauge.Gauge{Curve: c, Scale: s}
	added := 0.0
	if tk.Wire != nil && !tk.Wire.Through && c.Signal() == curve.Ohms {
		run, err := tk.Wire.Run()
		if err != nil {
			t.Fatal(err)
		}
		a, err := run.Added()
		if err != nil {
			t.Fatal(err)
		}
		added = a.Ohm
	}
	least, most := c.Range()
	compared := 0
	const looks = 40
	for k := range looks + 1 {
		ohm := least + quantity.Ohm(k)/looks*(most-least)
		want := g.At(ohm, curve.Continue)
		if want.Highest-want.Lowest > 0 {
			continue // the edge of a dead stretch
		}
		l := steady(t, in, fitted.SignalOf(tk), float64(ohm)+added, nil)
		if !l.Shown {
			t.Errorf("%s: no level: %s", c.Signal().Text(ohm), l.Reason(nil))
			continue
		}
		compared++
		if e := math.Abs(float64(l.Share - want.Share)); e > 1e-4 {
			t.Errorf("%s: %.4f %%, the gauge has %.4f %%", c.Signal().Text(ohm), 100*l.Share, 100*want.Share)
		}
		held := want.Share <= 0 || want.Share >= 1 // the doubt of what is held has one side
		if !held && l.U < want.U*99/100-1e-4 {
			t.Errorf("%s: u %.4f %%, the gauge has %.4f %%", c.Signal().Text(ohm), 100*l.U, 100*want.U)
		}
		level, err := tk.AtOhm(ohm)
		if err != nil {
			continue // no litres are known; looked at in TestLacks
		}
		// On its scale a level is held at the permitted fill; the bench goes on.
		if held {
			continue
		}
		amount, _ := tk.Amount(level)
		if v0 := tk.Capacity(); v0 > 0 && math.Abs(l.Volume.Mid-amount.Volume.Mid) > 2e-4*float64(v0) {
			t.Errorf("%s: %.3f L, the bench has %.3f L", c.Signal().Text(ohm), 1000*l.Volume.Mid, 1000*amount.Volume.Mid)
		}
		if amount.Weighs && math.Abs(l.Mass.Mid-amount.Mass.Mid) > 2e-4*float64(tk.Capacity())*1000 {
			t.Errorf("%s: %.3f kg, the bench has %.3f kg", c.Signal().Text(ohm), l.Mass.Mid, amount.Mass.Mid)
		}
	}
	if compared < looks/2 {
		t.Errorf("%d levels compared", compared)
	}
}

// volts, milliamps, a wire and lacks: tanks invented for the test.
const pair = `{"version":2,"number":"J-9","tanks":[%s]}`

func tankOf(t *testing.T, text string) *job.Tank {
	t.Helper()
	j, err := job.Read(strings.NewReader(fmt.Sprintf(pair, text)), "test")
	if err != nil {
		t.Fatal(err)
	}
	return &j.Tanks[0]
}

func TestSignals(t *testing.T) {
	for _, test := range []struct {
		name, tank string
		at         float64
		want       float64 // percent
	}{
		{"volts", `{"name":"A","contents":"water","water_capacity_l":100,"sender":{},"bench":{"readings":[{"mark_pct":0,"volt":0.5},{"mark_pct":50,"volt":2.5},{"mark_pct":100,"volt":4.5}]}}`, 1.5, 25},
		{"milliamps", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"milliamp":4},{"mark_pct":100,"milliamp":20}]}}`, 8, 25},
		{"falling", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":240},{"mark_pct":100,"ohm":33}]}}`, 136.5, 50},
	} {
		t.Run(test.name, func(t *testing.T) {
			tk := tankOf(t, test.tank)
			in, err := fitted.Of(tk)
			if err != nil {
				t.Fatal(err)
			}
			l := steady(t, in, fitted.SignalOf(tk), test.at, nil)
			if !l.Shown || math.Abs(100*float64(l.Share)-test.want) > 0.01 {
				t.Errorf("%g: %.3f %%, shown %v; want %g %%", test.at, 100*l.Share, l.Shown, test.want)
			}
		})
	}
}

// A sender that was read without the wire that now lies before it: what 6 m there
// and back of 0.5 mm² adds is taken off. The wire itself is checked in circuit.
func TestWireIsTakenOff(t *testing.T) {
	const tk = `{"name":"A","contents":"water","wire":{"area_mm2":0.5,"length_m":6%s},"sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":0},{"mark_pct":100,"ohm":20}]}}`
	for _, test := range []struct {
		how  string
		want float64
	}{{"", 50 - 100*0.468/20}, {`,"read_through_it":true`, 50}} {
		made := tankOf(t, fmt.Sprintf(tk, test.how))
		in, err := fitted.Of(made)
		if err != nil {
			t.Fatal(err)
		}
		// 39.0 Ω/km is the maximum of IEC 60228, class 5, for 0.5 mm².
		if l := steady(t, in, watch.Ohm, 10, nil); math.Abs(100*float64(l.Share)-test.want) > 0.02 {
			t.Errorf("%q: %.3f %%, want %.3f %%", test.how, 100*l.Share, test.want)
		}
	}
}

// A box of 1 m by 0.5 m whose float stands 0.4 m before the middle: nose up by 5°
// the surface there lies 0.4·tan 5° lower than in the middle, where the level is.
func TestTiltIsTakenOff(t *testing.T) {
	tk := tankOf(t, `{"name":"A","contents":"water","shape":{"shape":"box","length_mm":1000,"width_mm":500,"height_mm":400,"sensor":{"x_mm":400,"y_mm":0}},"sender":{},"bench":{"readings":[{"mark_mm":0,"ohm":0},{"mark_mm":400,"ohm":100}]}}`)
	in, err := fitted.Of(tk)
	if err != nil {
		t.Fatal(err)
	}
	level := steady(t, in, watch.Ohm, 50, nil)
	up := steady(t, in, watch.Ohm, 50, &watch.Tilt{Pitch: 5 * math.Pi / 180})
	shift := 100 * float64(up.Share-level.Share)
	if want := 100 * 0.4 * math.Tan(5*math.Pi/180) / 0.4; math.Abs(shift-want) > 0.3 {
		t.Errorf("5° of pitch shift the level by %.2f points, want %.2f", shift, want)
	}
}

func TestLacks(t *testing.T) {
	for _, test := range []struct{ name, tank, says string }{
		{"no readings", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[]}}`, "can't be read"},
		{"one reading", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":240}]}}`, "can't be read"},
		{"no order", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":10},{"mark_pct":25,"ohm":150},{"mark_pct":50,"ohm":12},{"mark_pct":75,"ohm":160},{"mark_pct":100,"ohm":11}]}}`, "order"},
	} {
		if _, err := fitted.Of(tankOf(t, test.tank)); err == nil || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%s: %v; want a word of %q", test.name, err, test.says)
		}
	}
	for _, test := range []struct{ name, tank, says string }{
		{"no capacity", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":240},{"mark_pct":100,"ohm":33}]}}`, "water_capacity_l"},
		{"heights without a shape", `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_mm":0,"ohm":240},{"mark_mm":300,"ohm":33}]}}`, "shape"},
		{"no gas", `{"name":"A","contents":"lpg","water_capacity_l":50,"sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":0},{"mark_pct":100,"ohm":90}]}}`, `"gas"`},
		{"all of it", `{"name":"A","contents":"water","water_capacity_l":50,"sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":0},{"mark_pct":100,"ohm":90}]}}`, ""},
	} {
		tk := tankOf(t, test.tank)
		if _, err := fitted.Of(tk); err != nil {
			t.Errorf("%s: %v", test.name, err)
		}
		if said := strings.Join(fitted.Lacks(tk), " "); !strings.Contains(said, test.says) || test.says == "" && said != "" {
			t.Errorf("%s: %q; want a word of %q", test.name, said, test.says)
		}
	}
}

// The counts of a converter lead to the level of the ohms that gave them, to what
// one count stands for.
func TestBehindAConverter(t *testing.T) {
	tk := tankOf(t, `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"ohm":10},{"mark_pct":100,"ohm":180}]}}`)
	c := fitted.Converter{Input: circuit.Input{Reference: 3.3, Bits: 12, NotFlammable: true, Lead: circuit.Exactly(0.4)}, Pullup: 3300}
	in, err := fitted.Of(tk, c)
	if err != nil {
		t.Fatal(err)
	}
	for _, ohm := range []float64{10, 33.3, 95, 140, 180} {
		count := c.Input.Counts(c.Pullup, ohm)
		l := steady(t, in, watch.Count, float64(count), nil)
		step := c.Input.PerCount(c.Pullup, ohm) / 1.7
		if want := (ohm - 10) / 1.7; !l.Shown || math.Abs(100*float64(l.Share)-want) > step/2+0.01 {
			t.Errorf("%g Ω, count %d: %.3f %%, want %.3f %% (a count is %.3f points)", ohm, count, 100*l.Share, want, step)
		}
		volts := 3.3 * (ohm + 0.4) / (3300 + ohm + 0.4)
		if l := steady(t, in, watch.Volt, volts, nil); math.Abs(100*float64(l.Share)-(ohm-10)/1.7) > 0.1 {
			t.Errorf("%g V: %.3f %%", volts, 100*l.Share)
		}
	}
	if l := steady(t, in, watch.Count, float64(c.Input.Open()), nil); l.Shown || l.Fault != watch.BrokenWire {
		t.Errorf("the count of an open circuit: %+v", l)
	}
	if l := steady(t, in, watch.Count, 0, nil); l.Shown || l.Fault != watch.ShortCircuit {
		t.Errorf("count 0: shown %v, %s", l.Shown, l.Fault)
	}
	volts := tankOf(t, `{"name":"A","contents":"water","sender":{},"bench":{"readings":[{"mark_pct":0,"volt":0.5},{"mark_pct":100,"volt":4.5}]}}`)
	if _, err := fitted.Of(volts, c); err == nil || !strings.Contains(err.Error(), "read ohms") {
		t.Errorf("a sender of volts behind a pull-up: %v", err)
	}
}
