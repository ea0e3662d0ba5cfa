package web

import (
	"testing"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/flow"
	"gaugewright/internal/job"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
)

// Every sentence of what came in and went out, and of how long it lasts, is said in
// German whole.
func TestFlowsInGerman(t *testing.T) {
	_, b := german(t)
	v := b.Voice([]string{"Gas"})
	says := func(text string) string {
		t.Helper()
		got, all := v.Say(text)
		if !all || got == text {
			t.Errorf("%q is said as %q", text, got)
		}
		return got
	}
	for _, contents := range []job.Contents{job.LPG, job.Water, job.Waste, job.Petrol, job.Other} {
		l := Label{Tank: "x", Contents: contents}
		for _, m := range []measure{{27, "kg"}, {90, "L"}, {23.8, "US gal"}, {100, "%"}, {60, "lb"}} {
			for _, p := range []float64{0.6, 0.99} {
				for _, kind := range []flow.Kind{flow.Refill, flow.Drain, flow.Use, flow.Leak, flow.Drop, flow.Stuck} {
					for _, end := range []time.Time{{}, sunday.Add(-50 * time.Minute), sunday.Add(30 * time.Hour), sunday.Add(-time.Hour + time.Second)} {
						e := flow.Event{Kind: kind, Start: sunday.Add(-time.Hour), End: end, Amount: 0.3, Low: 0.28, High: 0.33, PerHour: 0.02, P: p}
						says(flowWords(l, m, e, sunday))
						e.PerHour, e.Low, e.High = 0, 0.3, 0.3
						says(flowWords(l, m, e, sunday))
					}
				}
				what, do, since := leakSaid(l, m, flow.Event{Kind: flow.Leak, Start: sunday.Add(-30 * time.Hour), PerHour: 0.01, P: p}, sunday)
				says(what)
				says(do)
				says(since)
			}
		}
	}
	for _, s := range []flow.Swing{{Known: true, High: 0.003}, {Known: true, Mid: 0.004, High: 0.013}, {Known: true, Low: 0.01, Mid: 0.02, High: 0.031}} {
		says(swingWords(s))
	}
	want := map[string]string{
		"Enough for 5 to 7 evenings; fill before Friday 7 November.":                                     "Reicht für 5 bis 7 Abende; vor Freitag, 7. November füllen.",
		"Room for 2 to 4 days; empty it before Monday 3 November.":                                       "Platz für 2 bis 4 Tage; vor Montag, 3. November leeren.",
		"Enough for at least 9 days; fill today.":                                                        "Reicht für mindestens 9 Tage; heute füllen.",
		"Gas: leak or sudden loss":                                                                       "Gas: Leck oder plötzlicher Verlust",
		"Gas: no longer seems to leak":                                                                   "Gas: scheint nicht mehr undicht",
		"Gas: lasts longer than 3 days again":                                                            "Gas: reicht wieder länger als 3 Tage",
		"That began on 2 November 2025 at 06:30. The owner acknowledged it on 2 November 2025 at 09:30.": "Das begann am 2. November 2025 um 06:30 Uhr. Quittiert von dem Eigentümer am 2. November 2025 um 09:30 Uhr.",
		"The fitter shelved it.":                                                                         "Zurückgestellt von dem Monteur.",
		"It came 3 times since the last notice. " + alarm.GasLeaks:                                       "Das kam 3-mal seit der letzten Nachricht. Das Ventil des Tanks schließen. Keine Flamme, kein Funke, kein Schalter. Lüften, alle hinausbringen und einen Fachbetrieb rufen.",
		"Gas: 3 alarms": "Gas: 3 Alarme",
	}
	for text, german := range want {
		if got := says(text); got != german {
			t.Errorf("%q is said as %q; expected %q", text, got, german)
		}
	}
	day := 24 * time.Hour
	for _, fills := range []bool{false, true} {
		for _, meals := range []string{"", "evenings", "mornings", "middays", "afternoons", "nights"} {
			for _, left := range [][2]time.Duration{{0, 0}, {2 * time.Hour, 9 * time.Hour}, {time.Hour, time.Hour}, {3 * day, 5 * day}, {70 * day, 90 * day}, {380 * day, 400 * day}, {20 * day, 400 * day}, {200 * day, 400 * day}} {
				for _, by := range []time.Time{{}, sunday.Truncate(day), sunday.Truncate(day).Add(4 * day)} {
					for _, n := range []int{2, 3} {
						says(outlook.Outlook{At: sunday, Left: outlook.Left{Known: true, Low: left[0], Mid: left[0], High: left[1]}, FillBy: by, Meals: meals, Least: n, Most: 2 * n, Fills: fills}.Sentence(time.UTC))
					}
				}
			}
		}
	}
	says(hoursWords([24]float64{18: 1, 19: 1}))
	for i := range weekdays {
		var by [7]float64
		by[i], by[(i+3)%7] = 1, 1
		says(weekdayWords(by))
	}
	full, unit := quantity.Units{}.VolumeIn(0.001)
	says("The sender saw " + measure{full, unit}.around(31, 29.5, 32.5) + " come in, 2 Nov, 09:21 to 09:28.")
}
