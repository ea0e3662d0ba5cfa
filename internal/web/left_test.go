package web

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/doors"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

func amountIs(figure, unit string) string {
	return `<p class="amount"><span>` + figure + `</span> <span>` + unit + `</span></p>`
}

// Whatever state a tank is in, its owner reads what is left, how well that is known,
// how old it is, and what to do where something is wrong; and of a tank without a
// level that can be shown none stands there as if it were one.
func TestLeft(t *testing.T) {
	late := early(t)
	late.standing.Started = sunday.Add(-time.Hour)
	full := stall(t)
	full.levels[0].Share, full.levels[0].Low, full.levels[0].High = 0.84, 0.82, 0.86
	settling := stall(t)
	settling.levels[1] = watch.Level{Tank: "fresh", Time: sunday, Status: watch.Check, Fault: watch.Unsettled}
	for name, c := range map[string]struct {
		w    *watches
		says []string
		no   []string
	}{
		"good": {stall(t), []string{"Nothing is wrong.", amountIs("17", "kg"), "about three quarters of the permitted fill", "between 16 and 18 kg",
			amountIs("32", "L"), "of 90 L, about a third", "between 30 and 34 L", `read <span data-age="4">4 s ago</span>`,
			amountIs("17", "L"), "of 20 L, about four fifths", "Never fill by this figure", "Never fill beyond the permitted fill", ">permitted</text>", `<a href="/left" aria-current="page">What is left</a>`},
			[]string{"54 L", "No level", `class="amiss"`, "is-none", "is-doubtful", "gw-strike", "NAMUR"}},
		"broken": {broken(t), []string{"1 of 3 tanks needs a look.", `<a href="#tank-1" id="to-tank-1"><bdi>Gas</bdi></a> <p>no level</p>`, `<p class="nolevel">No level</p>`,
			`Last good: 17 kg, read <span data-age="1683">28 min ago</span>`, "A wire to its sender is broken or has come off. <b>Ask your fitter.</b>", "Since 09:02."}, []string{amountIs("17", "kg"), "61 %"}},
		"stale, in doubt and nothing kept": {wrongs(t), []string{"2 of 3 tanks need a look.", "Nothing comes from its sender any more. <b>Look whether the power is on. If it is, ask your fitter.</b>", "Since 09:23.",
			"Last good: 32 L", "7 min ago", `class="state is-doubtful"`, "Its sender has gone a little beyond where it was measured, so the level may be off. <b>Ask your fitter if it stays so.</b>", "Since 09:12.",
			"<b>Readings can't be kept: the disk is full. Ask your fitter.</b>", "<p>Since 09:12. The levels are shown all the same.</p>", `<p class="watchnote">No level yet.</p>`, "<li>This machine's clock was set.</li>", amountIs("17", "L")}, []string{amountIs("32", "L"), "/var/lib", "database or disk"}},
		"nothing yet":      {early(t), []string{"No level yet. Wait a moment.", "No reading has come yet."}, []string{"Last good", `id="to-tank-1"`, `class="amount"`}},
		"nothing for long": {late, []string{"Every tank needs a look.", "No reading has come yet. <b>Look whether the power is on. If it is, ask your fitter.</b>"}, []string{"Wait a moment"}},
		"settling":         {settling, []string{"Nothing is wrong. 1 of 3 levels will come in a moment.", "The level has still to settle. <b>Wait a moment.</b>"}, []string{`id="to-tank-2"`}},
		"of all kinds": {chalet(t), []string{"2 of 7 tanks need a look.", amountIs("52", "imp gal"), "of 100 imp gal, about half", "between 50 and 54 imp gal", amountIs("3.7", "US gal"), "of 5 US gal, about three quarters", "between 3.5 and 3.9 US gal",
			amountIs("33", "%"), "about a third", "between 29 and 37 %", amountIs("48", "%"), amountIs("58", "L"), "of 60 L, almost full", "<p>almost full</p>", amountIs("4", "L"), "of 120 L, almost empty", "<p>almost empty</p>",
			`<bdi>خزان الماء العذب</bdi>`, amountIs("14", "L"), "of 70 L, about a fifth", "between 13 and 15 L", "100 s ago"}, []string{"about half of the permitted"}},
		"above the permitted fill": {full, []string{"above the permitted fill", "Never fill by this figure"}, nil},
		"one":                      {one(t), []string{"Nothing is wrong.", amountIs("32", "L")}, []string{"Cautions"}},
		"many":                     {twelve(t), []string{"3 of 12 tanks need a look.", "<bdi>Gas, stall 1, Gas, stall 2, Gas, stall 2, Gas, stall 4</bdi>"}, nil},
		"none":                     {&watches{}, []string{"No tank is watched."}, []string{"Cautions"}},
	} {
		t.Run(name, func(t *testing.T) {
			status, text := open(t, c.w.options).get(leftPath)
			text = strings.ReplaceAll(text, "&#39;", "'")
			if status != 200 {
				t.Fatalf("%d\n%s", status, text)
			}
			for _, want := range c.says {
				if !strings.Contains(text, want) {
					t.Errorf("the page doesn't say %q", want)
				}
			}
			for _, no := range c.no {
				if strings.Contains(text, no) {
					t.Errorf("the page says %q", no)
				}
			}
			shown := strings.Count(text, `class="amount"`)
			if drawn := strings.Count(text, `class="gw-level"`); drawn != shown {
				t.Errorf("%d levels are told and %d are drawn", shown, drawn)
			}
			if struck := strings.Count(text, `class="gw-strike"`); struck != strings.Count(text, `class="nolevel"`) || struck+shown != len(c.w.labels) {
				t.Errorf("of %d tanks %d have a level and %d have none", len(c.w.labels), shown, struck)
			}
			if t.Failed() {
				t.Log(text)
			}
		})
	}
}

