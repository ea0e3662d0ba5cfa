package sitting

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

func TestToProve(t *testing.T) {
	dial := job.Tank{Name: "Gas", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80}
	marks := func(tank job.Tank) string {
		t.Helper()
		list, err := ToProve(tank)
		if err != nil {
			t.Fatal(err)
		}
		return marksText(tank.Unit(), list)
	}
	if got := marks(dial); got != "0 %, 20 %, 50 %, 70 %, 100 %" {
		t.Errorf("on a dial: %s", got)
	}
	filled := dial
	filled.Setting = &job.Setting{Readout: job.TwoPoint, Scale: "fill"}
	// 0, 20, 40, 60 and 80 % of the tank are the quarters of the permitted fill.
	if got := marks(filled); got != "0 %, 20 %, 40 %, 60 %, 80 %" {
		t.Errorf("on the fill scale: %s", got)
	}
	poured := job.Tank{Name: "Gas", Contents: job.LPG, WaterCapacityL: 50, PermittedFillPct: 80, Bench: job.Bench{Marks: "mark_l"}}
	for _, litres := range []float64{0, 10, 20, 50} {
		r := job.Reading{Ohm: litres}
		r.SetMark(litres, curve.Volume)
		poured.Bench.Readings = append(poured.Bench.Readings, r)
	}
	for _, m := range strings.Split(marks(poured), ", ") {
		if v, err := ParseMark(curve.Volume, m); err != nil || v > 0.040001 {
			t.Errorf("poured into a gas tank of 50 L that may hold 40: %s", m)
		}
	}
}

func marksText(u curve.MarkUnit, list []float64) string {
	texts := make([]string, len(list))
	for i, m := range list {
		texts[i] = u.Text(m)
	}
	return strings.Join(texts, ", ")
}

func TestCheck(t *testing.T) {
	var tank job.Tank
	look := Look{When: job.AsLeft, Date: "2025-11-02", By: "R. Moor", TolerancePct: 2, Mark: 0.5, ShownPct: 51}
	add := func(change func(*Look)) {
		t.Helper()
		l := look
		change(&l)
		if err := Check(&tank, l); err != nil {
			t.Fatal(err)
		}
	}
	add(func(*Look) {})
	add(func(l *Look) { l.Mark, l.ShownPct = 0.3, 30 })
	if len(tank.Checks) != 1 || len(tank.Checks[0].Readings) != 2 {
		t.Fatalf("two looks: %+v; expected one check with both", tank.Checks)
	}
	for name, change := range map[string]func(*Look){
		"another day":       func(l *Look) { l.Date = "2025-11-03" },
		"another tolerance": func(l *Look) { l.TolerancePct = 3 },
		"as found":          func(l *Look) { l.When = job.AsFound },
		"anew":              func(l *Look) { l.Anew = true },
	} {
		before := len(tank.Checks)
		add(change)
		if len(tank.Checks) != before+1 {
			t.Errorf("%s begins no check of its own", name)
		}
	}
	for name, l := range map[string]Look{
		"above": {Mark: 0.5, ShownPct: 100.5}, "below": {Mark: 0.5, ShownPct: -1}, "no mark": {Mark: 1.2, ShownPct: 50},
	} {
		if err := Check(&tank, l); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	if err := Unlook(&tank, 0, 2); err == nil {
		t.Error("a look that isn't there is taken out")
	}
}

// Every look is in the checks once, in order, and taking the last out again is
// as if it hadn't been taken.
func TestCheckKeepsEveryLook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var tank job.Tank
		n := rapid.IntRange(1, 12).Draw(rt, "looks")
		for i := range n {
			before := tank
			l := Look{When: rapid.SampledFrom([]string{job.AsFound, job.AsLeft}).Draw(rt, "when"), Date: "2025-11-02", TolerancePct: 2,
				Mark: 0.5, ShownPct: float64(i), Anew: rapid.Bool().Draw(rt, "anew")}
			if err := Check(&tank, l); err != nil {
				rt.Fatal(err)
			}
			again := tank
			last := len(again.Checks) - 1
			if err := Unlook(&again, last, len(again.Checks[last].Readings)-1); err != nil {
				rt.Fatal(err)
			}
			if looks(again) != looks(before) {
				rt.Fatalf("taken and taken out: %s; expected %s", looks(again), looks(before))
			}
		}
		want := ""
		for i := range n {
			want += string(rune('a' + i))
		}
		if got := strings.ReplaceAll(looks(tank), "|", ""); got != want {
			rt.Fatalf("found %s; expected %s", got, want)
		}
	})
}

func looks(t job.Tank) string {
	var b strings.Builder
	for i, c := range t.Checks {
		if i > 0 {
			b.WriteByte('|')
		}
		for _, r := range c.Readings {
			b.WriteRune('a' + rune(r.ShownPct))
		}
	}
	return b.String()
}
