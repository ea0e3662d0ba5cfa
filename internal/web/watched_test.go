package web

import (
	"fmt"
	"html"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/alarm"
	"gaugewright/internal/docket"
	"gaugewright/internal/gauge"
	"gaugewright/internal/history"
	"gaugewright/internal/job"
	"gaugewright/internal/notice"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// watches is a watch whose levels a test sets.
type watches struct {
	mu      sync.Mutex
	labels  []Label
	flows   Flows
	book    docket.Book
	levels  []watch.Level
	counts  []watch.Counts
	feeds   []FeedState
	past    history.Past
	board   *somebody // nil: there are no alarms
	letters *letters  // nil: nothing is sent

	standing Standing
	waiting  chan struct{}
}

func (w *watches) Labels() []Label { return w.labels }

func (w *watches) Levels(time.Time) []watch.Level {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.levels)
}

func (w *watches) Counts() []watch.Counts {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.counts)
}

func (w *watches) Changed() <-chan struct{} {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.waiting == nil {
		w.waiting = make(chan struct{})
	}
	return w.waiting
}

func (w *watches) Past() history.Past { return w.past }
func (w *watches) Standing() Standing { w.mu.Lock(); defer w.mu.Unlock(); return w.standing }
func (w *watches) Feeds() []FeedState { w.mu.Lock(); defer w.mu.Unlock(); return slices.Clone(w.feeds) }

// sets changes a level.
func (w *watches) sets(i int, change func(*watch.Level)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	change(&w.levels[i])
	w.tells()
}

// stands changes how the watch itself stands.
func (w *watches) stands(s Standing) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.standing = s
	w.tells()
}

// tells wakes those who wait for a change. The lock is held.
func (w *watches) tells() {
	if w.waiting != nil {
		close(w.waiting)
		w.waiting = nil
	}
}

// figureL is an amount in litres with its standard uncertainty.
func figureL(litres, u float64) gauge.Figure { return gauge.Figure{Mid: litres / 1000, U: u / 1000} }

// goodLevel is a level that can be believed, read four seconds ago.
func goodLevel(tank string, share, u, litres float64) watch.Level {
	return watch.Level{
		Tank: tank, Source: "mqtt", Time: sunday.Add(-4 * time.Second), Age: 4 * time.Second, Stale: 5 * time.Minute, Raw: 61, Ohm: 61,
		Shown: true, Share: quantity.Share(share), U: quantity.Share(u),
		Low: quantity.Share(max(0, share-2*u)), High: quantity.Share(min(1, share+2*u)),
		Volume: figureL(litres*share, litres*u), Mass: gauge.Figure{Mid: math.NaN(), U: math.NaN()}, Motion: watch.Standing,
	}
}

// lost is a level that isn't shown, with what was good last.
func lost(v watch.Level, fault watch.Fault, since time.Duration) watch.Level {
	at := sunday.Add(-since)
	last := watch.LastGood{Time: at.Add(-3 * time.Second), Share: v.Share, U: v.U, Volume: v.Volume, Mass: v.Mass}
	nan := gauge.Figure{Mid: math.NaN(), U: math.NaN()}
	v.Shown, v.Status, v.Fault, v.Since, v.Last = false, watch.Failure, fault, at, last
	v.Raw, v.Share, v.U, v.Low, v.High, v.Volume, v.Mass = math.NaN(), 0, 0, 0, 0, nan, nan
	if fault == watch.NoReading {
		v.Time, v.Age = last.Time, since+3*time.Second
	}
	return v
}

