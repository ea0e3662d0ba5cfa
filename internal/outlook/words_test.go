package outlook

import (
	"testing"
	"time"
)

func TestSentence(t *testing.T) {
	const day = 24 * time.Hour
	// A Tuesday.
	at := time.Date(2026, 12, 1, 14, 0, 0, 0, vienna)
	on := func(d int) time.Time { return time.Date(2026, 12, d, 0, 0, 0, 0, vienna) }
	left := func(low, high time.Duration) Left { return Left{true, low, (low + high) / 2, high} }
	for _, v := range []struct {
		o    Outlook
		want string
	}{
		{Outlook{}, "No use has been seen yet."},
		{Outlook{Why: whyHidden}, "The level can't be believed at present."},
		{Outlook{Left: left(5*day, 7*day), Meals: "evenings", Least: 5, Most: 7, FillBy: on(5)}, "Enough for 5 to 7 evenings; fill before Sunday 6 December."},
		{Outlook{Left: left(5*day, 5*day+5*time.Hour), Meals: "evenings", Least: 5, Most: 5, FillBy: on(5)}, "Enough for 5 evenings; fill before Sunday 6 December."},
		{Outlook{Left: left(20*time.Hour, 40*time.Hour), Meals: "nights", Least: 0, Most: 1, FillBy: on(1)}, "Enough for at most 1 night; fill today."},
		{Outlook{Left: left(50*time.Hour, 80*time.Hour), FillBy: on(2)}, "Enough for 2 to 4 days; fill before Thursday 3 December."},
		{Outlook{Left: left(50*time.Hour, 80*time.Hour), FillBy: on(2), Fills: true}, "Room for 2 to 4 days; empty it before Thursday 3 December."},
		{Outlook{Left: left(2*time.Hour+5, 6*time.Hour), FillBy: on(1)}, "Enough for 2 to 6 hours; fill today."},
		{Outlook{Left: left(time.Minute, 50*time.Minute), FillBy: on(1)}, "Enough for at most 1 hour; fill today."},
		{Outlook{Left: left(30*time.Minute, 300*day), FillBy: on(1)}, "Enough for at most 300 days; fill today."},
		{Outlook{Left: left(30*time.Minute, Farthest), FillBy: on(1)}, "It can't be told yet how long it lasts; fill today."},
		{Outlook{Left: left(5*time.Hour, 300*day), FillBy: on(1)}, "Enough for at least 5 hours; fill today."},
		{Outlook{Left: left(9*day, Farthest), FillBy: on(12)}, "Enough for at least 9 days; fill before Sunday 13 December."},
		{Outlook{Left: left(70*day, 100*day), FillBy: on(80)}, "Enough for 10 to 15 weeks; fill before Friday 19 February."},
		{Outlook{Left: left(370*day, Farthest)}, "Enough for more than a year."},
		{Outlook{Left: left(0, 0), FillBy: on(1)}, "Nothing is left; fill today."},
		{Outlook{Left: left(0, 0), FillBy: on(1), Fills: true}, "No room is left; empty it today."},
	} {
		v.o.At = at
		if got := v.o.Sentence(vienna); got != v.want {
			t.Errorf("%q, want %q", got, v.want)
		}
	}
}

// Evenings are counted as people do: one that is over by the low end counts, and the
// high end's counts once it has begun.
func TestCount(t *testing.T) {
	m := stall(28, 1)
	now := m.now // Sunday, at midnight
	for _, v := range []struct {
		low, high   time.Duration
		least, most int
	}{
		{10 * time.Hour, 16 * time.Hour, 0, 0},
		{10 * time.Hour, 18 * time.Hour, 0, 1},
		{24 * time.Hour, 24 * time.Hour, 1, 1},
		{68 * time.Hour, 90 * time.Hour, 2, 4},
	} {
		o := Outlook{At: now, Meals: "evenings", Left: Left{true, v.low, v.low, v.high}}
		if least, most := m.m.count(o); least != v.least || most != v.most {
			t.Errorf("from %v to %v: %d to %d evenings, want %d to %d", v.low, v.high, least, most, v.least, v.most)
		}
	}
}
