package lookup

import (
	"fmt"
	"strings"
	"unicode"

	"gaugewright/internal/quantity"
)

// About is what the written forms say of a table besides its figures. What is
// empty is left out. Line breaks and signs that would end a comment are taken
// out of it.
type About struct {
	Source   string   // the job, or the file of the readings
	Date     string   // of the table, as it should be written
	Input    string   // the input in words: "pull-up of 470 Ω, 12 bits"
	Means    string   // what 100 % means
	Cautions []string // those of the tank; with any, the table adds its own
}

// ownCautions are added wherever the tank has cautions. (Common practice, no
// source.)
var ownCautions = []string{
	"This table is no cut-off and no leak detector: nothing that fills a tank may be started or stopped by it.",
	"Circuits at a fuel or gas tank follow the code for hazardous places; leave them to someone licensed. Keep the current through the sender at 1 mA or less.",
}

// plain makes one line of a text that can't end a comment in any of the forms or
// join it with the line after.
func plain(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r), r == '\\', r == unicode.ReplacementChar:
			return -1
		}
		return r
	}, text)
	text = strings.Join(strings.Fields(text), " ")
	for _, sign := range []string{"*/", "/*", "??"} {
		for strings.Contains(text, sign) {
			text = strings.ReplaceAll(text, sign, sign[:1]+" "+sign[1:])
		}
	}
	return text
}

// cautions gives all that has to be heeded.
func (a About) cautions() []string {
	var list []string
	for _, c := range a.Cautions {
		if c = plain(c); c != "" {
			list = append(list, c)
		}
	}
	if len(list) > 0 {
		list = append(list, ownCautions...)
	}
	return list
}

// header gives the lines that stand at the head of every form.
func (t *Table) header(a About) []string {
	lines := []string{"Lookup table of a level sender: counts to " + t.Quantity.Words() + "."}
	for _, l := range []struct{ label, text string }{{"From: ", a.Source}, {"Date: ", a.Date}, {"Input: ", a.Input}, {"", a.Means}} {
		if text := plain(l.text); text != "" {
			lines = append(lines, l.label+text)
		}
	}
	lines = append(lines, t.kind(),
		fmt.Sprintf("Largest error against the curve, every count from %d to %d tried: %s %s at count %d. One count is %s %s at most.",
			t.First, t.Last, t.told(t.Worst.Steps), t.Quantity.Unit(), t.Worst.Count, t.told(t.CountStep), t.Quantity.Unit()),
		"The error is the table's own. The sender's and the input's come on top of it.",
		fmt.Sprintf("%d is no level. What the counts mean:", NoLevel))
	for _, z := range t.Zones {
		lines = append(lines, fmt.Sprintf("  %d to %d: %s", z.From, z.To, faults[z.Fault].words))
	}
	for _, f := range t.Findings {
		lines = append(lines, plain(f.Text))
	}
	for _, c := range a.cautions() {
		lines = append(lines, "CAUTION: "+c)
	}
	return lines
}

// kind says how the table is read.
func (t *Table) kind() string {
	if len(t.Points) > 0 {
		return fmt.Sprintf("%d points with straight lines between them, rounded to the nearest step, a half upwards; held at both ends.", len(t.Points))
	}
	if t.Shift == 0 {
		return fmt.Sprintf("%d entries, one for each count from %d; held at both ends.", len(t.Entries), t.Base)
	}
	return fmt.Sprintf("%d entries, one for each %d counts from %d; held at both ends.", len(t.Entries), 1<<t.Shift, t.Base<<t.Shift)
}

// told gives steps in the unit of errors, never less than they are.
func (t *Table) told(steps float64) string {
	return quantity.Short(t.rounded(steps), 3)
}

// rounded is told as a number.
func (t *Table) rounded(steps float64) float64 {
	v := quantity.Round(t.Quantity.InUnit(steps), 3)
	if v < t.Quantity.InUnit(steps)-1e-9 {
		v = quantity.Round(v+0.001, 3)
	}
	return v
}

func commented(prefix string, lines []string) string {
	var b strings.Builder
	for _, l := range lines {
		b.WriteString(strings.TrimRight(prefix+l, " ") + "\n")
	}
	return b.String()
}