// stall is three tanks of an invented food stall, all of them good.
func stall(t testing.TB) *watches {
	t.Helper()
	label := func(tank, name string, contents job.Contents, litres float64) Label {
		own := job.Tank{Name: name, Contents: contents, WaterCapacityL: litres}
		if contents == job.LPG {
			own.PermittedFillPct = 80
		}
		return Label{Tank: tank, Label: name, Contents: contents, Cautions: own.Cautions(), Shares: []quantity.Share{0, 1}, Volumes: []quantity.CubicMetre{0, quantity.CubicMetre(litres / 1000)},
			Sentence: "100 % = the whole tank to the brim."}
	}
	w := &watches{
		labels: []Label{label("gas", "Gas", job.LPG, 54), label("fresh", "Fresh water", job.Water, 90), label("diesel", "Heater", job.Diesel, 20)},
		levels: []watch.Level{goodLevel("gas", 0.612, 0.014, 54), goodLevel("fresh", 0.357, 0.009, 90), goodLevel("diesel", 0.84, 0.004, 20)},
		counts: []watch.Counts{{Taken: 5120, Spikes: 12}, {Taken: 5118, Spikes: 3}, {Taken: 900}},
		feeds: []FeedState{
			{Name: "mqtt", Up: true, Where: "127.0.0.1:1883", Since: sunday.Add(-2 * time.Hour), Taken: 10238},
			{Name: "modbus/bay", Up: true, Where: "127.0.0.1:502", Since: sunday.Add(-26 * time.Hour), Taken: 900, Refused: []FeedCount{{"not a number", 12}, {"no tank of that name", 3}}},
		},
	}
	w.labels[0].Permitted = 0.8
	w.levels[0].Mass = gauge.Figure{Mid: 16.9, U: 0.4}
	return w
}

func (w *watches) options(o *Options) { o.Watch = w }

func TestWatchedGood(t *testing.T) {
	b := open(t, stall(t).options)
	status, text := b.get("/watched")
	if status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	for _, want := range []string{
		"3 tanks, and all levels are good.", "from <span class=\"when\">2 Nov, 09:30:00</span>",
		`<a href="/watched" aria-current="page">Levels</a>`,
		`<p class="level">61 %</p>`, "58 to 64 %", "33.0 ± 1.6 L", "16.9 ± 0.8 kg",
		"84.0 %", "83.2 to 84.8 %", // what is known to less than a point has tenths
		">4 s ago</span>", "09:29:56", "standing still", "Good.",
		"Connected since 07:30:00.", ">127.0.0.1:1883<", "Connected since 1 Nov, 07:30:00.",
		"10238 readings kept, none refused.", "<dt>not a number</dt><dd>12</dd>", "<dt>no tank of that name</dt><dd>3</dd>",
		"Never fill beyond the permitted fill", "Never fill by this figure", "permitted",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	for _, no := range []string{"NAMUR", "No level", "is-none", "is-doubtful", "gw-strike"} {
		if strings.Contains(text, no) {
			t.Errorf("all is good, and the page has %q", no)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
}

// Where no level is to be shown none is, in words or in the drawing; the last good
// one stands in words with its age, and the reason with the name of its status.
func TestWatchedNotGood(t *testing.T) {
	for name, c := range map[string]struct {
		w    *watches
		says []string
		no   []string
	}{
		"broken": {broken(t), []string{"1 of 3 levels isn't good.", "Broken wire since 09:02; last good 61 %.", "NAMUR NE 107: failure.", "<dd><b>61 %</b></dd>", "<dd><b>33.0 ± 1.6 L</b></dd>", "<dd><b>16.9 ± 0.8 kg</b></dd>",
			"09:01:57", ">28 min ago</span>", `href="#tank-1"`, ">no level</text>", "Never fill by this figure"}, []string{`<p class="level">61 %</p>`}},
		"stale and doubtful": {silent(t), []string{"2 of 3 levels aren't good.", "No reading since 09:23; last good 36 %.", ">7 min ago</span>", `<p class="nolevel">No level</p>`,
			"Just beyond the calibrated span since 09:12.", "NAMUR NE 107: out of specification.", `class="state is-doubtful"`, `<p class="level">84.0 %</p>`, "<dd><b>87.0 %</b></dd>", "<dd>moving</dd>"}, []string{`<p class="level">36 %</p>`}},
		"nothing yet":    {early(t), []string{"3 tanks, and no level is good.", "No reading has come yet.", "<dd>none yet</dd>", "Not connected yet.", "No reading came in yet."}, []string{`<p class="level">`, "Last good level", "To be looked at first"}},
		"a feed is down": {cutOff(t), []string{"Not connected since 09:28:45. It will be tried again in 8 s.", "connection refused", "Loose contact since 09:29; last good 84 %.", "NAMUR NE 107: function check."}, []string{`<p class="level">84`}},
		"many":           {twelve(t), []string{"3 of 12 levels aren't good.", "<bdi>Gas, stall 1, Gas, stall 2, Gas, stall 2, Gas, stall 4</bdi>"}, nil},
		"nothing":        {&watches{}, []string{"No tank is watched.", "No feed is set up"}, []string{"Cautions"}},
	} {
		status, text := open(t, c.w.options).get("/watched")
		if status != 200 {
			t.Errorf("%s: %d", name, status)
		}
		text = strings.ReplaceAll(text, "&#39;", "'")
		for _, want := range c.says {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the page doesn't say %q", name, want)
			}
		}
		for _, no := range c.no {
			if strings.Contains(text, no) {
				t.Errorf("%s: the page says %q", name, no)
			}
		}
		shown := strings.Count(text, `<p class="level">`)
		if drawn := strings.Count(text, `class="gw-level"`); drawn != shown {
			t.Errorf("%s: %d levels are told and %d are drawn", name, shown, drawn)
		}
		if all := strings.Count(text, `class="nolevel"`); all != strings.Count(text, `class="gw-strike"`) || all+shown != len(c.w.labels) {
			t.Errorf("%s: of %d tanks %d have a level and %d have none", name, len(c.w.labels), shown, all)
		}
	}
}

// Whatever a level holds, nothing is told of it that is no figure, and no level that
// isn't to be shown.
func TestWatchedLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-0.2, 1.2), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 1}))
		share := func(name string) quantity.Share { return quantity.Share(f.Draw(t, name)) }
		amount := func(name string) gauge.Figure {
			return gauge.Figure{Mid: f.Draw(t, name), U: f.Draw(t, name+" u")}
		}
		moment := func(name string) time.Time {
			return rapid.SampledFrom([]time.Time{{}, sunday, sunday.Add(-time.Hour), sunday.Add(time.Hour), sunday.AddDate(-40, 0, 0)}).Draw(t, name)
		}
		v := watch.Level{
			Time: moment("time"), Raw: f.Draw(t, "raw"), Ohm: quantity.Ohm(f.Draw(t, "ohm")), Shown: rapid.Bool().Draw(t, "shown"),
			Signal: watch.Signal(rapid.IntRange(0, 4).Draw(t, "signal")), Share: share("share"), U: share("u"), Low: share("low"), High: share("high"),
			Volume: amount("volume"), Mass: amount("mass"), Status: watch.Status(rapid.IntRange(0, 5).Draw(t, "status")), Fault: watch.Fault(rapid.IntRange(0, 14).Draw(t, "fault")),
			Since: moment("since"), Age: time.Duration(rapid.Int64().Draw(t, "age")), Stale: time.Duration(rapid.Int64().Draw(t, "stale")),
			Last: watch.LastGood{Time: moment("last"), Share: share("last share"), U: share("last u"), Volume: amount("last volume"), Mass: amount("last mass")},
		}
		got := watchedTankOf(Label{Tank: "fresh"}, v, sunday)
		drawn := strings.Contains(fmt.Sprintf("%+v", got.Column.Shapes), "Role:level ")
		if told := got.Level != ""; told != drawn || told && !v.Shown {
			t.Fatalf("a level that is to be shown: %v, is told: %v, is drawn: %v", v.Shown, told, drawn)
		}
		if got.Class == "good" && v.Status != watch.Good {
			t.Fatal("it looks good")
		}
		got.Column.Shapes = nil
		if text := fmt.Sprintf("%+v", got); strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Fatal(text)
		}
	})
}

