package chart_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/internal/chart"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestGolden(t *testing.T) {
	for name, d := range map[string]chart.Drawing{
		"curve":        chart.DrawCurve(sampleCurve(0)),
		"curve-narrow": chart.DrawCurve(sampleFalling(350)),
		"column":       chart.DrawColumn(sampleColumn()),
		"rulers":       chart.DrawRulers(sampleRulers(0)),
		"empty":        chart.DrawCurve(chart.Curve{Title: "No readings"}),
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := d.SVG(&b, "sample"); err != nil {
				t.Fatal(err)
			}
			golden(t, name+".svg", b.Bytes())
		})
	}
	golden(t, "drawing.css", []byte(chart.CSS()))
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; run the test with -update and look at what it writes", err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", path, diff)
	}
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
