package chart_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/chart"
	"gaugewright/internal/golden"
)

// sampleDays is three weeks of an invented gas tank.
func sampleDays(width float64) chart.Days {
	c := chart.Days{Title: "Gas: use by the day", Accent: chart.Gas, Width: width, ValueTitle: "kg a day", DoubtLabel: "nine times in ten within"}
	for i := range 21 {
		v := 0.6 + 0.35*float64(i%7)/3
		c.Columns = append(c.Columns, chart.DayColumn{Value: v, Low: v - 0.2, High: v + 0.2, Known: i != 9 && i != 10, Part: i == 8 || i == 20})
	}
	for i := 1; i < 21; i += 7 {
		c.Columns[i].Label = []string{"3 Nov", "10 Nov", "17 Nov"}[i/7]
	}
	c.Pace = &chart.DayColumn{Label: "on the average", Value: 1.1, Low: 1, High: 1.2}
	return c
}

// withWays is the sample of a past with signs for what came in and what went out.
func withWays(width float64) chart.History {
	h := sampleHistory(width)
	h.Flags = []chart.Flag{{At: 3 * hour, To: 5 * hour, Label: "1", Way: chart.WentOut}, {At: 9 * hour, Label: "2"}, {At: 18 * hour, To: 18.2 * hour, Label: "3", Way: chart.CameIn}, {At: 22 * hour, To: 30 * hour, Label: "4", Way: chart.WentOut}}
	return h
}

func TestDaysGolden(t *testing.T) {
	ways, _ := chart.DrawHistory(withWays(0))
	for name, d := range map[string]chart.Drawing{
		"days": chart.DrawDays(sampleDays(0)), "days-narrow": chart.DrawDays(sampleDays(350)), "days-empty": chart.DrawDays(chart.Days{Title: "Nothing"}), "history-ways": ways,
	} {
		var b bytes.Buffer
		if err := d.SVG(&b, "sample"); err != nil {
			t.Fatal(err)
		}
		golden.Check(t, name+".svg", b.Bytes())
	}
}

// A sign is told by its form: what came in points up and is filled, what went out
// points down and is hollow. Both stand in the key, and only where they are used.
func TestWaysHaveForms(t *testing.T) {
	draw := func(h chart.History) string {
		d, _ := chart.DrawHistory(h)
		var b bytes.Buffer
		if err := d.Inline(&b, "a"); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	with, without := draw(withWays(0)), draw(sampleHistory(0))
	for _, words := range []string{">came in<", ">went out<"} {
		if strings.Count(with, words) != 1 || strings.Contains(without, words) {
			t.Errorf("%s stands %d times in the key with signs", words, strings.Count(with, words))
		}
	}
	if n := strings.Count(with, `class="gw-full"`) - strings.Count(without, `class="gw-full"`); n != 2 {
		t.Errorf("%d filled signs; expected one on a flag and one in the key", n)
	}
}

// Whatever figures come, the drawing is well-formed and its figures are finite.
func TestDaysLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, s := anyFigure(), anyText()
		column := func(name string) chart.DayColumn {
			return chart.DayColumn{Label: s.Draw(t, name), Value: f.Draw(t, name+" value"), Low: f.Draw(t, name+" low"), High: f.Draw(t, name+" high"), Known: rapid.Bool().Draw(t, name+" known"), Part: rapid.Bool().Draw(t, name+" part")}
		}
		c := chart.Days{Title: s.Draw(t, "title"), Width: f.Draw(t, "w"), Accent: anyAccent().Draw(t, "accent"), ValueTitle: s.Draw(t, "values"), DoubtLabel: s.Draw(t, "doubt")}
		for range rapid.IntRange(0, 40).Draw(t, "days") {
			c.Columns = append(c.Columns, column("day"))
		}
		if rapid.Bool().Draw(t, "pace?") {
			p := column("pace")
			c.Pace = &p
		}
		var b bytes.Buffer
		if err := chart.DrawDays(c).Inline(&b, "a"); err != nil {
			t.Fatal(err)
		}
		if text := b.String(); strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Fatal(text)
		}
		for d := xml.NewDecoder(&b); ; {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
		}
	})
}