// What people and networks wrote doesn't become a part of the page.
func TestWatchedEscapes(t *testing.T) {
	_, text := open(t, evilWatch(t).options).get("/watched")
	for _, no := range []string{"<script>alert", "<b class=evil>", "<img class=evil"} {
		if strings.Contains(text, no) {
			t.Errorf("the page has %q", no)
		}
	}
	if n := strings.Count(text, "&lt;script&gt;alert(1)&lt;/script&gt;"); n < 3 {
		t.Errorf("the label stands there %d times as text; expected its heading, its drawing and the cautions", n)
	}
}

// The page alone has no other rooms, no jobs behind it, and the guards at the door.
func TestWatchedAlone(t *testing.T) {
	if _, err := NewWatched(WatchedOptions{}); err == nil {
		t.Error("a page of nothing is made")
	}
	b := &bench{t: t, url: onlyWatched(t, stall(t))}
	status, text := b.get("/")
	if status != 200 || !strings.Contains(text, "<h1>What is left</h1>") {
		t.Errorf("its first page: %d\n%s", status, text)
	}
	if status, text = b.get(watchedPath); status != 200 || !strings.Contains(text, `<p class="level">61 %</p>`) {
		t.Errorf("its page of the levels: %d\n%s", status, text)
	}
	for _, no := range []string{"/meters", "/words", `href="/jobs`} {
		if strings.Contains(text, no) {
			t.Errorf("the page alone has %s", no)
		}
	}
	for _, path := range []string{"/jobs", "/meters", "/sign-in", "/live", "/jobs/j1/1/bench"} {
		if status, _ := b.get(path); status != 404 {
			t.Errorf("%s: %d; expected 404", path, status)
		}
	}
	if status, _ := b.get(assetPath("watched.js")); status != 200 {
		t.Errorf("its script: %d", status)
	}
	r, err := http.NewRequest("GET", b.url+watchedPath, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Host = "gaugewright.example"
	if status, _ := b.answer(http.DefaultClient.Do(r)); status != http.StatusMisdirectedRequest {
		t.Errorf("by a strange name: %d; expected 421", status)
	}
	answer, err := http.Get(b.url + watchedPath)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if p := answer.Header.Get("Content-Security-Policy"); p != policy {
		t.Errorf("its policy is %q", p)
	}
}

// Without a watch there is neither the page nor a link to it.
func TestNothingWatched(t *testing.T) {
	b := open(t)
	if status, _ := b.get(watchedPath); status != 404 {
		t.Errorf("the page: %d; expected 404", status)
	}
	if _, text := b.get("/"); strings.Contains(text, watchedPath) {
		t.Error("a link leads to a page that isn't there")
	}
}

// Behind a pass phrase the levels are as well.
func TestWatchedSignedIn(t *testing.T) {
	b := open(t, stall(t).options, func(o *Options) {
		o.Guarded, o.Phrases = true, newPhrases()
	})
	for _, path := range []string{watchedPath, watchedPath + "/now"} {
		if status, text := b.get(path); strings.Contains(text, "61 %") || status == 200 {
			t.Errorf("%s without signing in: %d", path, status)
		}
	}
}

// What a script asks for every two seconds, for a yard of twelve tanks.
func BenchmarkWatchedNow(b *testing.B) {
	s, err := New(Options{Store: newMemory(), Watch: twelve(b), Now: func() time.Time { return sunday }})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		w := httptest.NewRecorder()
		if s.ServeHTTP(w, httptest.NewRequest("GET", "http://localhost"+watchedPath+"/now", nil)); w.Code != 200 {
			b.Fatal(w.Code)
		}
		b.ReportMetric(float64(w.Body.Len()), "bytes")
	}
}