// Every fault has its own words, says what to do, and those words are German as well.
func TestLeftWrong(t *testing.T) {
	_, b := german(t)
	say := func(text string) {
		t.Helper()
		if said, all := b.Say(text); !all {
			t.Errorf("the German lacks a part of %q: %q", text, said)
		}
	}
	last := watch.LastGood{Time: sunday.Add(-time.Hour), Share: 0.61, U: 0.01}
	have := map[string]watch.Fault{}
	for fault := watch.BrokenWire; fault <= watch.TooTilted; fault++ {
		for _, status := range []watch.Status{watch.Failure, watch.Check, watch.OutOfSpec, watch.Maintenance} {
			wrong, do := leftWrong(watch.Level{Time: sunday, Status: status, Fault: fault, Last: last})
			if other, ok := have[wrong]; wrong == "" || do == "" || ok && other != fault {
				t.Errorf("%v (%v): %q, %q", fault, status, wrong, do)
			}
			have[wrong] = fault
			say(wrong + " " + do)
		}
	}
	for _, v := range []watch.Level{{}, {Time: sunday, Status: watch.Failure}, {Time: sunday, Fault: 200, Status: watch.Failure}} {
		wrong, do := leftWrong(v)
		say(wrong + " " + do)
	}
	for _, d := range []time.Duration{time.Minute, 30 * time.Hour, 400 * 24 * time.Hour} {
		say("Since " + leftClock(sunday.Add(-d), sunday) + ".")
		for disk := DiskFails; disk <= DiskReadOnly; disk++ {
			trouble := leftTroubleOf(Standing{Failing: "x", Disk: disk, Since: sunday.Add(-d)}, sunday)
			say(trouble.Failing)
			say(trouble.Besides)
		}
	}
	say(leftTroubleOf(Standing{Failing: "x"}, sunday).Besides)
	class := func(list ...string) []leftTank {
		out := make([]leftTank, len(list))
		for i, c := range list {
			out[i].Class = c
			if c == "none" {
				out[i].First = "no level"
			}
		}
		return out
	}
	for _, list := range [][]leftTank{nil, class("good"), class("none"), class("waiting"), class("good", "none"), class("none", "none"), class("good", "none", "none"), class("good", "waiting"), class("good", "good")} {
		say(leftWell(list))
		if said := leftWellBut(list); strings.HasPrefix(said, allWell) {
			t.Errorf("where an alarm stands: %q", said)
		} else {
			say(said)
		}
	}
	for i := range 101 {
		part := leftPart(float64(i) / 100)
		for _, text := range []string{part, gasParts[part], wasteParts[part]} {
			if text == "" {
				t.Errorf("%d %% has no words", i)
			}
			say(text)
			say("of 70 L, " + text)
		}
		// The words are the nearest of their kind: never further off than half the
		// widest gap between two of them.
		for _, p := range parts {
			if p.words == part && math.Abs(p.of-float64(i)/100) > 0.051 {
				t.Errorf("%d %% is %q", i, part)
			}
		}
	}
	for _, text := range []string{"above the permitted fill", "of 70 L", "between 13 and 15 L", "between 3.5 and 3.9 US gal", "Last good: 17 kg", "in doubt", "no level"} {
		if text != "Last good: 17 kg" {
			say(text)
		}
	}
}

