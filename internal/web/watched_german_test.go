package web

import (
	"strings"
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
	for disk := DiskFails; disk <= DiskReadOnly; disk++ {
		for n := range 3 {
			trouble := watchedTroubleOf(Standing{Failing: "x", Disk: disk, Since: sunday.AddDate(0, 0, -n), Waiting: n}, sunday)
			says(trouble.Failing)
			says(trouble.Waiting)
		}
	}
	for _, lost := range []string{"readings of mqtt that couldn't be kept on disk", "events, of which there were too many at once", "levels of minutes that couldn't be written"} {
		if said, all := b.Voice([]string{"mqtt"}).Say(lost); !all {
			t.Errorf("the German lacks a part of %q: %q", lost, said)
		}
	}
}

// What a watch notes of itself is said in German whole, with the times, names and
// files that stand in it.
func TestNotesInGerman(t *testing.T) {
	_, b := german(t)
	v := b.Voice(nil)
	for text, want := range map[string]string{
		"This machine's clock was set back by 2h0m5s, from 2 November 2025 at 09:30:00 to 2 November 2025 at 07:29:55.":                                                                                                                                              "Die Uhr dieses Geräts wurde um 2h0m5s zurückgestellt, vom 2. November 2025 um 09:30:00 Uhr auf den 2. November 2025 um 07:29:55 Uhr.",
		"This machine's clock went forward by 26h0m0s, from 2 November 2025 at 09:30:00 to 3 November 2025 at 11:30:00: it was set, or the machine slept.":                                                                                                           "",
		"This machine's clock is at 2 November 2025 at 09:30:00, and the last reading of Fresh water was kept at 3 November 2025 at 11:30:00 by it: the clock may be wrong, or was.":                                                                                 "",
		"The watch that was started on 2 November 2025 at 09:30:00 wasn't stopped in order: the power was cut, or the program was ended by force. What was acknowledged is there, the last reading of 2 November 2025 at 11:29:58; 812 readings weren't packed yet.": "",
		"The watch that was started on 2 November 2025 at 09:30:00 wasn't stopped in order: the power was cut, or the program was ended by force. What was acknowledged is there, the last reading of 2 November 2025 at 11:29:58; all of it is packed.":             "",
		"The watch that was started on 2 November 2025 at 09:30:00 wasn't stopped in order: the power was cut, or the program was ended by force. No reading had been acknowledged.":                                                                                 "",
		"The file of readings was damaged: a page doesn't make sense. It was put aside as watch.db.damaged-20251102-093000 and a new one was begun. No folder of backups is known.":                                                                                  "Die Datei der Ablesungen war beschädigt: eine Seite ergibt keinen Sinn. Sie wurde als watch.db.damaged-20251102-093000 beiseitegelegt und eine neue begonnen. Ein Ordner für Sicherungen ist nicht bekannt.",
		"The file of readings was damaged: its beginning doesn't make sense. It was put aside as watch.db.damaged-20251102-093000-2 and a new one was begun. The newest good backup is /mnt/stick/watch-20251101-030000.db of 1 November 2025.":                      "",
		"The file of readings was damaged: its pages don't fit together. It was put aside as watch.db.damaged-20251102-093000 and a new one was begun. There is no good backup in /mnt/stick.":                                                                       "",
		"The file of readings was damaged: it was cut short. It was put aside as watch.db.damaged-20251102-093000 and a new one was begun. The folder of backups can't be read.":                                                                                     "",
		"The file of readings was damaged: what is kept in it doesn't make sense. It was put aside as watch.db.damaged-20251102-093000 and a new one was begun. The folder of backups can't be read.":                                                                "",
		"Some of the readings that were kept last are damaged and were put aside. Commits left out: 2.":                                                                                                                                                              "",
		"The watch of Gas broke down over a reading of mqtt and was begun anew: runtime error: index out of range [3] with length 3.":                                                                                                                                "",
		"The publishing of levels broke down and was begun again: runtime error: invalid memory address or nil pointer dereference (goroutine 7).":                                                                                                                   "",
		"The housekeeping broke down and was begun again: out of paper.":                                                                                            "",
		"The making of backups broke down and was begun again: out of paper.":                                                                                       "",
		"No backup could be made on 2 November 2025 at 09:30:00: mkdir /mnt/stick/backups: no such file or directory.":                                              "",
		"A backup that was being made when the watch before was cut off was taken away: /var/lib/gaugewright/backups/.ABCDEFGHIJKLMNOPQRSTUVWXYZ.tmp, 40960 bytes.": "",
		"A file that was being written when the watch before was cut off was taken away: /var/lib/gaugewright/.ABCDEFGHIJKLMNOPQRSTUVWXYZ.tmp, 40960 bytes.":        "",
		"The file of readings came to more than 200 MB, so 4096 readings from before 2 November 2025 at 09:30:00 were let go of.":                                   "",
		"35 readings that nobody could be asked for again were lost: they couldn't be kept on disk for long.":                                                       "",
	} {
		got, all := v.Say(text)
		t.Logf("%v: %s", all, got)
		if got == text || want != "" && got != want {
			t.Errorf("%q is said as %q; expected %q", text, got, want)
		}
		for _, english := range []string{" was put", " the ", " at ", "The ", "readings"} {
			if strings.Contains(got, english) {
				t.Errorf("%q is said as %q", text, got)
				break
			}
		}
	}
}
