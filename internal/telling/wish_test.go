package telling_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// bent is an invented sender that rises by 0.9 Ω a percent with a bow in it.
func bent(t *testing.T) (*curve.Curve, scale.Scale) {
	t.Helper()
	tank := bentTank()
	c, err := tank.Curve()
	if err != nil {
		t.Fatal(err)
	}
	sc, err := tank.Scale()
	if err != nil {
		t.Fatal(err)
	}
	return c, sc
}

func bentTank() job.Tank {
	t := job.Tank{Name: "Water", Contents: job.Water, WaterCapacityL: 90}
	for i := 0; i <= 10; i++ {
		mark := float64(i) * 10
		t.Bench.Readings = append(t.Bench.Readings, job.Reading{MarkPct: &mark, Ohm: 0.9*mark + 0.02*mark*(1-mark/100)*10})
	}
	return t
}

// The wish of somebody who wants nothing in particular is what the plain search
// finds; what is stated goes where it belongs.
func TestBest(t *testing.T) {
	c, sc := bent(t)
	got, err := telling.Best(c, sc, telling.UsualWish())
	if err != nil {
		t.Fatal(err)
	}
	want, err := span.BestEnds(c, sc, span.Readout{Step: 1}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("found %v, want %v", got, want)
	}
	step := 5.0
	w := telling.UsualWish()
	w.Readout, w.Points, w.Step, w.PercentStep, w.Highest = telling.Table, 3, &step, 10, 200
	w.Margin, w.Objective = "3ohm", "never-high"
	if got, err = telling.Best(c, sc, w); err != nil {
		t.Fatal(err)
	}
	table, ok := got.Setting.(span.Table)
	if !ok || len(table) > 3 || got.Objective != span.NeverHigh || got.Margin != 3 {
		t.Fatalf("found %v, margin %s", got.Setting, got.Margin)
	}
	for _, e := range table {
		if !onStep(float64(e.Ohm), 5) || !onStep(float64(e.Share)*100, 10) {
			t.Errorf("%s at %s isn't on the steps", e.Ohm, e.Share)
		}
	}
	w.Readout = telling.EndsThenTable
	if got, err = telling.Best(c, sc, w); err != nil {
		t.Fatal(err)
	}
	if _, ok := got.Setting.(span.EndsThenTable); !ok {
		t.Errorf("found %T", got.Setting)
	}
}

func onStep(v, step float64) bool {
	n := v / step
	return n-float64(int(n+0.5)) < 1e-9 && float64(int(n+0.5))-n < 1e-9
}

func TestWishesThatCantBe(t *testing.T) {
	c, sc := bent(t)
	for _, test := range []struct {
		change func(*telling.Wish)
		field  string
		plain  string
		flags  string
	}{
		{func(w *telling.Wish) { w.Margin = "x" }, "margin", `margin "x" isn't a margin`, `--margin "x" isn't a margin`},
		{func(w *telling.Wish) { w.Objective = "x" }, "objective", "objective: ", "--objective: "},
		{func(w *telling.Wish) { w.PercentStep = -1 }, "lowest", "lowest, highest and percent step can't be below zero; found 0, 0 and -1", "--lowest, --highest and --percent-step can't be below zero; found 0, 0 and -1"},
		{func(w *telling.Wish) { w.Readout = "x" }, "readout", `readout "x" isn't known; expected two-point, table or ends-then-table`, `--readout "x"`},
	} {
		w := telling.UsualWish()
		test.change(&w)
		_, err := telling.Best(c, sc, w)
		var field *telling.FieldError
		if !errors.As(err, &field) {
			t.Errorf("%+v: %v", w, err)
			continue
		}
		flags := field.Naming(func(name string) string { return "--" + name })
		if field.Fields[0] != test.field || !strings.HasPrefix(err.Error(), test.plain) || !strings.HasPrefix(flags, test.flags) {
			t.Errorf("field %q: %q, with flags %q", field.Fields, err, flags)
		}
	}
	w := telling.UsualWish()
	w.Highest = 10
	_, err := telling.Best(c, sc, w)
	var none *span.NoChoiceError
	if !errors.As(err, &none) {
		t.Errorf("a readout that can't take the sender: %v", err)
	}
}

