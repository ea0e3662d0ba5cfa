package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

func (v *spanVerb) print(w io.Writer, c *curve.Curve, sc scale.Scale, choice span.Choice, trials []span.Trial, findings []finding.Finding) {
	printChoice(w, c, sc, choice, v.stepWords(c.Signal()))
	fmt.Fprintln(w)
	printRows(w, c, sc, choice.Trial, trials)
	v.printAtMarks(w, c, sc, choice.Setting, trials)
	printWhy(w, c, sc, trials)
	fmt.Fprintln(w)
	writeFindings(w, append(findings, choice.Findings...))
}

// stepWords says what the readout takes, for "no pair of … does better".
func (in readoutInput) stepWords(signal curve.Signal) string {
	switch {
	case signal != curve.Ohms && in.Step == nil:
		return "steps of " + quantity.Short(float64(signal.Step()), 3) + " " + signal.Unit()
	case signal != curve.Ohms && *in.Step != 0:
		return "steps of " + quantity.Short(float64(*in.Step), 6) + " " + signal.Unit()
	case in.Step == nil || *in.Step == 1:
		return "whole ohms"
	case *in.Step == 0:
		return "any values"
	}
	return "steps of " + quantity.Short(float64(*in.Step), 3) + " ohm"
}

// printChoice says what to key in, what it means and how good it is.
func printChoice(w io.Writer, c *curve.Curve, sc scale.Scale, choice span.Choice, steps string) {
	worst := fmt.Sprintf("Worst error %s points, at %s.", shown(choice.Worst), marksText(c.Unit(), choice.WorstAt))
	switch choice.Objective {
	case span.NearEmpty:
		worst += fmt.Sprintf(" Counted as said, at most %s points.", shown(choice.Score))
	case span.RMS:
		worst += fmt.Sprintf(" Root-mean-square error %s points.", shown(choice.Score))
	}
	bound := shown(choice.LowerBound)
	symbol := c.Signal().Unit()
	switch setting := choice.Setting.(type) {
	case span.Ends:
		fmt.Fprintf(w, "Key in  %8s %s at   0 %%\n", quantity.Short(float64(setting.Lower), 4), symbol)
		fmt.Fprintf(w, "        %8s %s at 100 %%\n\n", quantity.Short(float64(setting.Upper), 4), symbol)
		if choice.Searched > 0 {
			worst += fmt.Sprintf(" No other pair in %s does better (all searched); values of any kind could reach %s.", steps, bound)
		} else {
			worst += " No other pair does better."
		}
	case span.Table:
		fmt.Fprintf(w, "Key in this table of %d points:\n\n", len(setting))
		g := grid{head: []string{c.Signal().Head(), "shown %"}}
		values, percents := setting.TextsOf(c.Signal())
		for i := range setting {
			g.add(values[i], percents[i])
		}
		g.write(w)
		fmt.Fprintln(w)
		worst += tableBound(choice, bound)
	case span.EndsThenTable:
		fmt.Fprintf(w, "Key in  %8s %s at   0 %%\n", quantity.Short(float64(setting.Ends.Lower), 4), symbol)
		fmt.Fprintf(w, "        %8s %s at 100 %%\n", quantity.Short(float64(setting.Ends.Upper), 4), symbol)
		fmt.Fprintf(w, "and then this table of %d points:\n\n", len(setting.Table))
		g := grid{head: []string{"from %", "shown %"}}
		in, out := setting.Texts()
		for i := range in {
			g.add(in[i], out[i])
		}
		g.write(w)
		fmt.Fprintln(w)
		worst += tableBound(choice, bound)
	}
	writeWrapped(w, "", sc.Sentence())
	if choice.Objective != span.Worst {
		writeWrapped(w, "", choice.Objective.Sentence())
	}
	writeWrapped(w, "", worst)
}

// tableBound says how much better another table could be.
func tableBound(choice span.Choice, bound string) string {
	switch {
	case choice.Searched > 0 && choice.Proven:
		return fmt.Sprintf(" No other table of as many points on these steps does better (all searched); values of any kind could reach %s.", bound)
	case choice.Objective == span.RMS:
		return fmt.Sprintf(" It is the best that was found; no table of as many points can do better than %s.", bound)
	}
	return fmt.Sprintf(" No table of as many points can do better than %s.", bound)
}

