package web

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// fresh is the sample with a first tank on whose bench nothing was done; its
// marks are known as the field says, or not yet where it is "".
func fresh(t *testing.T, marks string) *job.Job {
	t.Helper()
	j := sample(t)
	j.Tanks[0].Bench = job.Bench{Marks: marks, Readings: []job.Reading{}}
	j.Tanks[0].Setting, j.Tanks[0].Checks = nil, nil
	return j
}

// first is the bench of a job's first tank.
func (b *bench) first(id job.ID) job.Bench { return b.job(id).Tanks[0].Bench }

// takes posts a reading to the first tank.
func (b *bench) takes(id job.ID, fields ...string) (int, string) {
	b.t.Helper()
	has := map[string]bool{}
	for i := 0; i+1 < len(fields); i += 2 {
		has[fields[i]] = true
	}
	for _, f := range [][2]string{{"key", newKey()}, {"tank", "Gas"}, {"mark", "40"}, {"sweep", "up"}, {"ohm", "36.2"}, {"from", "typed"}} {
		if !has[f[0]] {
			fields = append(fields, f[0], f[1])
		}
	}
	return b.post(fmt.Sprintf("/jobs/%s/1/bench/take", id), fields...)
}

var faultText = regexp.MustCompile(`(?s)<p class="fault"[^>]*>(.*?)</p>`)

func faultOf(text string) string {
	if m := faultText.FindStringSubmatch(text); m != nil {
		return html.UnescapeString(m[1])
	}
	return ""
}

// A reading is kept as it was taken, and the page says so everywhere.
func TestTake(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	status, text := b.takes(id)
	if status != 200 || !strings.Contains(text, "Undo the last: 40 %, 36.2 Ω, going up") {
		t.Errorf("%d\n%s", status, text)
	}
	got := b.first(id)
	if len(got.Readings) != 1 {
		t.Fatalf("%d readings", len(got.Readings))
	}
	r := got.Readings[0]
	if mark, unit, ok := r.Mark(); mark != 40 || unit != curve.Dial || !ok || r.Ohm != 36.2 || r.Sweep != "up" || r.Time != sunday.Format(time.RFC3339) {
		t.Errorf("kept %+v at %v", r, mark)
	}
	if got.By != "R. Fitter" || got.Date != "2025-11-02" || got.Meter != "" {
		t.Errorf("the bench says by %q, on %q, with %q", got.By, got.Date, got.Meter)
	}
	h, _ := b.store.History(context.Background(), id, 1)
	if len(h) != 1 || h[0].Words != "taken: 40 %, 36.2 Ω, going up" {
		t.Errorf("the history says %+v", h)
	}
	// What somebody wrote down is left alone.
	b.post(fmt.Sprintf("/jobs/%s/1/bench", id), "tank", "Gas", "marks", "mark_pct", "by", "someone else", "date", "2025-10-31", "meter", "one from the van")
	b.takes(id, "mark", "50")
	if got := b.first(id); got.By != "someone else" || got.Date != "2025-10-31" || got.Meter != "one from the van" || len(got.Readings) != 2 {
		t.Errorf("%+v", got)
	}
}

