package web

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/watch"
)

// provedLive is the stall with the sample's gas tank among what is watched.
func provedLive(t testing.TB) *watches {
	w := stall(t)
	w.labels[0].Job, w.labels[0].JobTank = "TK-2026-014", "Gas"
	w.levels[0].Raw, w.levels[0].Ohm = 37.5, 37.5
	return w
}

// The page says what the watch reads, what a display set so shows of it, and keeps
// looks as the page without it does.
func TestProveLive(t *testing.T) {
	w := provedLive(t)
	b := open(t, w.options)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/prove", id)
	if _, text := b.get(path); !strings.Contains(text, `href="`+path+`/live?when=as&#43;left"`) && !strings.Contains(text, path+"/live?when=as%20left") {
		t.Errorf("the prove page doesn't lead to it")
	}
	status, text := b.get(path + "/live?mark=40")
	if status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	// 0 and 75 Ω are keyed in: 37.5 Ω is the half of it, by hand; 40 % of the dial is
	// half of the 80 % that are permitted.
	b.says("the page", text, `<p class="huge goto">40 <small>%</small></p>`, "<b>50.0 %</b>", `37.5 <small>Ω</small>`, "<dd><b>50.0 %</b></dd>",
		"<b>61 %</b>, between 58 to 64 %", "Whether it stands still isn’t known yet.", "Take what the watch shows: 61 %", "Keyed in: <b>0 and 75 Ω</b>", "4 s ago")

	before := len(b.job(id).Tanks[0].Checks)
	post := func(fields ...string) (int, string) {
		return b.post(path+"/live", append([]string{"tank", "Gas", "tolerance", "2", "when", "as left", "by", "Me"}, fields...)...)
	}
	post("key", "1", "mark", "0", "shown", "0")
	status, text = post("key", "2", "mark", "40", "take", "watch", "shown", "")
	if status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	b.says("the page after both", text, "looked at", "Fail")
	checks := b.job(id).Tanks[0].Checks
	if len(checks) != before+1 || len(checks[before].Readings) != 2 || checks[before].Readings[1].ShownPct != 61 || checks[before].By != "Me" || checks[before].When != job.AsLeft {
		t.Errorf("the check: %+v", checks[before:])
	}
	// What the two pages say of it is the same.
	_, other := b.get(path)
	for _, want := range []string{"1 of 2 within 2 points", "One more mark makes it a proof."} {
		if strings.Contains(text, want) != strings.Contains(other, want) {
			t.Errorf("%q stands on one of the pages only", want)
		}
	}
	status, text = post("key", "3", "mark", "60", "shown", "lots")
	if status != 422 || !strings.Contains(text, `name="shown" value="lots"`) || !strings.Contains(text, "expected percent") || !strings.Contains(text, "37.5") {
		t.Errorf("what can't be used: %d", status)
	}
	w.sets(0, func(v *watch.Level) { *v = lost(*v, watch.BrokenWire, time.Minute) })
	if status, text = post("key", "4", "mark", "60", "take", "watch"); status != 422 || !strings.Contains(text, "nothing to take") || strings.Contains(text, `value="watch"`) {
		t.Errorf("a level that isn't shown is taken: %d", status)
	}
	b.says("a broken wire", text, "The last reading had no value.", "Broken wire")
	if n := len(b.job(id).Tanks[0].Checks[before].Readings); n != 2 {
		t.Errorf("%d looks; expected 2", n)
	}
	if status, _ = b.post(path+"/live", "tank", "Another", "mark", "40", "shown", "50", "tolerance", "2", "when", "as left"); status != 409 {
		t.Errorf("for a tank of another name: %d; expected 409", status)
	}
}

// Without a watch of this very tank there is no such page, and no way to it.
func TestProveLiveOfOthers(t *testing.T) {
	for name, change := range map[string]func(*watches){
		"another job":  func(w *watches) { w.labels[0].Job = "TK-2026-015" },
		"another tank": func(w *watches) { w.labels[0].JobTank = "Fresh water" },
		"by its ends":  func(w *watches) { w.labels[0].Job, w.labels[0].JobTank = "", "" },
	} {
		w := provedLive(t)
		change(w)
		b := open(t, w.options)
		path := fmt.Sprintf("/jobs/%s/1/prove", b.start(sample(t)))
		if _, text := b.get(path); strings.Contains(text, "/prove/live") {
			t.Errorf("%s: a link leads there", name)
		}
		status, text := b.get(path + "/live")
		if status != 200 || strings.Contains(text, "37.5") || !strings.Contains(text, "No running watch reads this tank.") {
			t.Errorf("%s: %d", name, status)
		}
		if status, _ := b.post(path+"/live", "tank", "Gas", "mark", "40", "take", "watch", "tolerance", "2", "when", "as left"); status != 422 {
			t.Errorf("%s: taking what another tank shows: %d; expected 422", name, status)
		}
	}
}

// A value stands still when it has for three seconds; not while it moves, not right
// away, and not by one reading that is seen again and again.
func TestFeedStandsStill(t *testing.T) {
	at := sunday
	for name, c := range map[string]struct {
		values []float64
		every  time.Duration
		want   feedState
	}{
		"one":            {[]float64{40}, time.Second, feedUnknown},
		"the same again": {[]float64{40, 40, 40, 40, 40, 40}, 0, feedUnknown},
		"five alike":     {[]float64{40, 40.05, 40, 40.1, 40}, time.Second, feedStands},
		"every ten":      {[]float64{40, 40.05, 40}, 10 * time.Second, feedStands},
		"on the move":    {[]float64{40, 41, 42, 43, 44}, time.Second, feedMoves},
		"moved just now": {[]float64{40, 40, 40, 40, 40, 45}, time.Second, feedMoves},
		"a minute apart": {[]float64{40, 40, 40, 40}, time.Minute, feedUnknown},
		"then nothing":   {[]float64{40, 40, 40, 40, 40, math.NaN()}, time.Second, feedUnknown},
	} {
		var f feedRuns
		var got feedState
		for i, v := range c.values {
			got = f.add("a", watch.Level{Time: at.Add(time.Duration(i) * c.every), Raw: v})
		}
		if got != c.want {
			t.Errorf("%s: %v; expected %v", name, got, c.want)
		}
	}
	var f feedRuns
	for i := range 1000 {
		f.add(fmt.Sprint(i), watch.Level{Time: at, Raw: 1})
	}
	if len(f.runs) > mostFeeds {
		t.Errorf("%d tanks are remembered", len(f.runs))
	}
}
