package chart_test

import (
	"bytes"
	"testing"

	"gaugewright/internal/chart"
	"gaugewright/internal/golden"
)

func TestSectionGolden(t *testing.T) {
	for name, s := range map[string]chart.Section{
		"section":             sampleSection(0),
		"section-narrow":      sampleSection(320),
		"section-arch":        sampleArch(0),
		"section-arch-narrow": sampleArch(320),
		"section-long":        sampleLong(0),
		"section-long-narrow": sampleLong(320),
		"section-empty":       {Title: "No shape"},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := chart.DrawSection(s).SVG(&b, "sample"); err != nil {
				t.Fatal(err)
			}
			golden.Check(t, name+".svg", b.Bytes())
		})
	}
}