// What a person types is a value or isn't; what isn't is told and stays in its
// field, and nothing is kept. The ways to write one are those of SI 5.4.4
// (decimal point or comma) and of the trade (common practice, no source).
func TestTakeTyped(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	n := 0
	for _, c := range []struct {
		mark, ohm string
		want      float64 // −1: refused
		says      string
	}{
		{"40", "36,2", 36.2, ""}, {"40", "36.2 Ω", 36.2, ""}, {"40", "36.2ohm", 36.2, ""}, {"40", "1.2k", 1200, ""}, {"40 %", "0", 0, ""}, {"12,5", "9", 9, ""},
		{"40", "", -1, "nothing was typed"}, {"40", "OL", -1, "overload"}, {"40", "0.L", -1, "overload"}, {"40", "overload", -1, "overload"},
		{"40", "5 V", -1, "volts"}, {"40", "NaN", -1, ""}, {"40", "1e9", -1, "can't come from a level sender"}, {"40", "-3", -1, "can't come from a level sender"},
		{"40", "+Inf", -1, ""}, {"40", "1.234,5", -1, ""}, {"40", "0x20", -1, ""}, {"40", "<script>alert(1)</script>", -1, ""}, {"40", strings.Repeat("9", 900), -1, ""},
		{"", "36.2", -1, "no mark was typed"}, {"101", "36.2", -1, "lies outside"}, {"-1", "36.2", -1, "lies outside"}, {"40 mm", "36.2", -1, "isn't in %"}, {"NaN", "36.2", -1, ""},
	} {
		status, text := b.takes(id, "mark", c.mark, "ohm", c.ohm)
		got := b.first(id).Readings
		if c.want >= 0 {
			n++
			if status != 200 || len(got) != n || got[n-1].Ohm != c.want {
				t.Errorf("%q at %q: %d, %d readings; expected %v to be kept", c.ohm, c.mark, status, len(got), c.want)
			}
			continue
		}
		if status != 422 || len(got) != n {
			t.Errorf("%q at %q: %d, %d readings; expected 422 and nothing kept", c.ohm, c.mark, status, len(got))
		}
		if said := faultOf(text); !strings.Contains(said, "Not taken: ") || !strings.Contains(said, c.says) {
			t.Errorf("%q at %q: says %q; expected %q in it", c.ohm, c.mark, said, c.says)
		}
		if !strings.Contains(text, `aria-invalid="true"`) || strings.Contains(text, "<script>alert") {
			t.Errorf("%q at %q: the field isn't marked, or what was typed is markup", c.ohm, c.mark)
		}
		for _, typed := range []string{c.mark, c.ohm} {
			if typed != "" && !strings.Contains(html.UnescapeString(text), `value="`+typed+`"`) {
				t.Errorf("%q at %q: %q is lost from its field", c.ohm, c.mark, typed)
			}
		}
	}
	if status, text := b.takes(id, "sweep", "sideways"); status != 422 || len(b.first(id).Readings) != n {
		t.Errorf("a sweep there isn't: %d\n%s", status, text)
	}
}

// The places of a job that aren't there, and the tank that has another name by
// now.
func TestTakeElsewhere(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	for _, path := range []string{"/jobs/%s/9/bench", "/jobs/%s/0/bench", "/jobs/%s/x/bench", "/jobs/none/1/bench#%s"} {
		if status, _ := b.get(fmt.Sprintf(path, id)); status != 404 {
			t.Errorf("%s: %d", path, status)
		}
	}
	if status, _ := b.post(fmt.Sprintf("/jobs/%s/9/bench/take", id), "mark", "40", "ohm", "1"); status != 404 {
		t.Errorf("a tank there isn't: %d", status)
	}
	// One kept under the old name is sent again because its answer was lost.
	b.takes(id, "key", "before")
	change := job.Change{At: sunday, Do: func(j *job.Job) error { j.Tanks[0].Name = "Gas, left"; return nil }}
	if _, err := b.store.Change(context.Background(), id, change); err != nil {
		t.Fatal(err)
	}
	if status, text := b.takes(id, "key", "before"); status != 200 {
		t.Errorf("a reading that was kept, sent again: %d %s", status, faultOf(text))
	}
	if status, text := b.takes(id, "mark", "50"); status != 409 || !strings.Contains(text, "was changed on another page") {
		t.Errorf("a tank of another name: %d\n%s", status, text)
	}
	if n := len(b.first(id).Readings); n != 1 {
		t.Errorf("%d readings; expected the one", n)
	}
	for _, form := range []string{"undo", "strike", "restore", "correct"} {
		if status, _ := b.post(fmt.Sprintf("/jobs/%s/1/bench/%s", id, form), "tank", "Gas", "ref", sitting.Ref(b.job(id).Tanks[0], 0), "mark", "1", "ohm", "1"); status != 409 {
			t.Errorf("%s for a tank of another name: %d", form, status)
		}
	}
}

// A page that was made for millimetres takes no litres.
func TestTakeInOtherUnits(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, "mark_mm"))
	if status, _ := b.takes(id, "marks", "mark_pct"); status != 409 {
		t.Errorf("marks of another kind: %d", status)
	}
	if status, _ := b.takes(id, "gives", "volt"); status != 409 {
		t.Errorf("a signal of another kind: %d", status)
	}
	if status, _ := b.takes(id, "marks", "mark_mm", "gives", "ohm"); status != 200 || len(b.first(id).Readings) != 1 {
		t.Errorf("of the same kind: %d", status)
	}
}

