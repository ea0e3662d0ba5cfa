package job

import (
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

func v2(text string) string { return strings.Replace(text, `"version":1`, `"version":2`, 1) }

func TestReadRefusesOfVersion2(t *testing.T) {
	doubts := func(text string) string {
		return tankOf(`"bench":{"readings":[{"mark_pct":1,"volt":5}],` + "\n" + `"doubts":` + text + `}`)
	}
	then := func(text string) string {
		return tankOf(`"setting":{"readout":"ends-then-table","scale":"mark","lower_ohm":0,"upper_ohm":90,` + "\n" + `"then_table":` + text + `}`)
	}
	known := func(marks, gives, knots string) string {
		return tankOf(`"bench":{"readings":[{"mark_pct":1,"ohm":5}]},"sender":{"known":{"from":"x","marks":"` + marks + `","gives":"` + gives + `",` + "\n" + `"knots":[` + knots + `]}}`)
	}
	const plain = `{"mark":0,"value":1,"u":1},{"mark":50,"value":9,"u":1}`
	for _, c := range []struct{ name, text, want string }{
		{"leads of volts", doubts(`{"leads_ohm":0.2}`), `f:3:23: /tanks/0/bench/doubts/leads_ohm: leads are taken off ohms, and the bench reads volts; delete it`},
		{"a coarse meter", doubts(`{"meter_step":20}`), `f:3:24: /tanks/0/bench/doubts/meter_step: found 20, expected up to 10, as the bench reads volts`},
		{"marks of nothing", doubts(`{"mark":26}`), `f:3:18: /tanks/0/bench/doubts/mark: found 26, expected up to 25, as the tank's marks are in %`},
		{"an unknown doubt", doubts(`{"meter":1}`), `unknown field "meter"`},
		{"a service in mm", tankOf(`"bench":{"readings":[{"mark_pct":1,"ohm":5}]},` + "\n" + `"services":[{"readings":[{"mark_mm":1,"ohm":5}]}]`), `f:3:37: /tanks/0/services/0/readings/0/mark_mm: a mark in mm, and the tank's first mark is in %; all marks of a tank are in one unit`},
		{"a service in volts", tankOf(`"bench":{"readings":[{"mark_pct":1,"ohm":5}]},` + "\n" + `"services":[{"readings":[{"mark_pct":1,"volt":5}]}]`), `f:3:47: /tanks/0/services/0/readings/0/volt: a reading in volts, and the first reading is in ohms; all readings of a bench are in the same`},
		{"a check's doubt", tankOf(`"checks":[{"when":"as left","tolerance_pct":2,"mark_doubt":30,"readings":[{"mark_pct":1,"shown_pct":5}]}]`), `/tanks/0/checks/0/mark_doubt: found 30, expected up to 25, as the tank's marks are in %`},
		{"a correction that falls", then(`[{"in_pct":0,"pct":0},{"in_pct":60,"pct":50},{"in_pct":60,"pct":70},{"in_pct":100,"pct":100}]`), `/tanks/0/setting/then_table/2/in_pct: 60 after 60; what comes in rises from each entry to the next`},
		{"a correction from 1", then(`[{"in_pct":1,"pct":0},{"in_pct":100,"pct":100}]`), `/tanks/0/setting/then_table/0/in_pct: found 1; the first entry is for 0`},
		{"a correction to 99", then(`[{"in_pct":0,"pct":0},{"in_pct":99,"pct":100}]`), `/tanks/0/setting/then_table/1/in_pct: found 99; the last entry is for 100`},
		{"no correction", tankOf(`"setting":{"readout":"ends-then-table","scale":"mark","lower_ohm":0,"upper_ohm":90}`), `f:2:11: /tanks/0/setting: missing field "then_table", which an ends-then-table readout has`},
		{"no ends", then(`[{"in_pct":0,"pct":0},{"in_pct":100,"pct":100}],"table":[]`), `/tanks/0/setting/table: an ends-then-table readout has no table; delete it, or correct readout`},
		{"limits turned", tankOf(`"setting":{"readout":"two-point","scale":"mark","lower_ohm":0,"upper_ohm":90,"lowest_ohm":9,"highest_ohm":5}`), `/tanks/0/setting/highest_ohm: found 5; the most that the readout takes lies above the least, which is 9`},
		{"known in mm", known("mark_mm", "ohm", plain), `/tanks/0/sender/known/marks: the marks of the known curve are in mm, and those of the tank are in %; the two can't be put together`},
		{"known in volts", known("mark_pct", "volt", plain), `/tanks/0/sender/known/gives: the known curve gives "volt", and the readings are in ohms; the two can't be put together`},
		{"knots that fall", known("mark_pct", "ohm", `{"mark":9,"value":1,"u":1},{"mark":9,"value":9,"u":1}`), `/tanks/0/sender/known/knots/1/mark: 9 after 9; the marks of the knots rise from each to the next`},
		{"modes of one", known("mark_pct", "ohm", `{"mark":0,"value":1,"u":1,"modes":[1]},{"mark":9,"value":9,"u":1}`), `/tanks/0/sender/known/knots/1/modes: a list of 0, and the first knot has 1; every knot has the same modes`},
		{"more than u", known("mark_pct", "ohm", `{"mark":0,"value":1,"u":1,"modes":[2]},{"mark":9,"value":9,"u":1,"modes":[0]}`), `/tanks/0/sender/known/knots/0/u: found 1, and floor and modes together come to 2; they are parts of it`},
		{"a remove with a value", `{"version":1,"number":"1","tanks":[],"history":[{"words":"x","was":"","undo":[{"op":"remove","path":"/a","value":1}]}]}`, `an operation that removes has no value; delete it`},
	} {
		_, err := Read(strings.NewReader(v2(c.text)), "f")
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: found\n%v\nexpected\n%s", c.name, err, c.want)
		}
		if len(each(err)) == 0 || each(err)[0] == nil {
			t.Errorf("%s: no *FileError", c.name)
		}
	}
}