func TestSet(t *testing.T) {
	tank := bentTank()
	before := bentTank()
	p, err := telling.Propose(tank, job.Setting{Scale: "volume", By: "R. Fitter", Date: "2026-11-03"}, telling.UsualWish())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(tank, before) {
		t.Error("a proposal changed the tank")
	}
	if n := p.Numbers(); n.Lower == "" || n.Upper == "" || n.Unit != "Ω" || n.Table != nil || len(n.Lines) != 2 {
		t.Errorf("numbers %+v", n)
	}
	if p, err = telling.Set(&tank, job.Setting{Scale: "volume", By: "R. Fitter", Date: "2026-11-03"}, telling.UsualWish(), nil); err != nil {
		t.Fatal(err)
	}
	s := tank.Setting
	keyed, err := s.Keyed()
	if err != nil {
		t.Fatal(err)
	}
	if keyed != p.Best.Setting || s.Scale != "volume" || s.StepOhm != 1 || s.MarginOhm != float64(p.Best.Margin) || s.By != "R. Fitter" || s.Date != "2026-11-03" {
		t.Errorf("stored %+v, the best is %s", s, p.Best.Setting)
	}
	own := span.Ends{Lower: 0, Upper: 95}
	if p, err = telling.Set(&tank, job.Setting{}, telling.UsualWish(), &own); err != nil {
		t.Fatal(err)
	}
	if keyed, _ = tank.Setting.Keyed(); keyed != span.Setting(own) || tank.Setting.MarginOhm != 0 || tank.Setting.Scale != string(scale.Mark) {
		t.Errorf("stored %+v", tank.Setting)
	}
	if text := p.StoredWords(own); !strings.HasPrefix(text, "Stored 0 and 95 as keyed in: worst error ") || !strings.Contains(text, "The best would be "+p.Best.Setting.String()) {
		t.Error(text)
	}
	// A table without a step stores none; what can't be leaves the tank alone.
	w := telling.UsualWish()
	w.Readout = telling.Table
	if _, err = telling.Set(&tank, job.Setting{}, w, nil); err != nil || tank.Setting.Readout != job.Table || tank.Setting.StepOhm != 0 {
		t.Errorf("%v, stored %+v", err, tank.Setting)
	}
	stored := *tank.Setting
	low, high := 20.0, 80.0
	for _, how := range []job.Setting{{Scale: "fill"}, {Scale: "usable"}, {Scale: "x"}, {EmptyMark: &high, FullMark: &low}} {
		if _, err := telling.Set(&tank, how, w, nil); err == nil || !reflect.DeepEqual(*tank.Setting, stored) {
			t.Errorf("%+v: %v, stored %+v", how, err, tank.Setting)
		}
	}
	w.Readout = telling.EndsThenTable
	w.Objective, w.PercentStep, w.Highest = "never-high", 1, 500
	if p, err = telling.Set(&tank, job.Setting{}, w, nil); err != nil {
		t.Fatal(err)
	}
	s = tank.Setting
	if keyed, err = s.Keyed(); err != nil || !reflect.DeepEqual(keyed, p.Best.Setting) {
		t.Errorf("ends and a table together: %v, stored %v, the best is %v", err, keyed, p.Best.Setting)
	}
	if s.Readout != job.EndsThenTable || s.Objective != "never-high" || s.Points != w.Points || s.StepPct != 1 || s.HighestOhm != 500 {
		t.Errorf("stored %+v", s)
	}
}

func TestBenchStated(t *testing.T) {
	d, err := telling.BenchStated{Meter: "0.5%+2", Leads: "0.3ohm", MarkDoubt: 1, TemperatureDrift: "0.4%"}.Doubts(curve.Dial, curve.Ohms)
	if err != nil || d.Leads != 0.3 || d.MarkHalfWidth != 0.01 || d.Temperature != 0.004 || !(d.LeadsU > 0) {
		t.Errorf("%v, %+v", err, d)
	}
	for _, test := range []struct {
		in     telling.BenchStated
		signal curve.Signal
		says   string
	}{
		{telling.BenchStated{Meter: "x"}, curve.Ohms, "meter "},
		{telling.BenchStated{Leads: "200ohm"}, curve.Ohms, "leads 200.0 Ω can't be test leads"},
		{telling.BenchStated{Leads: "1ohm"}, curve.Volts, "leads is taken off ohms"},
		{telling.BenchStated{MarkDoubt: 99}, curve.Ohms, "mark doubt 99 % isn't"},
		{telling.BenchStated{TemperatureDrift: "60%"}, curve.Volts, "temperature drift \"60%\" isn't a share of the volts"},
	} {
		if _, err := test.in.Doubts(curve.Dial, test.signal); err == nil || !strings.HasPrefix(err.Error(), test.says) {
			t.Errorf("%+v: %v", test.in, err)
		}
	}
	if claims, err := telling.Claims([]string{"0:90", "240:33,5"}); err != nil || len(claims) != 2 || claims[1].Full != 33.5 {
		t.Errorf("%v, %v", claims, err)
	}
	for _, text := range []string{"", "90", "0:0", "-1:3", "a:b"} {
		if _, err := telling.Claims([]string{text}); err == nil {
			t.Errorf("%q passed for a span", text)
		}
	}
}