// One key is one reading, however often it is sent; two are two.
func TestTakeOnce(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	for range 5 {
		if status, _ := b.takes(id, "key", "spell-meter-1-1-Gas"); status != 200 {
			t.Errorf("sent again: %d", status)
		}
	}
	b.takes(id, "key", "another")
	if n := len(b.first(id).Readings); n != 2 {
		t.Errorf("%d readings, expected 2", n)
	}
	// The page is told which of its readings was there already.
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for key, want := range map[string]string{"another": "already", "third": ""} {
		r, err := client.PostForm(fmt.Sprintf("%s/jobs/%s/1/bench/take", b.url, id), url.Values{"key": {key}, "tank": {"Gas"}, "mark": {"40"}, "sweep": {"down"}, "ohm": {"36"}})
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		to, _ := url.Parse(r.Header.Get("Location"))
		if r.StatusCode != 303 || to.Query().Get("said") != want || to.Query().Get("sweep") != "down" {
			t.Errorf("%s: %d to %v", key, r.StatusCode, to)
		}
	}
}

// Pages that take at the same moment lose nothing and make nothing twice.
func TestTakeAtOnce(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	var all sync.WaitGroup
	for i := range 40 {
		all.Go(func() {
			if status, _ := b.takes(id, "key", fmt.Sprint("key ", i%20), "mark", fmt.Sprint(5*(i%20)), "ohm", fmt.Sprint(i%20)); status != 200 {
				t.Errorf("reading %d: %d", i, status)
			}
		})
	}
	all.Wait()
	seen := map[float64]bool{}
	for _, r := range b.first(id).Readings {
		mark, _, _ := r.Mark()
		if seen[mark] || mark != 5*r.Ohm {
			t.Errorf("%v Ω at %v, or twice", r.Ohm, mark)
		}
		seen[mark] = true
	}
	if len(seen) != 20 {
		t.Errorf("%d readings, expected 20", len(seen))
	}
}

// A full disk is told at once, and what was typed is still there to send again.
func TestTakeDiskFull(t *testing.T) {
	store := newMemory()
	b := open(t, func(o *Options) { o.Store = store })
	id := b.start(fresh(t, "mark_pct"))
	store.fail = fmt.Errorf("no space left: %w", job.ErrFull)
	status, text := b.takes(id, "key", "k", "mark", "45", "ohm", "40,7", "sweep", "down")
	if status != 507 || !strings.Contains(faultOf(text), "Not kept") || !strings.Contains(text, `value="40,7"`) || !strings.Contains(text, `value="45"`) {
		t.Errorf("%d %q", status, faultOf(text))
	}
	if !regexp.MustCompile(`value="down" checked`).MatchString(text) {
		t.Error("the direction is lost")
	}
	if len(b.first(id).Readings) != 0 {
		t.Error("something was kept")
	}
	if status, text := b.post(fmt.Sprintf("/jobs/%s/1/bench", id), "tank", "Gas", "marks", "mark_pct", "by", "somebody new"); status != 507 || !strings.Contains(text, `value="somebody new"`) {
		t.Errorf("how the bench is made: %d", status)
	}
	store.fail = nil
	if status, _ := b.takes(id, "key", "k", "mark", "45", "ohm", "40,7"); status != 200 || len(b.first(id).Readings) != 1 {
		t.Errorf("once there is room: %d, %d readings", status, len(b.first(id).Readings))
	}
}

// The time of a reading is when it was taken: now, or what a page noted that
// couldn't send it then. A clock that was set back breaks nothing.
func TestTakenAt(t *testing.T) {
	now := sunday
	b := open(t, func(o *Options) { o.Now = func() time.Time { return now } })
	id := b.start(fresh(t, "mark_pct"))
	stamp := func(at time.Time) string { return at.Format(time.RFC3339) }
	for i, c := range []struct {
		seen string
		want time.Time
	}{
		{"", sunday},
		{stamp(sunday.Add(-3 * time.Hour)), sunday.Add(-3 * time.Hour)},
		{sunday.Add(-90*time.Minute).Format("2006-01-02T15:04:05.000") + "Z", sunday.Add(-90 * time.Minute)},
		{stamp(sunday.Add(-25 * time.Hour)), sunday},
		{stamp(sunday.Add(time.Minute)), sunday},
		{"yesterday", sunday},
	} {
		if status, text := b.takes(id, "seen", c.seen, "mark", fmt.Sprint(10*i)); status != 200 {
			t.Fatalf("%q: %d %s", c.seen, status, faultOf(text))
		}
		if got := b.first(id).Readings[i].Time; got != stamp(c.want) {
			t.Errorf("%q: kept as %s, expected %s", c.seen, got, stamp(c.want))
		}
	}
	now = sunday.Add(-48 * time.Hour)
	if status, text := b.takes(id, "mark", "60"); status != 200 || !strings.Contains(text, "Undo the last: 60 %") {
		t.Errorf("with the clock set back: %d", status)
	}
	if mark, _, _ := b.first(id).Readings[6].Mark(); mark != 60 {
		t.Errorf("the last reading is at %v", mark)
	}
}