// What is stated of the bench's errors is in the curve, as curve.Fit has it.
func TestCurveHasTheDoubts(t *testing.T) {
	j, _ := sample(t)
	gas := j.Tanks[0]
	gas.Bench.Doubts = &Doubts{MeterPct: 0.8, MeterDigits: 2, LeadsOhm: 0.2, Mark: 0.5, TemperaturePct: 0.4}
	d := gas.Doubts()
	if d.Meter.OfReading != 0.008 || d.Leads != 0.2 || d.LeadsU != LeadsU(d.Meter) || d.MarkHalfWidth != 0.005 || d.Temperature != 0.004 {
		t.Errorf("found %+v", d)
	}
	if back := DoubtsOf(d, curve.Dial); *back != *gas.Bench.Doubts {
		t.Errorf("and back %+v", back)
	}
	if DoubtsOf(curve.Doubts{}, curve.Dial) != nil {
		t.Error("nothing is something")
	}
	sheet, err := gas.Sheet()
	if err != nil {
		t.Fatal(err)
	}
	want, err := curve.Fit(sheet, curve.Options{Doubts: d})
	if err != nil {
		t.Fatal(err)
	}
	got, err := gas.Curve()
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range got.Points() {
		if p != want.Points()[i] {
			t.Errorf("point %d is %+v, expected %+v", i, p, want.Points()[i])
		}
	}
}

