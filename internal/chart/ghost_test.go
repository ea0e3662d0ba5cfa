package chart_test

import (
	"reflect"
	"strings"
	"testing"

	"gaugewright/internal/chart"
)

// Ghosts come on top of a drawing and change nothing of it but its description.
func TestGhostsStayBehind(t *testing.T) {
	for _, width := range []float64{0, 344} {
		with := sampleGhosts(width)
		without := sampleGhosts(width)
		for i := range without.Marks {
			without.Marks[i].Ghost = nil
		}
		ghostly, plain := chart.DrawRulers(with), chart.DrawRulers(without)
		var rest []chart.Shape
		ghosts, first := 0, -1
		for i, s := range ghostly.Shapes {
			if p, ok := s.(chart.Path); ok && p.Role == chart.Ghost {
				ghosts++
				first = i
				continue
			}
			rest = append(rest, s)
		}
		if ghosts != 1 {
			t.Fatalf("width %g: %d shapes are ghosts, expected one path", width, ghosts)
		}
		if !reflect.DeepEqual(rest, plain.Shapes) {
			t.Errorf("width %g: ghosts changed what is drawn besides them", width)
		}
		for _, s := range ghostly.Shapes[:first] {
			if p, ok := s.(chart.Path); ok && (p.Role == chart.Offset || p.Role == chart.OffsetMost) {
				t.Errorf("width %g: a ghost lies before the lines of the setting itself", width)
			}
		}
		if want := "Faint and dashed behind: what is shown with 0 and 81."; !strings.HasSuffix(ghostly.Desc, want) {
			t.Errorf("width %g: the description is %q, expected it to end in %q", width, ghostly.Desc, want)
		}
		if strings.Contains(plain.Desc, "behind") {
			t.Errorf("width %g: without ghosts the description is %q", width, plain.Desc)
		}
	}
}
