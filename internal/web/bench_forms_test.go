package web

import (
	"context"
	"fmt"
	"html"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
)

// How a bench is made is settled before its first reading, and all but the units
// can be changed afterwards.
func TestKeepBench(t *testing.T) {
	b := open(t)
	j := fresh(t, "")
	j.Tanks[0].Sender.Claimed = nil
	id := b.start(j)
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	_, text := b.get(at)
	if !strings.Contains(text, "How are the marks known?") || strings.Contains(text, `id="takebutton"`) {
		t.Error("a bench whose marks aren't known doesn't ask for them first")
	}
	if !strings.Contains(text, `value="R. Fitter"`) {
		t.Error("the job's fitter isn't suggested")
	}
	status, text := b.post(at, "key", "a", "tank", "Gas", "marks", "mark_mm", "gives", "volt", "empty", "12,5", "full", "24 cm", "by", " A. Hand ", "date", "2025-11-01", "meter", "bench meter", "degrees", "−4,5")
	got := b.first(id)
	if status != 200 || got.Marks != "mark_mm" || got.Gives != "volt" || *got.EmptyMark != 12.5 || *got.FullMark != 240 || got.By != "A. Hand" || got.Date != "2025-11-01" || got.Meter != "bench meter" || *got.TemperatureC != -4.5 {
		t.Fatalf("%d %q: %+v", status, faultOf(text), got)
	}
	if !strings.Contains(text, "At the mark, mm") || !strings.Contains(text, "as the meter shows it") || !strings.Contains(text, "12.5") {
		t.Errorf("the page isn't in mm and volts")
	}
	if _, text := b.takes(id, "mark", "20", "ohm", "0.5 V"); faultOf(text) != "" {
		t.Fatal(faultOf(text))
	}
	if got := b.first(id).Readings[0]; *got.MarkMM != 20 || got.Signal != curve.Volts || got.Ohm != 0.5 {
		t.Errorf("kept %+v", got)
	}
	// From here on the units stay.
	if status, text := b.post(at, "tank", "Gas", "marks", "mark_pct", "by", "nobody"); status != 422 || !strings.Contains(faultOf(text), "the marks stay") || b.first(id).By != "A. Hand" {
		t.Errorf("other marks: %d %q", status, faultOf(text))
	}
	b.post(at, "tank", "Gas", "marks", "mark_mm", "gives", "ohm", "degrees", "63F")
	if got := b.first(id); got.Gives != "volt" || got.By != "" || *got.TemperatureC != 17.22 || got.EmptyMark != nil {
		t.Errorf("changed later: %+v", got)
	}
}

// What can't be so is told, with all that was typed still in its fields.
func TestKeepBenchRefuses(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, ""))
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	for _, c := range []struct{ field, typed, says string }{
		{"marks", "mark_cubits", "choose how the marks are known"},
		{"gives", "watts", "choose what the sender gives"},
		{"gives", "volt", "the spans of its data sheet are in ohms"},
		{"empty", "twelve", "type it like"},
		{"empty", "2e9", "lies outside"},
		{"full", "5", "full lies above empty"},
		{"full", "NaN", ""},
		{"degrees", "warm", "the temperature"},
		{"degrees", "400", "expected −60 to 100"},
		{"date", "3 November", "year-month-day"},
	} {
		form := map[string]string{"marks": "mark_mm", "gives": "ohm", "empty": "10", "full": "300", "by": "A. Hand", "meter": "bench meter", "date": "2025-11-01", "degrees": "17"}
		form[c.field] = c.typed
		fields := []string{"tank", "Gas"}
		for name, value := range form {
			fields = append(fields, name, value)
		}
		status, text := b.post(at, fields...)
		if said := faultOf(text); status != 422 || !strings.Contains(said, "Not kept: ") || !strings.Contains(said, c.says) {
			t.Errorf("%s %q: %d %q; expected %q in it", c.field, c.typed, status, said, c.says)
		}
		if b.first(id).Marks != "" {
			t.Fatalf("%s %q: kept", c.field, c.typed)
		}
		for name, value := range form {
			if name != "marks" && name != "gives" && !strings.Contains(html.UnescapeString(text), `value="`+value+`"`) {
				t.Errorf("%s %q: what was typed for %s is lost", c.field, c.typed, name)
			}
		}
	}
	if status, text := b.post(at, "tank", "Gas", "marks", "mark_pct", "by", strings.Repeat("x", 400)); status != 422 || faultOf(text) == "" || b.first(id).Marks != "" {
		t.Errorf("a name of 400 letters: %d %q", status, faultOf(text))
	}
	if status, _ := b.post(at, "tank", "Another", "marks", "mark_pct"); status != 409 {
		t.Errorf("another tank: %d", status)
	}
}