// What reading leaves no doubt about: whatever a level holds, no figure is told that
// isn't one, none that isn't to be shown, never less doubt than there is, and of gas
// neither the whole nor any litres beside the column.
func TestLeftLaw(t *testing.T) {
	ends := regexp.MustCompile(`^between ([\d.]+) and ([\d.]+) `)
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
			Time: moment("time"), Shown: rapid.Bool().Draw(t, "shown"), Share: share("share"), U: share("u"), Low: share("low"), High: share("high"),
			Volume: amount("volume"), Mass: amount("mass"), Status: watch.Status(rapid.IntRange(0, 5).Draw(t, "status")), Fault: watch.Fault(rapid.IntRange(0, 14).Draw(t, "fault")),
			Since: moment("since"), Age: time.Duration(rapid.Int64Min(0).Draw(t, "age")), Stale: time.Duration(rapid.Int64Min(0).Draw(t, "stale")),
			Last: watch.LastGood{Time: moment("last"), Share: share("last share"), U: share("last u"), Volume: amount("last volume"), Mass: amount("last mass")},
		}
		l := Label{Tank: "x", Contents: rapid.SampledFrom([]job.Contents{job.LPG, job.Water, job.Waste, job.Diesel}).Draw(t, "contents"), Permitted: quantity.Share(rapid.Float64Range(0, 1).Draw(t, "permitted"))}
		if rapid.Bool().Draw(t, "capacity") {
			l.Shares, l.Volumes = []quantity.Share{0, 0.5, 1}, []quantity.CubicMetre{0, 0.02, 0.07}
		}
		got := leftTankOf(1, l, v, sunday)
		got.Column = leftColumn(l, v, got)
		drawn := strings.Contains(fmt.Sprintf("%+v", got.Column.Shapes), "Role:level ")
		if told := got.Figure != ""; told != drawn || told && !v.Shown {
			t.Fatalf("a level that is to be shown: %v, is told: %v, is drawn: %v", v.Shown, told, drawn)
		}
		if got.Class == "good" && (v.Status != watch.Good || got.Wrong != "") {
			t.Fatal("it looks good")
		}
		if l.Contents == job.LPG && (strings.Contains(got.Of, "of 70 L") || strings.Contains(fmt.Sprintf("%+v", got.Column), "L from")) {
			t.Fatalf("the whole of a gas tank is told: %q", got.Of)
		}
		if m := ends.FindStringSubmatch(got.Between); m != nil {
			low, _ := strconv.ParseFloat(m[1], 64)
			high, _ := strconv.ParseFloat(m[2], 64)
			if figure, _ := strconv.ParseFloat(got.Figure, 64); !(low <= figure && figure <= high+0.5) && got.Unit == "%" && v.Low <= v.Share && v.Share <= v.High {
				t.Fatalf("%s isn't %s", got.Figure, got.Between)
			}
		}
		if text := fmt.Sprintf("%+v", got.leftSaid); strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Fatal(text)
		}
	})
}

// The doubt that is told holds the interval that is known, to the tenth or the whole.
func TestLeftBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mid, u := rapid.Float64Range(0, 70).Draw(t, "litres"), rapid.Float64Range(1e-3, 20).Draw(t, "u")
		l := Label{Contents: job.Water, Shares: []quantity.Share{0, 1}, Volumes: []quantity.CubicMetre{0, 0.070}}
		f := figureL(mid, u)
		a := leftAmountOf(l, quantity.Share(mid/70), 0, 1, f, figure{Mid: math.NaN()})
		if a.low == "" {
			t.Fatal("no doubt is told")
		}
		low, _ := strconv.ParseFloat(a.low, 64)
		high, _ := strconv.ParseFloat(a.high, 64)
		if from, to := f.Low()*1000, min(70, f.High()*1000); low > from+1e-4 || high < to-1e-4 || low < from-1.0001 || high > to+1.0001 {
			t.Fatalf("%v to %v L is told as %s", from, to, a.between())
		}
	})
}

// How long it lasts has its place, and nothing stands there while it isn't known.
func TestLeftLasts(t *testing.T) {
	b := leftBody{Tanks: []leftTank{leftTankOf(1, stall(t).labels[1], stall(t).levels[1], sunday)}}
	show := func() string {
		var text bytes.Buffer
		if err := templates()["left"]().ExecuteTemplate(&text, "now", view{Page: "left", Body: b}); err != nil {
			t.Fatal(err)
		}
		return text.String()
	}
	if text := show(); strings.Contains(text, "lasts") {
		t.Error("it says how long it lasts, and nobody knows")
	}
	b.Tanks[0].Lasts = "At this use it lasts 2 to 4 days."
	if text := show(); !strings.Contains(text, "<p class=\"lasts\">At this use it lasts 2 to 4\u00a0days.</p>") {
		t.Errorf("it doesn't say how long it lasts: %s", text)
	}
}