// Without a script the page takes what the meter says at that moment, and
// nothing where it says no value.
func TestTakeFromMeter(t *testing.T) {
	m := newBenchMeters()
	b := open(t, func(o *Options) { o.Meters = m })
	id := b.start(fresh(t, "mark_pct"))
	m.moves(36.17)
	b.takes(id, "ohm", "", "from", "meter")
	m.says(sitting.Reading, 36.2, 7, "")
	m.seen.Steady = 36.19
	b.takes(id, "ohm", "", "from", "meter", "mark", "50")
	got := b.first(id)
	if len(got.Readings) != 2 || got.Readings[0].Ohm != 36.17 || got.Readings[1].Ohm != 36.19 || got.Meter != "bench meter" {
		t.Errorf("kept %+v", got)
	}
	// What the page saw when it was pressed goes before what the meter says now,
	// and what was typed before both.
	b.takes(id, "ohm", "36.4", "from", "meter", "mark", "60")
	b.takes(id, "ohm", "36.5", "from", "typed", "mark", "70")
	got = b.first(id)
	if got.Readings[2].Ohm != 36.4 || got.Readings[3].Ohm != 36.5 {
		t.Errorf("kept %+v", got.Readings)
	}
	for _, state := range []sitting.State{sitting.Away, sitting.Opening, sitting.Overload, sitting.Garbled, sitting.Unfit} {
		m.says(state, 0, 0, "The meter says what it can’t.")
		status, text := b.takes(id, "ohm", "", "from", "meter", "mark", "80")
		if status != 422 || !strings.Contains(faultOf(text), "The meter says what it can’t") || len(b.first(id).Readings) != 4 {
			t.Errorf("%v: %d %q", state, status, faultOf(text))
		}
		if _, text := b.get(fmt.Sprintf("/jobs/%s/1/bench", id)); !strings.Contains(text, `<output id="ohms" for="mark">The meter says what it can’t.</output>`) {
			t.Errorf("%v: the words don't stand in the place of the figure", state)
		}
	}
	m.gives(curve.Volts)
	m.moves(2.5)
	if status, text := b.takes(id, "ohm", "", "from", "meter"); status != 422 || !strings.Contains(faultOf(text), "gives volts") {
		t.Errorf("a meter of volts on a bench of ohms: %d %q", status, faultOf(text))
	}
	m.there = false
	if status, text := b.takes(id, "ohm", "", "from", "meter"); status != 422 || !strings.Contains(faultOf(text), "no meter on the bench now") {
		t.Errorf("without a meter: %d %q", status, faultOf(text))
	}
}

// A reading that doesn't go with the others is asked for again at once.
func TestDoubtfulReading(t *testing.T) {
	b := open(t)
	j := fresh(t, "mark_pct")
	for _, sweep := range []string{"up", "down"} {
		for i := range 11 {
			mark := float64(10 * i)
			if sweep == "down" {
				mark = 100 - mark
			}
			if mark == 40 {
				continue
			}
			r := job.Reading{Ohm: 0.9 * mark, Sweep: sweep}
			r.SetMark(mark, curve.Dial)
			j.Tanks[0].Bench.Readings = append(j.Tanks[0].Bench.Readings, r)
		}
	}
	id := b.start(j)
	if _, text := b.get(fmt.Sprintf("/jobs/%s/1/bench", id)); strings.Contains(text, "go with the others") {
		t.Error("doubts before there is a doubtful reading")
	}
	_, text := b.takes(id, "ohm", "63.1")
	if !strings.Contains(html.UnescapeString(text), `<li class="w-doubt"><b>Look at this:</b> 40 %, 63.1 Ω, going up: it doesn't go with the others: take it again.</li>`) {
		t.Errorf("no word of the doubtful reading in\n%s", text)
	}
	if !strings.Contains(text, `data-mark="40"`) || !strings.Contains(text, "Set aside: it doesn") {
		t.Error("the mark isn't asked for again, or the strip doesn't say so")
	}
	if _, text = b.takes(id, "ohm", "36"); strings.Contains(text, "<b>Look at this:</b> 40 %") {
		t.Error("the repeated reading is doubted as well")
	}
}