// printAtMarks shows what will be displayed at the marks asked for.
func (v *spanVerb) printAtMarks(w io.Writer, c *curve.Curve, sc scale.Scale, best span.Setting, others []span.Trial) {
	if len(v.AtMark) == 0 {
		return
	}
	head := []string{"at mark", c.Signal().Head(), "should show", "will show", "95 % from", "to"}
	for _, t := range others {
		head = append(head, "with "+pairText(t.Setting.(span.Ends)))
	}
	g := grid{head: head}
	outside := false
	for _, mark := range v.AtMark {
		f := span.WhatIf(c, sc, best, c.Unit().FromShown(float64(mark)))
		name := c.Unit().Text(f.Mark)
		if f.Outside {
			name, outside = name+" *", true
		}
		if !f.Known {
			g.add(name, "–", shown(f.Target), "–", "–", "–")
			continue
		}
		cells := []string{name, c.Signal().Figure(f.Ohm), shown(f.Target), shown(f.Shown), shown(f.Low), shown(f.High)}
		for _, t := range others {
			cells = append(cells, shown(t.Setting.Show(f.Ohm)))
		}
		g.add(cells...)
	}
	fmt.Fprintln(w)
	g.write(w)
	if outside {
		writeWrapped(w, "  ", "* beyond the readings: a straight continuation.")
	}
}

// printWhy says of each pair that was tried why it shows what it shows, and what
// an ohm more would do.
func printWhy(w io.Writer, c *curve.Curve, sc scale.Scale, trials []span.Trial) {
	if len(trials) > 0 {
		fmt.Fprintln(w)
	}
	for _, t := range trials {
		why := span.Why(c, sc, t.Setting)
		text := "With " + pairText(t.Setting.(span.Ends)) + ": " + strings.ToLower(why[:1]) + why[1:]
		for _, s := range span.Sensitivities(c, sc, t.Setting) {
			text += " " + s.Sentence(c.Unit())
		}
		writeWrapped(w, "- ", text)
	}
}

// inLitres says whether what is in the tank at a mark is known and isn't the mark
// itself.
func inLitres(unit curve.MarkUnit, sc scale.Scale) bool {
	_, known := sc.Volume(0)
	return known && unit != curve.Volume
}

// litresText cuts to a tenth of a litre: it must not tell more than there is.
func litresText(v quantity.CubicMetre) string {
	return quantity.Digits(math.Floor(float64(v)*1e4+1e-6)/10, 1)
}

func pairText(e span.Ends) string {
	return quantity.Short(float64(e.Lower), 3) + ":" + quantity.Short(float64(e.Upper), 3)
}

// printRows shows, mark by mark, what the choice displays and what others would.
func printRows(w io.Writer, c *curve.Curve, sc scale.Scale, best span.Trial, others []span.Trial) {
	head := []string{"mark"}
	litres := inLitres(c.Unit(), sc)
	if litres {
		head = append(head, "litres")
	}
	head = append(head, c.Signal().Head(), "should show", "will show", "error", "±")
	for _, t := range others {
		head = append(head, "with "+pairText(t.Setting.(span.Ends)), "error")
	}
	g := grid{head: head}
	for i, row := range best.Rows {
		cells := []string{c.Unit().Text(row.Mark)}
		if litres {
			v, _ := sc.Volume(row.Mark)
			cells = append(cells, litresText(v))
		}
		cells = append(cells, c.Signal().Figure(row.Ohm), shown(row.Target), shown(row.Shown), signed(row.Error()), doubtText(float64(doubt.UsualFactor*row.U)*100))
		for _, t := range others {
			cells = append(cells, shown(t.Rows[i].Shown), signed(t.Rows[i].Error()))
		}
		g.add(cells...)
	}
	worst := []string{"worst", "", "", "", shown(best.Worst), ""}
	if litres {
		worst = append([]string{"worst", ""}, worst[1:]...)
	}
	for _, t := range others {
		worst = append(worst, "", shown(t.Worst))
	}
	if len(others) > 0 {
		g.add(worst...)
	}
	g.write(w)
	writeWrapped(w, "  ", "± is about 95 %: what the readings' own scatter, hysteresis and last digit do to the figure shown.")
}
