package telling

import (
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Lasting is what is in a tank and how long it lasts, in words, in the order in
// which it is told.
type Lasting struct {
	Title    string            // which tank, how warm, how full
	Bad      []finding.Finding // what comes before any figure
	Rows     Grid              // "in it", "use per day", "lasts", "refill by"; without a head
	Uses     []string          // what each load takes; empty where there are none
	Ask      string            // what to ask for at the pump; "" where nothing may be filled in
	Others   []finding.Finding // the other findings
	Cautions []string
}

// The headings above the uses and the cautions.
const (
	UsesHead    = "What uses it"
	CautionHead = "Caution"
)

// Outlook tells what is in a tank at a level and what comes of it, in a person's
// units.
func Outlook(t job.Tank, o job.Outlook, u quantity.Units) Lasting {
	l := Lasting{
		Title: fmt.Sprintf("%s (%s) at %s, filled to %s of its water capacity", t.Name, t.Contents,
			quantity.Minus(u.TemperatureText(o.Kelvin)), quantity.Share(quantity.Round(float64(o.Level.Share), 3))),
		Rows:     Grid{Head: []string{"", ""}, Left: 2},
		Cautions: t.Cautions(),
	}
	l.Bad, l.Others = toSay(o)
	l.Rows.Add("in it", Amounts(o, u))
	if !o.Lasting.Nothing {
		l.Rows.Add("use per day", o.UseWords(u))
		lasts, by := "lasts", "refill by"
		if o.Room {
			lasts, by = "room for", "empty by"
		}
		l.Rows.Add(lasts, o.LastsWords())
		if !o.RefillBy.IsZero() {
			l.Rows.Add(by, o.RefillBy.Format("2 January 2006"))
		}
	}
	for _, p := range o.Lasting.Parts {
		l.Uses = append(l.Uses, partWords(o, p))
	}
	if o.Asks && !o.Ask.Nothing {
		l.Ask = o.AskWords(u)
	}
	return l
}

// toSay parts what is bad from the rest, without what the sentence on filling has
// said.
func toSay(o job.Outlook) (bad, others []finding.Finding) {
	for _, f := range o.Findings {
		switch {
		case f.Weight == finding.Bad:
			bad = append(bad, f)
		case f.Kind != "filling-stop":
			others = append(others, f)
		}
	}
	return bad, others
}

// Amounts lists litres, mass and heat as far as they are known: "20 ± 2 L, 10.5 ±
// 1 kg, 134 ± 13 kWh net".
func Amounts(o job.Outlook, u quantity.Units) string {
	parts := []string{job.VolumeWords(u, o.Amount.Volume)}
	if o.Amount.Weighs {
		parts = append(parts, job.MassWords(u, o.Amount.Mass))
	}
	if o.Amount.Burns {
		parts = append(parts, job.HeatWords(u, o.Amount.Net)+" net")
	}
	return strings.Join(parts, ", ")
}

// partWords says what one load takes of the use, and for how long it could run by
// itself.
func partWords(o job.Outlook, p contents.Part) string {
	text := fmt.Sprintf("%s: %s %% of the use", p.Name, quantity.Digits(float64(p.Share)*100, 0))
	for _, r := range o.Running {
		if r.Name == p.Name {
			text += "; by itself, without a pause: " + r.Words()
		}
	}
	return text
}

// Means says what is in a tank as full as it may be, and when the display shows
// half, and how long that lasts; nothing where it isn't known.
func Means(t job.Tank, u quantity.Units) []string {
	full, err := t.Full()
	if err != nil {
		return nil
	}
	half, err := t.AtLevel(0.5)
	if err != nil {
		return nil
	}
	var out []string
	for _, l := range []struct {
		name  string
		level job.Level
	}{{"as full as it may be", job.Level{Share: full}}, {"at 50 % of the display", half}} {
		o, err := t.OutlookTogether(l.level, time.Time{})
		if err != nil {
			return nil
		}
		out = append(out, fmt.Sprintf("%s: %s; lasts %s", l.name, Amounts(o, u), o.LastsWords()))
	}
	return out
}