// What people and networks wrote doesn't become a part of the page.
func TestLeftEscapes(t *testing.T) {
	w := evilWatch(t)
	w.standing = Standing{Failing: breaksOut, Lost: []FeedCount{{breaksOut, 2}}, Notes: []string{breaksOut, runs, runs}}
	b := open(t, w.options)
	_, text := b.get(leftPath)
	_, detail := b.get(watchedPath)
	for _, no := range []string{"<script>alert", "<b class=evil>", "<img class=evil"} {
		if strings.Contains(text, no) || strings.Contains(detail, no) {
			t.Errorf("a page has %q", no)
		}
	}
	if n := strings.Count(text, "&lt;script&gt;alert(1)&lt;/script&gt;"); n < 5 {
		t.Errorf("what was written stands there %d times as text; expected two notes, a heading, a drawing and the cautions", n)
	}
}

// The page stands beside a watch alone, and nowhere else; behind a pass phrase it is
// as closed as the others.
func TestLeftDoors(t *testing.T) {
	b := open(t)
	if _, text := b.get("/"); strings.Contains(text, leftPath) {
		t.Error("a link leads to a page that isn't there")
	}
	for _, path := range []string{leftPath, leftNow, leftStream, leftManifest, leftWorker, leftAway} {
		if status, _ := b.get(path); status != 404 {
			t.Errorf("%s without a watch: %d; expected 404", path, status)
		}
	}
	w := stall(t)
	w.standing = Standing{Failing: "/var/lib/x is full", Notes: []string{"Gas was named."}}
	y := newYard(t, w.options)
	for _, path := range []string{leftPath, leftNow, leftStream, leftAway, leftWorker} {
		if a := y.ask("GET", path, "", nil); a.StatusCode != 401 {
			t.Errorf("%s without signing in: %s", path, a.Status)
		}
	}
	_, secret := y.link("fresh")
	for who, c := range map[string]struct {
		cookies []*http.Cookie
		ages    string
		no      []string
	}{
		"a guest":  {y.ask("GET", "/see/"+secret, "", nil).Cookies(), `"ages":[4]`, []string{amountIs("17", "kg"), "Gas", "Heater", "/var/lib", watchedPath}},
		"an owner": {y.as(doors.Owner), `"ages":[4,4,4]`, []string{watchedPath}},
		"a fitter": {y.as(doors.Fitter), `"ages":[4,4,4]`, nil},
	} {
		text := body(t, y.ask("GET", leftPath, "", c.cookies))
		if !strings.Contains(text, amountIs("32", "L")) || strings.Contains(text, "Levels with all their figures") != (who == "a fitter") {
			t.Errorf("%s sees %s", who, text)
		}
		for _, no := range c.no {
			if strings.Contains(text, no) {
				t.Errorf("%s sees %q", who, no)
			}
		}
		if told := body(t, y.ask("GET", leftStream, "", c.cookies)); !strings.Contains(told, c.ages) {
			t.Errorf("%s is told %s", who, told)
		}
	}
	alone := &bench{t: t, url: onlyWatched(t, stall(t))}
	for path, want := range map[string]string{"/": amountIs("32", "L"), leftNow: amountIs("32", "L"), leftAway: "<h1>Not reached</h1>", leftWorker: `"away":"/left/away"`, leftManifest: `"start_url":"/left"`} {
		if status, text := alone.get(path); status != 200 || !strings.Contains(text, want) {
			t.Errorf("%s alone: %d; expected %q in %s", path, status, want, text)
		}
	}
	if _, text := alone.get(leftAway); strings.Contains(text, "kg") || strings.Contains(text, "amount") {
		t.Error("the page for when nothing is reached has a level")
	}
}

// What a page asks for when something has changed, and what it is told each second,
// for a yard of twelve tanks.
func BenchmarkLeft(b *testing.B) {
	s, err := New(Options{Store: newMemory(), Watch: twelve(b), Now: func() time.Time { return sunday }})
	if err != nil {
		b.Fatal(err)
	}
	r := httptest.NewRequest("GET", "http://localhost"+leftNow, nil)
	b.Run("now", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			w := httptest.NewRecorder()
			if s.ServeHTTP(w, r); w.Code != 200 {
				b.Fatal(w.Code)
			}
			b.ReportMetric(float64(w.Body.Len()), "bytes")
		}
	})
	b.Run("told", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			s.leftTold(r, time.Second)
		}
	})
}
