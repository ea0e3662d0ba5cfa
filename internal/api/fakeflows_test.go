package api

import (
	"context"
	"slices"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
)

// Flows answers for the stall's use: of the fresh water much is known, of the gas that
// it leaks, of the diesel nothing.
func (s *stall) Flows() Flows { return stallFlows{s} }

type stallFlows struct{ s *stall }

func (f stallFlows) Outlooks(now time.Time) []outlook.Outlook {
	return []outlook.Outlook{
		{
			At: now.Add(-4 * time.Second), Rate: outlook.Rate{Known: true, Low: 0.082, Mid: 0.0941, High: 0.108},
			Left: outlook.Left{Known: true, Low: 118 * time.Hour, Mid: 141 * time.Hour, High: 167 * time.Hour}, FillBy: time.Date(2026, 11, 28, 0, 0, 0, 0, time.UTC), Days: 21,
		},
		{At: now.Add(-time.Minute), Why: "The sender can't be believed."},
		{Why: "Nothing was seen yet."},
	}
}

func (f stallFlows) Uses() []Use {
	fresh := Use{Full: 0.0999, FullMass: 99.8, Days: []outlook.Day{{Day: noon.Truncate(24*time.Hour).AddDate(0, 0, -1), Amount: 0.09, Whole: true}, {Day: noon.Truncate(24 * time.Hour), Amount: 0.04}}}
	fresh.ByHour[19], fresh.ByWeekday[6] = 1, 1
	return []Use{fresh, {}, {}}
}

func (f stallFlows) Flows(_ context.Context, tank string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error) {
	if tank == "lpg" {
		return []flow.Event{{Kind: flow.Leak, Start: noon.Add(-9 * time.Hour), Found: noon.Add(-2 * time.Hour), Amount: 0.03, Low: 0.02, High: 0.04, PerHour: 0.0033, Before: 0.64, After: -1, P: 0.97, Why: "It fell without a pause."}}, f.s.err
	}
	list := []flow.Event{
		{Kind: flow.Stuck, Start: noon.Add(-time.Hour), End: noon, Found: noon, Before: -1, After: -1, P: 0.6},
		{Kind: flow.Refill, Start: noon.Add(-3 * time.Hour), End: noon.Add(-170 * time.Minute), Found: noon.Add(-175 * time.Minute), Amount: 0.412, Low: 0.401, High: 0.423, Before: 0.382, After: 0.794, P: 0.998},
	}
	list = slices.DeleteFunc(list, func(e flow.Event) bool { return len(kinds) > 0 && !slices.Contains(kinds, e.Kind) })
	return list[:min(most, len(list))], f.s.err
}