func TestCurveOfAKnownSender(t *testing.T) {
	k := &kin.Known{From: "printed code of job 12", Marks: "mark_mm", Gives: "ohm", Knots: []kin.Knot{{Mark: 0, Value: 10, U: 0.5}, {Mark: 200, Value: 90, U: 0.5}, {Mark: 400, Value: 180, U: 0.5}}}
	tank := Tank{Name: "Water", Contents: Water, Sender: Sender{Known: k}}
	c, err := tank.Curve()
	if err != nil {
		t.Fatal(err)
	}
	if a := c.Ohm(0.2, curve.Refuse); tank.Unit() != curve.Height || !a.Known || a.Ohm != 90 {
		t.Errorf("at 200 mm it gives %+v", a)
	}
	if empty, full, err := tank.Ends(); err != nil || empty != 0 || full != 400 {
		t.Errorf("from %g to %g, %v", empty, full, err)
	}
	if next := tank.Next(); !strings.HasPrefix(next, "Set: ") {
		t.Errorf("next: %s", next)
	}
	// Readings of its own take the place of what was known of one unit,
	for i := range 3 {
		r := Reading{Ohm: 20 + float64(i)*40}
		r.SetMark(float64(i)*200, curve.Height)
		tank.Bench.Readings = append(tank.Bench.Readings, r)
	}
	if c, err = tank.Curve(); err != nil {
		t.Fatal(err)
	}
	if a := c.Ohm(0.2, curve.Refuse); a.Ohm != 60 {
		t.Errorf("read, it gives %v", a.Ohm)
	}
	// and make what is known of a type that of the unit.
	typed := *k
	typed.Units, typed.Batches, typed.DF = 7, 3, 6
	typed.Knots = nil
	for _, n := range k.Knots {
		typed.Knots = append(typed.Knots, kin.Knot{Mark: n.Mark, Value: n.Value, U: 5, Modes: []float64{4}})
	}
	tank.Sender.Known, tank.Bench.Readings = &typed, tank.Bench.Readings[:1]
	tank.Bench.Readings[0].Ohm = 14
	if c, err = tank.Curve(); err != nil {
		t.Fatal(err)
	}
	if a := c.Ohm(0.2, curve.Refuse); !a.Known || !(a.Ohm > 90 && a.Ohm < 96) {
		t.Errorf("one reading 4 ohm above the type at 0 mm leads to %v at 200 mm", a.Ohm)
	}
}

func TestServices(t *testing.T) {
	j, _ := sample(t)
	gas := &j.Tanks[0]
	sheet := curve.Sheet{Readings: []curve.Reading{{Mark: 0.4, Ohm: 41.6, Note: "x"}}}
	gas.AddService(sheet, Service{Note: "seal", Bench: Bench{Date: "2026-10-20", Doubts: &Doubts{MeterPct: 1}}})
	list, err := gas.ServiceSheets()
	if err != nil || len(list) != 1 || len(list[0].Readings) != 1 || list[0].Readings[0].Ohm != 41.6 || list[0].Readings[0].Mark != 0.4 {
		t.Errorf("%+v, %v", list, err)
	}
	if d := gas.ServiceDoubts(0); d.Meter.OfReading != 0.01 {
		t.Errorf("%+v", d)
	}
	if _, err := gas.Service(1); err == nil || !strings.Contains(err.Error(), "has 1 service; there is none of number 2") {
		t.Error(err)
	}
	if _, err := j.Encode(); err != nil {
		t.Error(err)
	}
}

// A check goes by the step and the doubt of marks that are stated of it.
func TestProofsWithWhatIsStated(t *testing.T) {
	j, _ := sample(t)
	gas := j.Tanks[0]
	gas.Checks[1].DisplayStepPct, gas.Checks[1].MarkDoubt = ptr(0.5), ptr(0.4)
	proofs, err := gas.Proofs()
	if err != nil {
		t.Fatal(err)
	}
	s, err := gas.Scale()
	if err != nil {
		t.Fatal(err)
	}
	empty, full := s.Whole()
	if d := proofs[1].Proof.Doubt; d.Step != 0.005 || d.Mark != quantity.Share(0.004/(full-empty)) {
		t.Errorf("found %+v", d)
	}
	if d := proofs[0].Proof.Doubt; d.Mark != span.UsualMarkDoubt {
		t.Errorf("the other check has %+v", d)
	}
}
