package web

import (
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Whatever may be amiss, and whatever is counted, is said in German whole.
func TestWatchedInGerman(t *testing.T) {
	_, b := german(t)
	says := func(text string) {
		t.Helper()
		if said, all := b.Say(text); !all {
			t.Errorf("the German lacks a part of %q: %q", text, said)
		}
	}
	last := watch.LastGood{Time: sunday.Add(-time.Hour), Share: 0.61, U: 0.01}
	for fault := watch.BrokenWire; fault <= watch.TooTilted; fault++ {
		for _, status := range []watch.Status{watch.Failure, watch.Check, watch.OutOfSpec, watch.Maintenance} {
			for _, since := range []time.Time{sunday.Add(-28 * time.Minute), sunday.AddDate(0, 0, -3), sunday.AddDate(-1, 0, 0), {}} {
				v := watch.Level{Time: sunday, Status: status, Fault: fault, Since: since}
				says(watchedStatus(v, time.UTC))
				v.Last = last
				says(watchedStatus(v, time.UTC))
				v.Shown = true
				says(watchedStatus(v, time.UTC))
			}
			says("NAMUR NE 107: " + ne107(status) + ".")
		}
	}
	counts := watch.Counts{Taken: 1, Doubled: 1, Late: 1, TooLate: 1, Early: 1, NotNumber: 1, Spikes: 1, Jumps: 1, Open: 1, Short: 1, Beyond: 1, NoValue: 1, Faults: 1}
	for _, c := range counts.Named() {
		says(c.Name)
	}
	for _, d := range []time.Duration{0, time.Second, 90 * time.Second, 5 * time.Minute, 3 * time.Hour, 100 * time.Hour} {
		says(ago(d))
		says("This level is older than " + spell(max(d, time.Second)) + " and isn’t to be relied on any more.")
	}
	for _, n := range []struct{ all, bad int }{{0, 0}, {1, 0}, {1, 1}, {3, 0}, {3, 1}, {3, 2}, {3, 3}} {
		says(watchedSummary(n.all, n.bad))
	}
	for _, f := range []FeedState{{}, {Up: true, Since: sunday}, {Since: sunday.AddDate(0, 0, -2), Again: sunday.Add(8 * time.Second)}, {Since: sunday.AddDate(-1, 0, 0), Again: sunday.Add(10 * time.Minute)}} {
		says(watchedFeedOf(f, sunday).State)
	}
	for _, v := range []watch.Level{{Raw: 61.25, Ohm: 61.25}, {Raw: 2.5, Signal: watch.Volt, Ohm: quantity.Ohm(61)}, {Raw: 512, Signal: watch.Count, Ohm: 61, Clock: watch.ArrivalClock}, {Raw: 61, Signal: watch.Percent}} {
		for _, text := range watchedReading(v) {
			says(text)
		}
	}
	for n := range uint64(3) {
		for _, list := range [][]FeedCount{nil, {{"not a number", 12}}} {
			says(watchedFeedOf(FeedState{Taken: n, Refused: list}, sunday).Came)
		}
	}
}