// How the watch itself stands is said before any level: what can't be kept, why and
// since when, what was lost, and what else people should know, the latest first.
func TestWatchedTrouble(t *testing.T) {
	w := wrongs(t)
	b := open(t, w.options)
	_, text := b.get(watchedPath)
	top, _, _ := strings.Cut(text, `<ul class="watched">`)
	top = html.UnescapeString(strings.ReplaceAll(top, "\u00a0", " "))
	at := 0
	for _, want := range []string{"<b>Readings can't be kept: the disk is full. Since 09:12:00.</b>", "1200 readings wait to be kept, and aren't acknowledged until they are.",
		"the readings can't be written to the disk of /var/lib/x/watch.db: database or disk is full", "Lost for want of room:", "<dt>readings of modbus/bay that couldn't be kept on disk</dt><dd>35</dd>",
		"No level yet.", "This machine's clock was set."} {
		i := strings.Index(top[at:], want)
		if i < 0 {
			t.Fatalf("the page's head lacks %q, or has it elsewhere: %s", want, top)
		}
		at += i
	}
	if strings.Contains(top, "levels of minutes") {
		t.Error("it says that something was lost of which nothing was")
	}
	w.stands(Standing{})
	if _, text := b.get(watchedPath + "/now"); strings.Contains(text, "be kept") || strings.Contains(text, "Lost for") {
		t.Errorf("all is well, and it still says %s", text)
	}
}

func (w *watches) Flows() Flows         { return w.flows }
func (w *watches) Dockets() docket.Book { return w.book }

// Alarms is the board where a test has one.
func (w *watches) Alarms() alarm.Board {
	if w.board == nil {
		return nil
	}
	return w.board
}

// Notices is what was sent where a test has some.
func (w *watches) Notices() notice.Post {
	if w.letters == nil {
		return nil
	}
	return w.letters
}
