package main

import (
	"fmt"
	"io"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

func (v *spanVerb) print(w io.Writer, c *curve.Curve, sc scale.Scale, choice span.Choice, trials []span.Trial, findings []finding.Finding) {
	printNumbers(w, telling.Choice(c, sc, choice, telling.StepWords(c.Signal(), v.Step.float())))
	fmt.Fprintln(w)
	rows, note := telling.Shown(c, sc, choice.Trial, trials)
	writeGrid(w, rows)
	writeWrapped(w, "  ", note)
	v.printAtMarks(w, c, sc, choice.Setting, trials)
	if len(trials) > 0 {
		fmt.Fprintln(w)
	}
	for _, t := range trials {
		writeWrapped(w, "- ", telling.Why(c, sc, t))
	}
	fmt.Fprintln(w)
	writeFindings(w, append(findings, choice.Findings...))
}

// printNumbers says what to key in, what it means and how good it is.
func printNumbers(w io.Writer, n telling.Numbers) {
	if n.Lower != "" {
		fmt.Fprintf(w, "Key in  %8s %s at   0 %%\n", n.Lower, n.Unit)
		fmt.Fprintf(w, "        %8s %s at 100 %%\n", n.Upper, n.Unit)
	}
	switch {
	case n.Table == nil:
	case n.Lower != "":
		fmt.Fprintf(w, "and then this table of %d points:\n\n", len(n.Table.Rows))
	default:
		fmt.Fprintf(w, "Key in this table of %d points:\n\n", len(n.Table.Rows))
	}
	if n.Table != nil {
		writeGrid(w, *n.Table)
	}
	fmt.Fprintln(w)
	for _, line := range n.Lines {
		writeWrapped(w, "", line)
	}
}

// printAtMarks shows what will be displayed at the marks asked for.
func (v *spanVerb) printAtMarks(w io.Writer, c *curve.Curve, sc scale.Scale, best span.Setting, others []span.Trial) {
	if len(v.AtMark) == 0 {
		return
	}
	marks := make([]float64, len(v.AtMark))
	for i, mark := range v.AtMark {
		marks[i] = c.Unit().FromShown(float64(mark))
	}
	g, note := telling.ShownAt(c, sc, best, others, marks)
	fmt.Fprintln(w)
	writeGrid(w, g)
	if note != "" {
		writeWrapped(w, "  ", note)
	}
}
