package telling_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/contents"
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/golden"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// sheet writes texts down with nothing but bars between cells, so that a change of
// a word or a figure shows.
type sheet struct{ strings.Builder }

func (s *sheet) say(lines ...string) {
	for _, l := range lines {
		fmt.Fprintln(s, l)
	}
}

func (s *sheet) grid(t *testing.T, g telling.Grid) {
	t.Helper()
	if g.Headed() {
		s.say("| " + strings.Join(g.Head, " | "))
	}
	for _, row := range g.Rows {
		if len(row) != len(g.Head) {
			t.Errorf("a row of %d cells under a head of %d: %q", len(row), len(g.Head), row)
		}
		s.say("| " + strings.Join(row, " | "))
	}
}

func (s *sheet) findings(list []finding.Finding) {
	for _, f := range list {
		s.say("- " + telling.Finding(f))
	}
}

func must[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func TestCurveGolden(t *testing.T) {
	c, _ := bent(t)
	var s sheet
	s.grid(t, telling.CurvePoints(c))
	s.say(telling.CurveNote(c))
	empty, full := telling.MarkEnds(c, nil, nil)
	odds := must[curve.Odds](t)(telling.OddsOf(c, must[[]curve.Claim](t)(telling.Claims([]string{"0:90", "0:190"})), empty, full))
	s.findings(telling.OddsFindings(c, odds))
	for _, ohm := range []quantity.Ohm{42.5, 99} {
		for _, beyond := range []curve.Beyond{curve.Refuse, curve.Continue} {
			a := c.Mark(ohm, beyond)
			asked, told := telling.MarkTold(c, a, nil)
			s.say(asked + " → " + told)
		}
	}
	asked, told := telling.ValueTold(c, c.Ohm(0.55, curve.Refuse))
	s.say(asked + " → " + told)
	at := c.Ohm(0.4, curve.Refuse)
	budget, _ := c.BudgetOfMark(at.Ohm, curve.Refuse)
	title, g, notes := telling.Budget(c.Unit(), c.Signal(), at, budget)
	s.say(title)
	s.grid(t, g)
	s.say(notes...)
	title, plan := telling.Plan(c.Plan(2, empty, full))
	s.say(title)
	s.findings(plan)
	golden.Check(t, "curve.txt", []byte(s.String()))

	if in := telling.IntervalOf(c, c.Mark(42.5, curve.Refuse)); in == nil || !(in.Low < in.High) {
		t.Errorf("interval %v", in)
	}
	if in := telling.IntervalOf(c, c.Mark(200, curve.Continue)); in != nil {
		t.Errorf("an interval outside the readings: %v", in)
	}
}

func TestChoiceGolden(t *testing.T) {
	c, sc := bent(t)
	var s sheet
	table := telling.UsualWish()
	table.Readout, table.Points = telling.Table, 3
	both := table
	both.Readout = telling.EndsThenTable
	rms := telling.UsualWish()
	rms.Objective = string(span.RMS)
	for _, w := range []telling.Wish{telling.UsualWish(), rms, table, both} {
		choice := must[span.Choice](t)(telling.Best(c, sc, w))
		n := telling.Choice(c, sc, choice, telling.StepWords(c.Signal(), w.Step))
		s.say(fmt.Sprintf("%q %q %s", n.Lower, n.Upper, n.Unit))
		if n.Table != nil {
			s.grid(t, *n.Table)
		}
		s.say(n.Lines...)
		s.say(telling.HowSure(choice))
		s.grid(t, telling.ShownInBrief(c, sc, choice.Setting))
	}
	best := must[span.Choice](t)(telling.Best(c, sc, telling.UsualWish()))
	tried := []span.Trial{span.Try(c, sc, span.Ends{Lower: 0, Upper: 90}), span.Try(c, sc, span.Table{{Ohm: 0, Share: 0}, {Ohm: 90, Share: 1}})}
	g, note := telling.Shown(c, sc, best.Trial, tried)
	s.grid(t, g)
	s.say(note)
	g, note = telling.ShownAt(c, sc, best.Setting, tried, []float64{0.33, 1.05})
	s.grid(t, g)
	s.say(note)
	for _, trial := range tried {
		s.say(telling.Why(c, sc, trial))
	}
	golden.Check(t, "choice.txt", []byte(s.String()))
}

func TestStepWords(t *testing.T) {
	at := func(v float64) *float64 { return &v }
	for _, test := range []struct {
		signal curve.Signal
		step   *float64
		want   string
	}{
		{curve.Ohms, nil, "whole ohms"}, {curve.Ohms, at(1), "whole ohms"}, {curve.Ohms, at(0), "any values"}, {curve.Ohms, at(0.5), "steps of 0.5 ohm"},
		{curve.Volts, nil, "steps of 0.01 V"}, {curve.Volts, at(0), "any values"}, {curve.Milliamps, at(1), "steps of 1 mA"},
	} {
		if got := telling.StepWords(test.signal, test.step); got != test.want {
			t.Errorf("%q, want %q", got, test.want)
		}
	}
}

func TestProofGolden(t *testing.T) {
	_, sc := bent(t)
	var s sheet
	for _, shown := range []quantity.Share{0.51, 0.56} {
		p := must[span.Proof](t)(span.Prove(sc, []span.Seen{{Mark: 0.2, Shown: 0.2}, {Mark: 0.5, Shown: shown}, {Mark: 0.8, Shown: 0.79}}, 0.02))
		g, lines := telling.Proof(curve.Dial, p)
		s.grid(t, g)
		s.say(telling.Verdict(p), telling.VerdictLoud(p))
		s.say(lines...)
	}
	golden.Check(t, "proof.txt", []byte(s.String()))
}

func TestLastingGolden(t *testing.T) {
	celsius := 5.0
	gas := job.Tank{Name: "Gas", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80, TemperatureC: &celsius,
		Gas: &job.Gas{Propane: 0.6, Butane: 0.4}, Loads: []job.Load{{Name: "griddle", KW: job.Exactly(4.2), Plate: job.Net, HoursPerDay: job.Between(1.5, 3)}}}
	waste := job.Tank{Name: "Waste", Contents: job.Waste, WaterCapacityL: 60, Loads: []job.Load{{Name: "sink", LPerDay: job.Between(6, 10)}}}
	j := &job.Job{Number: "TK-1", Customer: "Tidewater Kitchen (invented)", Date: "2026-11-03", Tanks: []job.Tank{gas, waste}}
	var s sheet
	s.say(telling.JobTitle(j), telling.JobTitle(&job.Job{Number: "TK-2"}))
	for _, tank := range j.Tanks {
		s.say(telling.TankTitle(tank))
		for _, level := range []job.Level{{Share: 0.4, U: 0.02}, {Share: 0.95, U: 0.02}} {
			o := must[job.Outlook](t)(tank.Outlook(level, time.Date(2026, 11, 3, 0, 0, 0, 0, time.UTC)))
			l := telling.Outlook(tank, o, quantity.Units{Volume: "US gal", Temperature: "F"})
			s.say(l.Title)
			s.findings(l.Bad)
			s.grid(t, l.Rows)
			s.say(l.Uses...)
			s.say("ask: " + l.Ask)
			s.findings(l.Others)
			s.say(l.Cautions...)
			if tank.Contents == job.LPG && len(l.Cautions) == 0 {
				t.Error("gas without its cautions")
			}
			if level.Share > 0.8 && tank.Contents == job.LPG && (l.Ask != "" || len(l.Bad) == 0) {
				t.Errorf("a tank filled above what is permitted: asks for %q, findings %v", l.Ask, l.Bad)
			}
		}
	}
	golden.Check(t, "lasting.txt", []byte(s.String()))
}

func TestGasGolden(t *testing.T) {
	mix := must[contents.Mix](t)(contents.NewMix(0.6, 0.4, 0))
	var s sheet
	for _, liquid := range []quantity.CubicMetre{0.034, 0.06} {
		g := telling.Gas{Mix: mix, Name: "propane/butane 60/40 by mass", Kelvin: 278.15, Capacity: 0.07, Permitted: 0.8, Asked: true, Liquid: liquid}
		g.Now = must[contents.Saturated](t)(mix.At(g.Kelvin))
		if err := g.Weigh(); err != nil {
			t.Fatal(err)
		}
		found := must[[]finding.Finding](t)(g.Warm())
		s.say(g.Headline())
		s.grid(t, g.Figures())
		s.say(g.LevelWords())
		s.findings(found)
		s.say(g.Cautions()...)
		if over := liquid > 0.056; over != (finding.Worst(found) == finding.Bad) {
			t.Errorf("%s of liquid: %v", liquid, found)
		}
		if ask, stops := g.FillWords(); ask != "" || stops != nil || g.DocketWords() != "" {
			t.Error("words for what isn't known")
		}
	}
	golden.Check(t, "gas.txt", []byte(s.String()))
}
