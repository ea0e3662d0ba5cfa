package chart_test

import (
	"bytes"
	"testing"

	"gaugewright/internal/chart"
	"gaugewright/internal/golden"

	"github.com/google/go-cmp/cmp"
)

func TestGolden(t *testing.T) {
	for name, d := range map[string]chart.Drawing{
		"curve":        chart.DrawCurve(sampleCurve(0)),
		"curve-narrow": chart.DrawCurve(sampleFalling(350)),
		"column":       chart.DrawColumn(sampleColumn()),
		"rulers":       chart.DrawRulers(sampleRulers(0)),
		"rulers-ghost": chart.DrawRulers(sampleGhosts(0)),
		"empty":        chart.DrawCurve(chart.Curve{Title: "No readings"}),
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := d.SVG(&b, "sample"); err != nil {
				t.Fatal(err)
			}
			golden.Check(t, name+".svg", b.Bytes())
		})
	}
	golden.Check(t, "drawing.css", []byte(chart.CSS()))
}

func TestSameFiguresSameBytes(t *testing.T) {
	draw := func() string {
		var b bytes.Buffer
		for _, d := range []chart.Drawing{chart.DrawCurve(sampleCurve(0)), chart.DrawColumn(sampleNarrowing()), chart.DrawRulers(sampleRulers(350))} {
			if err := d.Inline(&b, "a"); err != nil {
				t.Fatal(err)
			}
		}
		return b.String()
	}
	first, second := draw(), draw()
	if first != second {
		t.Error("the same figures gave different bytes")
	}
}

func TestCallersSlicesStay(t *testing.T) {
	c, want := sampleCurve(0), sampleCurve(0)
	chart.DrawCurve(c)
	if diff := cmp.Diff(want, c); diff != "" {
		t.Errorf("the caller's curve was changed (-before +after):\n%s", diff)
	}
	r, same := sampleRulers(0), sampleRulers(0)
	chart.DrawRulers(r)
	if diff := cmp.Diff(same, r); diff != "" {
		t.Errorf("the caller's rulers were changed (-before +after):\n%s", diff)
	}
}
