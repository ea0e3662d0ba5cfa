package main

import (
	"strings"
	"testing"
	"time"

	"gaugewright/internal/circuit"
	"gaugewright/internal/contents"
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// said is what a verb printed, without its layout.
type said struct {
	lines map[string]bool
	all   string
}

func saidBy(t *testing.T, args ...string) said {
	t.Helper()
	_, out, messages := command("", args...)
	if messages != "" {
		t.Fatalf("%v: %s", args, messages)
	}
	s := said{lines: map[string]bool{}, all: flat(out)}
	for line := range strings.Lines(out) {
		s.lines[flat(line)] = true
	}
	return s
}

func flat(text string) string { return strings.Join(strings.Fields(text), " ") }

// holds fails the test unless each row of a table is a line of its own, and each
// sentence stands in it from end to end.
func (s said) holds(t *testing.T, g telling.Grid, sentences ...string) {
	t.Helper()
	rows := g.Rows
	if g.Headed() {
		rows = append([][]string{g.Head}, rows...)
	}
	for _, row := range rows {
		if line := flat(strings.Join(row, " ")); !s.lines[line] {
			t.Errorf("no line %q in: %s", line, s.all)
		}
	}
	for _, sentence := range sentences {
		if sentence == "" || !strings.Contains(s.all, flat(sentence)) {
			t.Errorf("no sentence %q in: %s", sentence, s.all)
		}
	}
}

func texts(list []finding.Finding) []string {
	out := make([]string, len(list))
	for i, f := range list {
		out[i] = telling.Finding(f)
	}
	return out
}

// What the verbs print is what a page is given to show, cell by cell and sentence
// by sentence.
func TestVerbsPrintWhatIsTold(t *testing.T) {
	sheet, err := readings.ReadFile("sample/gas.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sc, err := scale.New(scale.Fill, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}

	out := saidBy(t, "curve", "sample/gas.csv", "--budget", "--plan", "2")
	out.holds(t, telling.CurvePoints(c), telling.CurveNote(c))
	out.holds(t, telling.Grid{}, texts(c.Findings())...)
	at := c.Ohm(c.LeastKnown(), curve.Refuse)
	budget, _ := c.BudgetOfMark(at.Ohm, curve.Refuse)
	title, g, notes := telling.Budget(c.Unit(), c.Signal(), at, budget)
	out.holds(t, g, append(notes, title)...)
	title, plan := telling.Plan(c.Plan(2, 0, 1))
	out.holds(t, telling.Grid{}, append(texts(plan), title)...)

	for _, readout := range []string{telling.TwoPoint, telling.Table, telling.EndsThenTable} {
		out := saidBy(t, "span", "sample/gas.csv", "--scale", "fill", "--permitted-fill", "80", "--readout", readout, "--try", "0:90", "--at-mark", "33")
		wish := telling.UsualWish()
		wish.Readout = readout
		choice, err := telling.Best(c, sc, wish)
		if err != nil {
			t.Fatal(err)
		}
		n := telling.Choice(c, sc, choice, telling.StepWords(c.Signal(), nil))
		if n.Table != nil {
			out.holds(t, *n.Table)
		}
		if n.Lower != "" {
			out.holds(t, telling.Grid{}, "Key in "+n.Lower+" "+n.Unit+" at 0 %", n.Upper+" "+n.Unit+" at 100 %")
		}
		out.holds(t, telling.Grid{}, n.Lines...)
		tried := []span.Trial{span.Try(c, sc, span.Ends{Lower: 0, Upper: 90})}
		g, note := telling.Shown(c, sc, choice.Trial, tried)
		out.holds(t, g, note, telling.Why(c, sc, tried[0]))
		g, _ = telling.ShownAt(c, sc, choice.Setting, tried, []float64{0.33})
		out.holds(t, g)
	}
}

func TestChecksAndTanksPrintWhatIsTold(t *testing.T) {
	display, err := readings.ReadShownFile("sample/gas.shown.csv")
	if err != nil {
		t.Fatal(err)
	}
	sc, err := scale.New(scale.Fill, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	proof, err := span.Prove(sc, seen(display), span.DefaultTolerance)
	if err != nil {
		t.Fatal(err)
	}
	g, lines := telling.Proof(display.Unit, proof)
	saidBy(t, "check", "sample/gas.shown.csv", "--scale", "fill", "--permitted-fill", "80").holds(t, g, append(lines, telling.VerdictLoud(proof))...)

	file := sampleFile(t, nil)
	j, err := job.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	shown := saidBy(t, "job", "show", file)
	shown.holds(t, telling.Grid{}, telling.JobTitle(j))
	for _, tank := range j.Tanks {
		shown.holds(t, telling.Grid{}, telling.TankTitle(tank))
		level, err := tank.AtLevel(0.5)
		if err != nil {
			t.Fatal(err)
		}
		o, err := tank.Outlook(level, time.Date(2026, 11, 3, 0, 0, 0, 0, time.UTC))
		if err != nil {
			t.Fatal(err)
		}
		l := telling.Outlook(tank, o, quantity.Units{})
		out := saidBy(t, "lasts", file, "--tank", tank.Name, "--level", "50%", "--date", "2026-11-03")
		out.holds(t, telling.Grid{}, l.Title, l.Ask)
		for _, row := range l.Rows.Rows {
			out.holds(t, telling.Grid{}, row[0]+" "+row[1])
		}
		out.holds(t, telling.Grid{}, append(l.Uses, texts(l.Others)...)...)
		for _, caution := range l.Cautions {
			out.holds(t, telling.Grid{}, "! "+caution)
		}
	}
}

func TestGasTankAndWirePrintWhatIsTold(t *testing.T) {
	mix, err := contents.NewMix(0.6, 0.4, 0)
	if err != nil {
		t.Fatal(err)
	}
	gas := telling.Gas{Mix: mix, Name: "propane/butane 60/40 by mass", Kelvin: 278.15, Capacity: 0.07, Permitted: 0.8, Asked: true, Liquid: 0.034}
	if gas.Now, err = mix.At(gas.Kelvin); err != nil {
		t.Fatal(err)
	}
	if err := gas.Weigh(); err != nil {
		t.Fatal(err)
	}
	found, err := gas.Warm()
	if err != nil {
		t.Fatal(err)
	}
	out := saidBy(t, "gas", "--propane", "0.6", "--butane", "0.4", "--temp", "5C", "--water-capacity", "70L", "--litres", "34")
	out.holds(t, gas.Figures(), append(append(gas.Cautions(), texts(found)...), gas.Headline(), gas.LevelWords())...)

	file, built, found, err := streams{}.tank("sample/water.tank.json")
	if err != nil {
		t.Fatal(err)
	}
	sender, err := file.SenderIn(built)
	if err != nil {
		t.Fatal(err)
	}
	report := telling.TankReport{File: file, Tank: built, Levels: built.Upright(), Sender: sender, Findings: found}
	if err := report.Tell(true); err != nil {
		t.Fatal(err)
	}
	g, notes := report.Heights()
	saidBy(t, "tank", "sample/water.tank.json").holds(t, g, append(append(notes, texts(report.Findings)...), report.Lines()...)...)

	run := circuit.Run{Area: 0.5e-6, Length: 6, Kelvin: 293.15, Metal: circuit.Copper}
	added, err := run.Added()
	if err != nil {
		t.Fatal(err)
	}
	saidBy(t, "wire", "--area", "0.5mm2", "--length", "6m").holds(t, telling.Grid{}, telling.Wire("6m", added))
}
