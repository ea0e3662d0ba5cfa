package main

import (
	"fmt"
	"io"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

type spanVerb struct {
	senderInput
	scaleInput
	readoutInput
	Try  []string `placeholder:"L:U" sep:"none" help:"Also show what these end values would display; may be given several times."`
	JSON bool     `name:"json" help:"Write the result as JSON."`
}

// readoutInput describes the device to be set.
type readoutInput struct {
	Readout     string  `default:"two-point" enum:"two-point,table" help:"What is keyed in: two-point (the ohms at 0 % and at 100 %) or table."`
	Points      int     `default:"8" help:"The most points a table readout takes."`
	Step        *number `placeholder:"OHM" help:"The step in which ohms can be keyed in; 0 for any value. Whole ohms for two-point, any value for a table, unless given."`
	PercentStep number  `placeholder:"PERCENT" help:"The step of the percentages in a table; 0 for any value."`
	Highest     number  `placeholder:"OHM" help:"The largest ohms the readout takes; no limit unless given."`
	Margin      string  `default:"usual" help:"How far the sender's largest ohms stay below the greater end value: 1ohm, 2% of the span, 0ohm for none. Usual is 0.2 % of the span, no less than 0.1 ohm and twice the repeatability: beyond the end a readout takes a small overshoot for a broken wire."`
}

// best makes the choice the readout asks for.
func (in readoutInput) best(c *curve.Curve, s scale.Scale) (span.Choice, error) {
	margin, err := span.ParseMargin(in.Margin)
	if err != nil {
		return span.Choice{}, fmt.Errorf("--margin %w", err)
	}
	if in.Highest < 0 || in.PercentStep < 0 {
		return span.Choice{}, fmt.Errorf("--highest and --percent-step can't be below zero; found %g and %g", in.Highest, in.PercentStep)
	}
	readout := span.Readout{Highest: quantity.Ohm(in.Highest)}
	if in.Readout == "table" {
		if in.Step != nil {
			readout.Step = quantity.Ohm(*in.Step)
		}
		return span.BestTable(c, s, span.TableReadout{Readout: readout, Points: in.Points, ShareStep: quantity.Share(in.PercentStep / 100)}, margin)
	}
	readout.Step = 1
	if in.Step != nil {
		readout.Step = quantity.Ohm(*in.Step)
	}
	return span.BestEnds(c, s, readout, margin)
}

// Run chooses what to key in and shows what it does.
func (v *spanVerb) Run(s streams) error {
	claims, err := v.claims()
	if err != nil {
		return err
	}
	var tried []span.Ends
	for _, text := range v.Try {
		ends, err := span.ParseEnds(text)
		if err != nil {
			return fmt.Errorf("--try %w", err)
		}
		tried = append(tried, ends)
	}
	c, err := v.fit(s)
	if err != nil {
		return err
	}
	empty, full := v.ends(c)
	sc, err := v.scale(empty, full, c.Unit() == curve.Dial)
	if err != nil {
		return err
	}
	choice, err := v.best(c, sc)
	if err != nil {
		return err
	}
	var trials []span.Trial
	for _, ends := range tried {
		trials = append(trials, span.Try(c, sc, ends))
	}
	choice.Findings = append(span.Remedy(c, sc, choice), choice.Findings...)
	judged := c.Judge(claims, empty, full)
	findings := append(worth(c.Findings()), c.ClaimFindings(judged)...)
	if v.JSON {
		err = writeJSON(s.out, spanResult(c, sc, choice, trials, findings))
	} else {
		v.print(s.out, c, sc, choice, trials, findings)
	}
	if err == nil && finding.Worst(c.Findings()) == finding.Bad {
		err = errBad
	}
	return err
}

// worth keeps what has to be looked at; the rest is what the curve verb is for.
func worth(list []finding.Finding) []finding.Finding {
	var out []finding.Finding
	for _, f := range list {
		if f.Weight > finding.Note {
			out = append(out, f)
		}
	}
	return out
}

func spanResult(c *curve.Curve, sc scale.Scale, choice span.Choice, trials []span.Trial, findings []finding.Finding) fields {
	unit := c.Unit()
	suffix := strings.TrimPrefix(unit.Column(), "mark_")
	var r fields
	setTrial := func(f *fields, t span.Trial) {
		f.set("worst_error_pct", points(t.Worst))
		at := make([]float64, len(t.WorstAt))
		for i, m := range t.WorstAt {
			at[i] = unit.ToShown(m)
		}
		f.set("worst_at_"+suffix, at)
	}
	setRows := func(f *fields, t span.Trial) {
		rows := make([]fields, len(t.Rows))
		for i, row := range t.Rows {
			rows[i].set(unit.Column(), unit.ToShown(row.Mark))
			rows[i].set("ohm", figure(row.Ohm))
			rows[i].set("target_pct", points(row.Target))
			rows[i].set("shown_pct", points(row.Shown))
			rows[i].set("error_pct", figure((row.Shown-row.Target)*100))
			if row.Sweep != curve.Unstated {
				rows[i].set("sweep", row.Sweep.String())
			}
		}
		f.set("shown", rows)
	}
	switch setting := choice.Setting.(type) {
	case span.Ends:
		r.set("readout", "two-point")
		r.set("scale", sc.Kind())
		r.set("lower_ohm", figure(setting.Lower))
		r.set("upper_ohm", figure(setting.Upper))
	case span.Table:
		r.set("readout", "table")
		r.set("scale", sc.Kind())
		entries := make([]fields, len(setting))
		for i, e := range setting {
			entries[i].set("ohm", figure(e.Ohm))
			entries[i].set("pct", points(e.Share))
		}
		r.set("points", entries)
	}
	r.set("means", sc.Sentence())
	setTrial(&r, choice.Trial)
	r.set("lower_bound_pct", points(choice.LowerBound))
	r.set("between_marks_pct", points(choice.Between))
	r.set("margin_ohm", figure(choice.Margin))
	setRows(&r, choice.Trial)
	r.set("findings", append(findings, choice.Findings...))
	tried := make([]fields, len(trials))
	for i, t := range trials {
		ends := t.Setting.(span.Ends)
		tried[i].set("lower_ohm", figure(ends.Lower))
		tried[i].set("upper_ohm", figure(ends.Upper))
		setTrial(&tried[i], t)
		setRows(&tried[i], t)
	}
	r.set("tried", tried)
	return r
}

func (v *spanVerb) print(w io.Writer, c *curve.Curve, sc scale.Scale, choice span.Choice, trials []span.Trial, findings []finding.Finding) {
	printChoice(w, c, sc, choice, v.stepWords())
	fmt.Fprintln(w)
	printRows(w, c, choice.Trial, trials)
	fmt.Fprintln(w)
	writeFindings(w, append(findings, choice.Findings...))
}

// stepWords says what the readout takes, for "no pair of … does better".
func (in readoutInput) stepWords() string {
	switch {
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
	bound := shown(choice.LowerBound)
	switch setting := choice.Setting.(type) {
	case span.Ends:
		fmt.Fprintf(w, "Key in  %8s Ω at   0 %%\n", quantity.Short(float64(setting.Lower), 4))
		fmt.Fprintf(w, "        %8s Ω at 100 %%\n\n", quantity.Short(float64(setting.Upper), 4))
		if choice.Searched > 0 {
			worst += fmt.Sprintf(" No other pair in %s does better (all searched); values of any kind could reach %s.", steps, bound)
		} else {
			worst += " No other pair does better."
		}
	case span.Table:
		fmt.Fprintf(w, "Key in this table of %d points:\n\n", len(setting))
		g := grid{head: []string{"ohms", "shown %"}}
		ohms, percents := setting.Texts()
		for i := range setting {
			g.add(ohms[i], percents[i])
		}
		g.write(w)
		fmt.Fprintln(w)
		worst += fmt.Sprintf(" No table of as many points can do better than %s.", bound)
	}
	writeWrapped(w, "", sc.Sentence())
	writeWrapped(w, "", worst)
}

// printRows shows, mark by mark, what the choice displays and what others would.
func printRows(w io.Writer, c *curve.Curve, best span.Trial, others []span.Trial) {
	head := []string{"mark", "ohms", "should show", "will show", "error", "±"}
	for _, t := range others {
		ends := t.Setting.(span.Ends)
		head = append(head, "with "+quantity.Short(float64(ends.Lower), 3)+":"+quantity.Short(float64(ends.Upper), 3), "error")
	}
	g := grid{head: head}
	for i, row := range best.Rows {
		u := gauge.Spread(best.Setting, row.Ohm, c.Ohm(row.Mark, curve.Refuse).UOhm)
		cells := []string{c.Unit().Text(row.Mark), quantity.Digits(float64(row.Ohm), 1), shown(row.Target), shown(row.Shown), signed(row.Error()), doubtText(float64(gauge.Coverage*u) * 100)}
		for _, t := range others {
			cells = append(cells, shown(t.Rows[i].Shown), signed(t.Rows[i].Error()))
		}
		g.add(cells...)
	}
	worst := []string{"worst", "", "", "", shown(best.Worst), ""}
	for _, t := range others {
		worst = append(worst, "", shown(t.Worst))
	}
	if len(others) > 0 {
		g.add(worst...)
	}
	g.write(w)
	writeWrapped(w, "  ", "± is about 95 %: what the readings' own scatter, hysteresis and last digit do to the figure shown.")
}