// Litres of gas are never asked for beyond the permitted fill, whatever is typed
// as full.
func TestBenchNeverOverfills(t *testing.T) {
	b := open(t)
	j := fresh(t, "mark_l")
	id := b.start(j)
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	b.post(at, "tank", "Gas", "marks", "mark_l", "full", "54")
	_, text := b.get(at + "?sweep=down")
	if !strings.Contains(text, `data-high="43.`) && !strings.Contains(text, `data-high="42.`) {
		t.Errorf("54 L of which 80 %% may be filled in: the page goes to %s", text[strings.Index(text, "data-high="):][:20])
	}
	j = fresh(t, "mark_l")
	j.Tanks[0].WaterCapacityL, j.Tanks[0].PermittedFillPct, j.Tanks[0].Shape = 0, 0, nil
	_, text = b.get(fmt.Sprintf("/jobs/%s/1/bench", b.start(j)))
	if !strings.Contains(text, `data-high=""`) || !strings.Contains(text, `data-mark=""`) || !strings.Contains(text, "permitted fill") {
		t.Error("gas is poured though nobody knows how much may be")
	}
}

// A reading is struck out with a reason, put back, taken back and corrected; none
// is lost, and the history says what was done to which.
func TestStrikeAndCorrect(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	tank := func() job.Tank { return b.job(id).Tanks[0] }
	n := len(tank().Bench.Readings)
	ref := sitting.Ref(tank(), 4)
	status, text := b.post(at+"/strike", "key", "s", "tank", "Gas", "ref", ref, "reason", "held it askew", "sweep", "down")
	if got := tank().Bench; status != 200 || len(got.Readings) != n-1 || len(got.Struck) != 1 || got.Struck[0].Reason != "held it askew" || got.Struck[0].Ohm != 36.1 {
		t.Fatalf("%d %q %+v", status, faultOf(text), got.Struck)
	}
	if !strings.Contains(text, "Struck out: held it askew") || !strings.Contains(text, "<del>36.1 Ω</del>") {
		t.Error("the strip doesn't show it")
	}
	if h, _ := b.store.History(context.Background(), id, 1); h[0].Words != "struck out: 40 %, 36.1 Ω, going up" {
		t.Errorf("the history says %q", h[0].Words)
	}
	// Sent again it is done once; asked for anew it is told.
	if status, _ := b.post(at+"/strike", "key", "s", "tank", "Gas", "ref", ref); status != 200 || len(tank().Bench.Struck) != 1 {
		t.Errorf("sent again: %d", status)
	}
	if status, text := b.post(at+"/strike", "key", "s2", "tank", "Gas", "ref", ref); status != 422 || !strings.Contains(faultOf(text), "it was struck out in the meantime (held it askew)") {
		t.Errorf("struck twice: %d %q", status, faultOf(text))
	}
	b.post(at+"/restore", "key", "r", "tank", "Gas", "ref", ref)
	if got := tank().Bench; len(got.Readings) != n || got.Readings[4].Ohm != 36.1 || len(got.Struck) != 0 {
		t.Errorf("put back: %+v", got)
	}
	if status, text := b.post(at+"/restore", "key", "r2", "tank", "Gas", "ref", ref); status != 422 || !strings.Contains(faultOf(text), "it stands again") {
		t.Errorf("put back twice: %d %q", status, faultOf(text))
	}
	// Undo names the reading it is for: one taken elsewhere meanwhile stays.
	last := sitting.Ref(tank(), n-1)
	b.takes(id, "mark", "30", "ohm", "27")
	b.post(at+"/undo", "key", "u", "tank", "Gas", "ref", last)
	if got := tank().Bench; len(got.Readings) != n || got.Readings[n-1].Ohm != 27 || got.Struck[0].Reason != "undone" {
		t.Errorf("undone: %+v", got.Struck)
	}
	// Corrected, with what was wrong still there.
	ref = sitting.Ref(tank(), 3)
	status, text = b.get(at + "/correct?ref=" + ref)
	if status != 200 || !strings.Contains(text, `value="17.6"`) || !strings.Contains(text, `value="20"`) {
		t.Errorf("the page that corrects: %d", status)
	}
	for _, c := range []struct{ mark, ohm, says string }{{"20", "", "nothing was typed"}, {"200", "17", "lies outside"}, {"20", "1e9", "level sender"}, {"20", "OL", "overload"}, {"20", "17.6", "it says so already"}} {
		status, text := b.post(at+"/correct", "tank", "Gas", "ref", ref, "mark", c.mark, "ohm", c.ohm, "sweep", "up")
		if status != 422 || !strings.Contains(faultOf(text), c.says) || !strings.Contains(text, `value="`+c.mark+`"`) || len(tank().Bench.Struck) != 1 {
			t.Errorf("%+v: %d %q", c, status, faultOf(text))
		}
	}
	status, text = b.post(at+"/correct", "key", "c", "tank", "Gas", "ref", ref, "mark", "25", "ohm", "17,9", "sweep", "down", "note", "misread")
	got := tank().Bench
	if mark, _, _ := got.Readings[3].Mark(); status != 200 || mark != 25 || got.Readings[3].Ohm != 17.9 || got.Readings[3].Sweep != "down" || got.Readings[3].Note != "misread" || len(got.Struck) != 2 {
		t.Errorf("%d %q %+v", status, faultOf(text), got.Readings[3])
	}
	if !strings.Contains(text, "corrected to 25 %, 17.9 Ω, going down") {
		t.Error("the strip doesn't say what it was corrected to")
	}
	for _, ref := range []string{"", "99-abc", "3", "<script>", ref} {
		if status, _ := b.get(at + "/correct?ref=" + ref); status != 422 {
			t.Errorf("correcting %q: %d", ref, status)
		}
		if status, _ := b.post(at+"/strike", "tank", "Gas", "ref", ref); status != 422 {
			t.Errorf("striking %q: %d", ref, status)
		}
	}
	// An empty bench has nothing to take back.
	empty := b.start(fresh(t, "mark_pct"))
	if status, text := b.post(fmt.Sprintf("/jobs/%s/1/bench/undo", empty), "tank", "Gas"); status != 422 || !strings.Contains(faultOf(text), "no reading to take back") {
		t.Errorf("nothing to undo: %d %q", status, faultOf(text))
	}
}

// The strip says the same as the record's, figure by figure.
func TestBenchStripIsTheRecords(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	_, text := b.get(fmt.Sprintf("/jobs/%s/1/bench", id))
	at := 0
	kept, err := b.store.Job(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	entries := tankOf(kept, 1).View.Strip().Entries
	for i := len(entries) - 1; i >= 0; i-- { // the newest first
		for _, figure := range []string{entries[i].Mark, entries[i].Ohm} {
			next := strings.Index(text[at:], ">"+figure)
			if next < 0 {
				t.Fatalf("entry %d: %q isn't on the strip, or not in its place", i, figure)
			}
			at += next + 1
		}
	}
}