// The page stands where its address says, or else where it is suggested to.
func TestBenchPlace(t *testing.T) {
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	field := func(text string) string {
		m := regexp.MustCompile(`id="mark"[^>]*value="([^"]*)"`).FindStringSubmatch(text)
		if m == nil {
			return "no field"
		}
		return html.UnescapeString(m[1])
	}
	for _, c := range []struct{ query, mark, way string }{
		{"", "0", "up"}, {"?sweep=down", "100", "down"}, {"?mark=35&sweep=up", "35", "up"}, {"?mark=%22%3E%3Cscript%3E", `"><script>`, "up"}, {"?sweep=nonsense", "0", "up"},
	} {
		status, text := b.get(at + c.query)
		if status != 200 || field(text) != c.mark || !strings.Contains(text, fmt.Sprintf(`value="%s" checked`, c.way)) || strings.Contains(text, `"><script>`) {
			t.Errorf("%s: %d, stands at %q", c.query, status, field(text))
		}
	}
	if _, text := b.get(at + "?mark=35"); !strings.Contains(text, "go to 35 %") {
		t.Error("the fitter's own mark isn't lit")
	}
}

// Figures of the strip are those of the record; names are text and no markup.
func TestBenchEscapes(t *testing.T) {
	b := open(t)
	j := sample(t)
	const evil = `<script>alert(1)</script>`
	j.Customer, j.Tanks[0].Name, j.Tanks[0].Bench.By, j.Tanks[0].Bench.Readings[3].Note = evil, evil, evil, evil
	id := b.start(j)
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	b.post(at+"/strike", "key", "k", "tank", evil, "ref", sitting.Ref(b.job(id).Tanks[0], 5), "reason", evil)
	status, text := b.get(at)
	if status != 200 || strings.Contains(text, "<script>alert") || strings.Count(text, "&lt;script&gt;alert(1)") < 4 {
		t.Errorf("%d, or markup where there should be text", status)
	}
	if r := b.first(id).Struck; len(r) != 1 || r[0].Reason != evil {
		t.Errorf("struck %+v", r)
	}
	if status, text := b.get(at + "/correct?ref=" + sitting.Ref(b.job(id).Tanks[0], 3)); status != 200 || strings.Contains(text, "<script>alert") {
		t.Errorf("correcting: %d", status)
	}
}

// Cautions stand wherever the contents burn, and in one line always.
func TestBenchCautions(t *testing.T) {
	b := open(t)
	for contents, want := range map[job.Contents]string{job.LPG: "Never fill beyond the permitted fill", job.Diesel: "Never fill to the brim", job.Petrol: "ignites from a spark", job.Other: "Find out what is in this tank", job.Water: "", job.Waste: ""} {
		for _, begun := range []bool{true, false} {
			j := fresh(t, "")
			if begun {
				j = sample(t)
				j.Tanks[0].Setting, j.Tanks[0].Checks = nil, nil
			}
			if tank := &j.Tanks[0]; contents != job.LPG {
				tank.Contents, tank.Gas, tank.Loads, tank.Shape = contents, nil, nil, nil
			}
			_, text := b.get(fmt.Sprintf("/jobs/%s/1/bench", b.start(j)))
			if want == "" {
				if strings.Contains(text, "cautionfold") {
					t.Errorf("%s has cautions", contents)
				}
				continue
			}
			if !strings.Contains(text, want) || !strings.Contains(text, `class="cautions"`) {
				t.Errorf("%s, begun %v: no cautions", contents, begun)
			}
			if open := strings.Contains(text, `<details class="cautionfold" open>`); open == begun {
				t.Errorf("%s, begun %v: open %v", contents, begun, open)
			}
			for _, line := range j.Tanks[0].Cautions() {
				if !strings.Contains(html.UnescapeString(text), line) {
					t.Errorf("%s: lacks %q", contents, line)
				}
			}
		}
	}
}

