package job

import (
	"strings"
	"testing"
)

func TestSteps(t *testing.T) {
	j, _ := sample(t)
	gas, water, diesel := j.Tanks[0], j.Tanks[1], j.Tanks[2]
	lines := func(k Tank) string {
		var out []string
		for _, s := range k.Summary() {
			mark := "  "
			if s.Done {
				mark = "x "
			}
			out = append(out, mark+s.String())
		}
		return strings.Join(append(out, "> "+k.Next()), "\n")
	}
	change := func(k Tank, f func(*Tank)) Tank {
		k.Checks = append([]Check(nil), k.Checks...)
		k.Bench.Readings = append([]Reading(nil), k.Bench.Readings...)
		f(&k)
		return k
	}
	for _, c := range []struct {
		name string
		tank Tank
		want string
	}{
		{"finished", gas, `
x Bench: 18 readings, 3 Nov
x Curve: good to ±0.6 points
x Set: key in 0 and 81
x Prove: 3 of 3 within 2 points, 1 of them by less than the doubt, 3 Nov
> done: record can be handed over`},
		{"table", water, `
x Bench: 41 readings, 4 Nov
x Curve: drawn through 41 marks; how well they repeat isn't known, as none was read twice the same way
x Set: key in a table of 5 entries
  Prove: check the display at three marks
> Prove: check the display at three marks`},
		{"not set", diesel, `
x Bench: 7 readings, 5 Nov
x Curve: drawn through 7 marks; how well they repeat isn't known, as none was read twice the same way
  Set: choose the end values
  Prove: check the display at three marks
> Set: choose the end values`},
		{"new", Tank{Name: "A", Contents: Water}, `
  Bench: take readings
  Curve: waits for the readings
  Set: choose the end values
  Prove: check the display at three marks
> Bench: take readings`},
		{"begun", Tank{Name: "A", Bench: Bench{Readings: diesel.Bench.Readings[:1]}}, `
  Bench: 1 reading; not enough yet: one reading only; a curve needs at least two, at different marks
  Curve: waits for the readings
  Set: choose the end values
  Prove: check the display at three marks
> Bench: 1 reading; not enough yet: one reading only; a curve needs at least two, at different marks`},
		{"failed", change(gas, func(k *Tank) {
			k.Checks[1].Readings = []CheckPoint{{MarkPct: ptr(20.0), ShownPct: 25}, {MarkPct: ptr(40.0), ShownPct: 54}, {MarkPct: ptr(80.0), ShownPct: 100}}
		}), `
x Bench: 18 readings, 3 Nov
x Curve: good to ±0.6 points
x Set: key in 0 and 81
  Prove: 2 of 3 within 2 points, 1 outside by more than the doubt, 3 Nov; set again, or look at the sender
> Prove: 2 of 3 within 2 points, 1 outside by more than the doubt, 3 Nov; set again, or look at the sender`},
		{"outside, but not for certain", change(gas, func(k *Tank) {
			k.Checks[1].Readings = []CheckPoint{{MarkPct: ptr(20.0), ShownPct: 25}, {MarkPct: ptr(40.0), ShownPct: 52.5}, {MarkPct: ptr(80.0), ShownPct: 100}}
		}), `
x Bench: 18 readings, 3 Nov
x Curve: good to ±0.6 points
x Set: key in 0 and 81
  Prove: 2 of 3 within 2 points, 1 outside by no more than the doubt, 3 Nov; check again more closely, or set again
> Prove: 2 of 3 within 2 points, 1 outside by no more than the doubt, 3 Nov; check again more closely, or set again`},
		{"clearly within", change(gas, func(k *Tank) {
			k.Checks[1].Readings = []CheckPoint{{MarkPct: ptr(20.0), ShownPct: 25}, {MarkPct: ptr(40.0), ShownPct: 50}, {MarkPct: ptr(80.0), ShownPct: 100}}
		}), `
x Bench: 18 readings, 3 Nov
x Curve: good to ±0.6 points
x Set: key in 0 and 81
x Prove: 3 of 3 within 2 points, 3 Nov
> done: record can be handed over`},
		{"one mark three times", change(gas, func(k *Tank) {
			k.Checks[1].Readings = []CheckPoint{{MarkPct: ptr(20.0), ShownPct: 25}, {MarkPct: ptr(20.0), ShownPct: 25}, {MarkPct: ptr(20.0), ShownPct: 25}}
		}), `
x Bench: 18 readings, 3 Nov
x Curve: good to ±0.6 points
x Set: key in 0 and 81
  Prove: 3 of 3 within 2 points, 3 Nov; check the display at three marks
> Prove: 3 of 3 within 2 points, 3 Nov; check the display at three marks`},
	} {
		if found := "\n" + lines(c.tank); found != c.want {
			t.Errorf("%s: found%s\nexpected%s", c.name, found, c.want)
		}
	}
	dead := change(diesel, func(k *Tank) {
		for i := range k.Bench.Readings {
			k.Bench.Readings[i].Ohm = 3
		}
	})
	if next := dead.Next(); !strings.HasPrefix(next, "Curve: all 7 readings are 3.0 Ω: the sender doesn't move") {
		t.Errorf("a dead sender: %s", next)
	}
	if s := dead.Summary()[0]; !s.Done {
		t.Errorf("the readings of a dead sender are readings: %v", s)
	}
}

func TestCautions(t *testing.T) {
	j, _ := sample(t)
	says := func(list []string, words ...string) {
		t.Helper()
		text := strings.Join(list, "\n")
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("no word of %q in\n%s", w, text)
			}
		}
		for _, w := range []string{" is safe", "safely", "guarantee", "no danger"} {
			if strings.Contains(text, w) {
				t.Errorf("%q claims what nobody can", w)
			}
		}
	}
	// What design.md, "Gas is dangerous", asks for.
	gas := j.Tanks[0]
	says(gas.Cautions(), "off the tank", "open air", "flames", "small screws", "never slacken", "Never fill beyond the permitted fill (80 % of the water capacity)", "local code", "licensed", "no leak", "stops no filling", "heavier than air")
	marked := *gas.Setting
	marked.Scale = "mark"
	gas.Setting = &marked
	says(gas.Cautions(), "as full as permitted is 80 % on it, not 100 %")
	gas.PermittedFillPct = 0
	says(gas.Cautions(), "It doesn't mean that the tank may be filled so far", "Never fill beyond the permitted fill, whatever")
	says(Tank{Contents: Diesel}.Cautions(), "Diesel burns", "brim", "local code", "licensed", "no leak")
	says(Tank{Contents: Petrol, PermittedFillPct: 95}.Cautions(), "vapour that ignites", "(95 % of the water capacity)", "local code", "licensed", "no leak")
	says(Tank{Contents: Other}.Cautions(), "Find out first", "local code", "no leak")
	for _, c := range []Contents{Water, Waste} {
		if list := (Tank{Contents: c}).Cautions(); len(list) > 0 {
			t.Errorf("%s: %v", c, list)
		}
	}
}