// The magnet of a simulated sender.
func TestMoveHand(t *testing.T) {
	var moved []float64
	b := open(t, func(o *Options) { o.Hand = func(_ job.Tank, mark float64) { moved = append(moved, mark) } })
	id := b.start(fresh(t, "mark_pct"))
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	if _, text := b.get(at); !strings.Contains(text, "A simulated sender") {
		t.Error("no panel")
	}
	if status, _ := b.post(at+"/hand", "tank", "Gas", "mark", "62.5"); status != 200 || len(moved) != 1 || moved[0] != 0.625 {
		t.Errorf("%d, moved to %v", status, moved)
	}
	if status, _ := b.post(at+"/hand", "tank", "Gas", "mark", "nowhere"); status != 422 || len(moved) != 1 {
		t.Errorf("nowhere: %d, moved to %v", status, moved)
	}
	if status, _ := b.post(at+"/hand", "tank", "another", "mark", "1"); status != 409 || len(moved) != 1 {
		t.Errorf("another tank: %d, moved to %v", status, moved)
	}
	real := open(t)
	id = real.start(fresh(t, "mark_pct"))
	if _, text := real.get(fmt.Sprintf("/jobs/%s/1/bench", id)); strings.Contains(text, "simulated") {
		t.Error("a simulated sender on a real bench")
	}
	if status, _ := real.post(fmt.Sprintf("/jobs/%s/1/bench/hand", id), "mark", "1"); status != 404 {
		t.Errorf("moved on a real bench: %d", status)
	}
}

// Spells are told apart though a meter that is chosen again counts them anew.
func TestSpellRuns(t *testing.T) {
	var s spellRuns
	seen := map[string]bool{}
	for _, c := range []struct {
		name  string
		spell int64
		new   bool // the spell is one that wasn't there before
	}{
		{"a", 0, false}, {"a", 1, true}, {"a", 1, false}, {"a", 0, false}, {"a", 2, true}, {"a", 2, false},
		{"a", 1, true}, {"a", 0, false}, {"a", 1, true}, // chosen again, twice
		{"b", 1, true}, {"b", 5, true}, {"", 0, false}, {"b", 5, true}, {"b", 5, false}, {"b", 0, false}, {"b", 6, true},
	} {
		name := fmt.Sprintf("%s%s-%d", c.name, s.of(c.name, c.spell), c.spell)
		if c.spell != 0 && seen[name] == c.new {
			t.Errorf("%+v is called %s; names so far %v", c, name, seen)
		}
		seen[name] = true
	}
}

// The page of a bench with 40 readings: of a tank whose shape isn't known, and of
// one that lies at a tilt, whose shape is worked out on the way.
func BenchmarkBenchPage(b *testing.B) {
	for _, shape := range []bool{false, true} {
		b.Run(fmt.Sprintf("shape=%v", shape), func(b *testing.B) {
			store := newMemory()
			s, err := New(Options{Store: store, Now: func() time.Time { return sunday }})
			if err != nil {
				b.Fatal(err)
			}
			j, err := job.ReadFile("testdata/sample.job.json")
			if err != nil {
				b.Fatal(err)
			}
			tank := &j.Tanks[0]
			if !shape {
				tank.Shape = nil
			}
			j.Tanks = j.Tanks[:1]
			for n := 0; len(tank.Bench.Readings) < 40; n++ {
				r := tank.Bench.Readings[n]
				r.Ohm = quantity.Round(r.Ohm+0.1*float64(n%3), 1)
				tank.Bench.Readings = append(tank.Bench.Readings, r)
			}
			id, err := store.Start(context.Background(), "", j, sunday)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				w := &counter{head: http.Header{}}
				r, _ := http.NewRequest("GET", fmt.Sprintf("http://localhost/jobs/%s/1/bench", id), nil)
				s.ServeHTTP(w, r)
				if w.status != 200 {
					b.Fatal(w.status)
				}
			}
		})
	}
}

// counter is a browser that reads nothing.
type counter struct {
	head   http.Header
	status int
	n      int
}

func (c *counter) Header() http.Header         { return c.head }
func (c *counter) WriteHeader(status int)      { c.status = status }
func (c *counter) Write(p []byte) (int, error) { c.n += len(p); return len(p), nil }
