package web

import (
	"context"
	"encoding/csv"
	"errors"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/doors"
	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

func (b *bench) says(what, text string, want ...string) {
	b.t.Helper()
	text = html.UnescapeString(text)
	for _, w := range want {
		if !strings.Contains(text, w) {
			b.t.Errorf("%s doesn't say %q", what, w)
		}
	}
}

func (b *bench) saysNot(what, text string, no ...string) {
	b.t.Helper()
	text = html.UnescapeString(text)
	for _, w := range no {
		if strings.Contains(text, w) {
			b.t.Errorf("%s says %q", what, w)
		}
	}
}

// dayBefore begins the day that tests show: up to sunday, half past nine.
var dayBefore = sunday.AddDate(0, 0, -1)

// A day of the gas tank as its fitter sees it: what is left, the drawing, what
// happened, and the figures of the drawing row by row.
func TestLeftTank(t *testing.T) {
	b := open(t, stall(t).withPast(keptDay(dayBefore)).options)
	status, text := b.get("/left/gas")
	if status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	b.says("the page", text,
		"<bdi>Gas</bdi>", "Never fill by this figure", "Never fill beyond the permitted fill",
		`aria-current="true">day</a>`, "1 Nov, 09:30 to 2 Nov, 09:30",
		">read, Ω</text>", ">read, V</text>", ">mqtt</text>", ">modbus/bay</text>", ">bay box</text>",
		">permitted fill</text>", ">3–4</text>", // the flags on the narrow one stand together
		"1 Nov, 15:30 to 1 Nov, 17:30</th><td class=\"words gap\"", "nothing known", "read, but no level: failure",
		"What is kept begins on 30 Oct, 09:30.", "Each row is 5 min",
		`href="/left/gas?for=day&until=2025-11-01T09%3A30%3A00Z"`, "/left/gas/history.csv?for=day&of=readings",
		"no room on the disk", "– The watch was stopped.",
	)
	// Another tank's events are its own, and nothing of gas stands in litres in the past.
	b.saysNot("the page", text, watch.ShortCircuit.String(), `<th scope="col">Liquid</th>`, "Later →", "Up to now")
	if n := strings.Count(text, `<li id="event-`); n != 5 {
		t.Errorf("%d events; expected 5", n)
	}
	if i, k := strings.Index(text, `id="event-5"`), strings.Index(text, `id="event-1"`); i < 0 || k < i {
		t.Error("the latest event doesn't come first")
	}
	// 24 hours in parts of five minutes, without two hours in one row.
	if n := strings.Count(text, `<tr data-from`); n != 288-24+1 {
		t.Errorf("%d rows", n)
	}
	if status, text = b.get("/left/fresh"); status != 200 || !strings.Contains(text, `<th scope="col">Liquid</th>`) {
		t.Errorf("%d, and of water no litres are told", status)
	}
	// 42 % of 90 L at 11:30, by hand.
	b.says("of water", text, "1 Nov, 11:30</th><td>42 %</td><td>39 to 45 %</td><td>37.9 L</td>")
}

// An open wire stands in the file as it was told, and at the edge of the drawing:
// the axis stays with what the sender can give.
func TestLeftTankOpenWire(t *testing.T) {
	b := open(t, openWire(t, dayBefore).options)
	_, text := b.get("/left/gas")
	b.says("the page", text, ">read, beyond the scale</text>", ">60</text>")
	b.saysNot("the page", text, "100000</text>", "50000</text>", "80000</text>")
	if _, file := b.get("/left/gas/history.csv?of=readings"); !strings.Contains(file, ",99999,") {
		t.Error("the file hasn't what was read")
	}
	_, text = open(t, stall(t).withPast(keptDay(dayBefore)).options).get("/left/gas")
	b.saysNot("the page of a sound day", text, "beyond the scale")
	for _, c := range []struct {
		l           Label
		signal      watch.Signal
		least, most float64
	}{
		{Label{Signal: watch.Ohm, Least: 10, Most: 90}, watch.Ohm, -10, 110}, {Label{Signal: watch.Volt, Least: 0.5, Most: 4.5}, watch.Volt, -0.5, 5.5},
		{Label{Signal: watch.Ohm, Least: 10, Most: 90}, watch.Volt, 0, 0}, {Label{}, watch.Ohm, 0, 0}, {Label{Least: 10, Most: 90}, watch.Percent, -25, 125},
	} {
		if least, most := c.l.readable(c.signal); least != c.least || most != c.most {
			t.Errorf("%+v in %v: %g to %g; expected %g to %g", c.l, c.signal, least, most, c.least, c.most)
		}
	}
}

// What an owner and a guest see: never what was read, and of the watch itself no
// more than why nothing is known.
func TestLeftTankVisitors(t *testing.T) {
	b := open(t, stall(t).withPast(keptDay(dayBefore)).options, func(o *Options) { o.Guarded, o.Phrases = true, newPhrases() })
	visit := func(do handler, v doors.Visitor, tank, query string) (int, string) {
		r := httptest.NewRequestWithContext(context.WithValue(t.Context(), visitorKey{}, v), "GET", "http://localhost/left/"+tank+query, nil)
		r.SetPathValue("tank", tank)
		w := httptest.NewRecorder()
		b.site.page(do).ServeHTTP(w, r)
		return w.Code, w.Body.String()
	}
	for _, v := range []doors.Visitor{{Role: doors.Owner}, {Role: doors.Guest, Tanks: []string{"gas"}}} {
		status, text := visit(b.site.leftTankPage, v, "gas", "")
		if status != 200 {
			t.Fatalf("%s: %d", v.Role, status)
		}
		b.saysNot(string(v.Role)+"'s page", text, "read, Ω", ">mqtt</text>", "of=readings", "no room on the disk")
		if n := strings.Count(text, `<li id="event-`); n != 4 {
			t.Errorf("%s: %d events; expected 4", v.Role, n)
		}
		if status, _ := visit(b.site.leftTankCSV, v, "gas", "/history.csv?of=readings"); status != 403 {
			t.Errorf("%s gets what was read: %d", v.Role, status)
		}
		if status, text := visit(b.site.leftTankCSV, v, "gas", "/history.csv"); status != 200 || strings.Contains(text, "no room on the disk") {
			t.Errorf("%s: the file: %d", v.Role, status)
		}
	}
	for _, v := range []doors.Visitor{{}, {Role: doors.Guest, Tanks: []string{"gas"}}, {Role: doors.Owner, Tanks: []string{}}} {
		for _, do := range []handler{b.site.leftTankPage, b.site.leftTankCSV} {
			_, unknown := visit(do, v, "rum", "")
			if status, text := visit(do, v, "fresh", ""); status != 404 || text != unknown || text == "" {
				t.Errorf("%q sees a tank that isn't for them, or that there is one: %d", v.Role, status)
			}
		}
	}
}

func TestLeftTankRefuses(t *testing.T) {
	b := open(t, stall(t).withPast(keptDay(dayBefore)).options)
	for query, want := range map[string]string{
		"?for=fortnight":                                       "Found \"fortnight\" for how long a time to show; expected hour, 6h, day, week, month, year or all.",
		"?until=yesterday":                                     "Found \"yesterday\" for when the time to show ends; expected a day such as 2026-11-03",
		"?until=2025-13-40":                                    "expected a day",
		"?until=0001-01-01":                                    "from 1990 on",
		"?until=1989-01-01T00:00:00Z":                          "from 1990 on",
		"?until=2025-11-02T09:30":                              "expected a day",
		"?until=" + url.QueryEscape(runs):                      "expected a day",
		"?for=" + url.QueryEscape(breaksOut):                   "expected hour, 6h,",
		"/history.csv?of=all":                                  "expected readings",
		"/history.csv?for=x":                                   "expected hour, 6h,",
		"?for=year&until=-9999999999999999999-01-01T00:00:00Z": "expected a day",
	} {
		status, text := b.get("/left/gas" + query)
		if status != 422 {
			t.Errorf("%s: %d; expected 422", query, status)
		}
		b.says(query, text, want)
		if strings.Contains(text, "<script>alert") || strings.Contains(text, "<img class=evil") {
			t.Errorf("%s became a part of the page", query)
		}
	}
	if status, text := b.get("/left/rum"); status != 404 || !strings.Contains(text, "No tank of this name") {
		t.Errorf("a tank that isn't watched: %d", status)
	}
	// What lies ahead is now.
	if status, text := b.get("/left/gas?until=2199-01-01"); status != 200 || !strings.Contains(text, "1 Nov, 09:30 to 2 Nov, 09:30") {
		t.Errorf("up to 2199: %d", status)
	}
}

// Where there is no past, or it can't be read, what is left now stands all the same.
func TestLeftTankWithoutPast(t *testing.T) {
	for name, c := range map[string]struct {
		past *pastOf
		says []string
		no   []string
	}{
		"empty":     {&pastOf{}, []string{"no level known in this time", "Nothing in this time.", "<td class=\"words gap\" colspan=\"2\">nothing known"}, []string{"← Earlier", "What is kept begins"}},
		"one point": {&pastOf{since: sunday.Add(-time.Hour), rolls: []history.LevelRoll{rollAt(sunday.Add(-time.Hour), 61, 2)}}, []string{`class="gw-curve"`, "<td>61 %</td>", "What is kept begins on 2 Nov, 08:30."}, []string{"← Earlier"}},
		"faults only": {&pastOf{since: sunday.Add(-time.Hour), rolls: []history.LevelRoll{{From: sunday.Add(-time.Hour), Without: 60, Worst: watch.Failure}},
			events: []history.Event{{Time: sunday.Add(-time.Hour), Tank: "gas", Kind: history.FaultBegan, Fault: watch.BrokenWire, Status: watch.Failure, Level: -1}}},
			[]string{`class="gw-strike"`, "read, but no level: failure", ">1</text>"}, []string{"the last good level was"}},
		"unreadable": {&pastOf{err: errors.New("no such table")}, []string{"What was kept can't be read at present."}, []string{"no such table", `class="plot"`}},
	} {
		b := open(t, stall(t).withPast(c.past).options)
		status, text := b.get("/left/gas")
		if status != 200 {
			t.Fatalf("%s: %d\n%s", name, status, text)
		}
		b.says(name, text, append(c.says, "61 %")...)
		b.saysNot(name, text, c.no...)
	}
	b := open(t, stall(t).options)
	if status, text := b.get("/left/gas"); status != 200 || !strings.Contains(text, "Nothing is kept here") {
		t.Errorf("nothing is kept: %d", status)
	}
	if status, _ := b.get("/left/gas/history.csv"); status != 404 {
		t.Errorf("the file of nothing: %d", status)
	}
}

// The window and how finely it is asked for: a few hundred parts for every stretch,
// and links that lead on without a break.
func TestLeftTankStretches(t *testing.T) {
	past := years(sunday)
	b := open(t, stall(t).withPast(past).options)
	for _, c := range []struct{ query, from, to, width string }{
		{"?for=hour", "2025-11-02T08:30:00Z", "2025-11-02T09:30:01Z", "10s"},
		{"?for=6h", "2025-11-02T03:30:00Z", "2025-11-02T09:30:01Z", "1m0s"},
		{"", "2025-11-01T09:30:00Z", "2025-11-02T09:30:01Z", "5m0s"},
		{"?for=week", "2025-10-26T09:30:00Z", "2025-11-02T09:30:01Z", "30m0s"},
		{"?for=month", "2025-10-02T09:30:00Z", "2025-11-02T09:30:01Z", "2h0m0s"},
		{"?for=month&until=2025-03-30", "2025-02-28T00:00:00Z", "2025-03-31T00:00:00Z", "2h0m0s"},
		{"?for=year", "2024-11-02T09:30:00Z", "2025-11-02T09:30:01Z", "24h0m0s"},
		{"?for=all", "2024-10-13T09:30:00Z", "2025-11-02T09:30:01Z", "24h0m0s"},
		{"?for=day&until=2025-10-26", "2025-10-26T00:00:00Z", "2025-10-27T00:00:00Z", "5m0s"},
		{"?for=day&until=2025-10-26T12:00:00%2B02:00", "2025-10-25T10:00:00Z", "2025-10-26T10:00:00Z", "5m0s"},
	} {
		past.asked = nil
		status, text := b.get("/left/gas" + c.query)
		if status != 200 || len(past.asked) != 1 {
			t.Fatalf("%s: %d, asked %d times", c.query, status, len(past.asked))
		}
		got := past.asked[0]
		if got.From.UTC().Format(time.RFC3339) != c.from || got.To.UTC().Format(time.RFC3339) != c.to || (time.Duration(got.Grid().Width)*time.Second).String() != c.width || got.Buckets > 1000 {
			t.Errorf("%s: %s to %s by %d s; expected %s to %s by %s", c.query, got.From, got.To, got.Grid().Width, c.from, c.to, c.width)
		}
		if strings.Contains(text, "for=all&amp;until") {
			t.Errorf("%s: all that is kept ends elsewhere than now", c.query)
		}
	}
	// Back and forth again, until now.
	link := regexp.MustCompile(`id="(earlier|later|latest)" href="([^"]+)"`)
	for _, name := range []string{"hour", "day", "month", "year"} {
		at := "/left/gas?for=" + name
		windows := func() map[string]string {
			_, text := b.get(html.UnescapeString(at))
			m := map[string]string{}
			for _, l := range link.FindAllStringSubmatch(text, -1) {
				m[l[1]] = l[2]
			}
			return m
		}
		past.asked = nil
		back := windows()["earlier"]
		at = back
		on := windows()
		if len(past.asked) != 2 || !past.asked[1].To.Equal(past.asked[0].From) {
			t.Errorf("%s: earlier doesn't end where this begins: %v", name, past.asked)
		}
		if on["later"] == "" || on["later"] != on["latest"] && name != "month" {
			t.Errorf("%s: from the one before there is no way on: %v", name, on)
		}
	}
}

// Days begin at midnight of the zone, on days of 23 and 25 hours as well, and where
// no midnight is (IANA time zone database: Europe/Berlin, and America/Santiago on
// 7 September 2025, where clocks go from 24:00 to 1:00).
func TestTimeMarks(t *testing.T) {
	at := func(zone, text string) time.Time {
		z, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		got, err := time.ParseInLocation("2006-01-02 15:04", text, z)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	for _, c := range []struct {
		zone, from, to string
		most           int
		want           string
	}{
		{"Europe/Berlin", "2026-03-29 00:00", "2026-03-30 00:00", 8, "29 Mar@23 03:00@01 06:00@04 09:00@07 12:00@10 15:00@13 18:00@16 21:00@19 30 Mar@22"},
		{"Europe/Berlin", "2026-10-25 00:00", "2026-10-26 00:00", 13, "25 Oct@22 02:00@00 02:00@01 04:00@03 06:00@05 08:00@07 10:00@09 12:00@11 14:00@13 16:00@15 18:00@17 20:00@19 22:00@21 26 Oct@23"},
		{"Europe/Berlin", "2026-10-23 12:00", "2026-10-27 12:00", 8, "24 Oct@22 25 Oct@22 26 Oct@23 27 Oct@23"},
		{"America/Santiago", "2025-09-06 12:00", "2025-09-08 12:00", 3, "7 Sep@04 8 Sep@03"},
		{"Asia/Kathmandu", "2026-01-01 10:00", "2026-01-01 11:00", 5, "10:00@04 10:15@04 10:30@04 10:45@05 11:00@05"},
		{"UTC", "2025-01-15 00:00", "2026-01-15 00:00", 5, "1 Apr 2025@00 1 Jul@00 1 Oct@00 1 Jan 2026@00"},
	} {
		var got []string
		for _, m := range timeMarks(at(c.zone, c.from), at(c.zone, c.to), c.most) {
			got = append(got, m.Label+"@"+time.Unix(int64(m.At), 0).UTC().Format("15"))
		}
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%s from %s to %s: %s\nexpected %s", c.zone, c.from, c.to, text, c.want)
		}
	}
	// A day of the calendar is one, however long it is.
	now := at("Europe/Berlin", "2026-11-02 10:00")
	for day, long := range map[string]int{"2026-03-29": 23, "2026-10-25": 25, "2026-07-01": 24} {
		a, err := pastAskOf(url.Values{"until": {day}}, now)
		if err != nil {
			t.Fatal(err)
		}
		if got := int(a.until.Sub(a.from()) / time.Hour); got != long || a.from().Format("15:04") != "00:00" {
			t.Errorf("%s has %d hours from %s; expected %d", day, got, a.from(), long)
		}
	}
}

// There are never more marks than a drawing has room for, they rise, and days among
// them are days.
func TestTimeMarksAreBounded(t *testing.T) {
	z, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	for span := time.Minute; span < 90*365*24*time.Hour; span += span/2 + 7*time.Second {
		to := sunday.In(z)
		marks := timeMarks(to.Add(-span), to, 13)
		if len(marks) > 13*2+3 || span > time.Hour && len(marks) == 0 {
			t.Errorf("%s: %d marks", span, len(marks))
		}
		if !slices.IsSortedFunc(marks, func(a, b chart.TimeMark) int { return int(a.At - b.At) }) {
			t.Errorf("%s: marks don't rise", span)
		}
	}
}

// Ten thousand events are as many as a page can hold, the latest.
func TestLeftTankManyEvents(t *testing.T) {
	past := keptDay(dayBefore)
	past.events = nil
	for i := range 10_000 {
		past.events = append(past.events, history.Event{Time: dayBefore.Add(time.Duration(i) * 8 * time.Second), Tank: "gas", Kind: history.FaultBegan, Fault: watch.Flicker, Status: watch.Check, Level: 0.5})
	}
	b := open(t, stall(t).withPast(past).options)
	status, text := b.get("/left/gas")
	if n := strings.Count(text, `<li id="event-`); status != 200 || n != mostEvents || !strings.Contains(text, "Only the latest are listed.") || len(text) > 1<<20 {
		t.Errorf("%d, %d events in %d bytes", status, n, len(text))
	}
	// Events at the very edges of the time have their flags in it.
	past.events = []history.Event{{Time: dayBefore, Tank: "gas", Kind: history.FaultBegan, Fault: watch.Flicker, Level: -1}, {Time: sunday, Tank: "gas", Kind: history.FaultEnded, Fault: watch.Flicker, Level: -1},
		{Time: dayBefore.Add(-time.Second), Tank: "gas", Kind: history.FaultBegan, Fault: watch.Jump, Level: -1}}
	_, text = b.get("/left/gas")
	b.says("with events at its edges", text, ">1</text>", ">2</text>", `id="event-2"`)
	b.saysNot("with events at its edges", text, `id="event-3"`, ">3</text>")
}

// What networks and people wrote stays text.
func TestLeftTankEscapes(t *testing.T) {
	w := evilWatch(t)
	past := keptDay(dayBefore)
	past.lines = []history.Line{{Tank: w.labels[0].Tank, Source: breaksOut}}
	past.events = []history.Event{{Time: sunday.Add(-time.Hour), Kind: history.Repaired, Level: -1, Text: runs + "."}}
	b := open(t, w.withPast(past).options)
	status, text := b.get(leftTankPath(w.labels[0].Tank))
	if status != 200 {
		t.Fatalf("%d", status)
	}
	for _, no := range []string{"<script>alert", "<b class=evil>", "<img class=evil"} {
		if strings.Contains(text, no) {
			t.Errorf("the page has %q", no)
		}
	}
}

// The file is CSV by RFC 4180 as Go's encoding/csv reads it, has what the page has,
// and nothing in it that a spreadsheet takes for a formula (OWASP, CSV injection).
func TestLeftTankFile(t *testing.T) {
	past := keptDay(dayBefore)
	past.lines[0].Source = "=HYPERLINK(\"evil\")"
	past.events = append(past.events, history.Event{Time: sunday.Add(-time.Minute), Kind: history.Repaired, Level: -1, Text: "=1+1, \"quoted\"\nsecond line"})
	w := stall(t).withPast(past)
	w.labels[1].Units = quantity.Units{Volume: "US gal"}
	b := open(t, w.options)
	read := func(path string) ([][]string, http.Header) {
		answer, err := http.Get(b.url + path)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		rows, err := csv.NewReader(answer.Body).ReadAll()
		if err != nil || answer.StatusCode != 200 {
			t.Fatalf("%s: %s, %v", path, answer.Status, err)
		}
		return rows, answer.Header
	}
	for _, path := range []string{"/left/gas/history.csv", "/left/fresh/history.csv?for=day", "/left/gas/history.csv?of=readings"} {
		rows, head := read(path)
		if !strings.HasPrefix(head.Get("Content-Type"), "text/csv") || !strings.HasPrefix(head.Get("Content-Disposition"), "attachment; filename=\"") {
			t.Errorf("%s: %v", path, head)
		}
		if len(rows) < 250 {
			t.Errorf("%s: %d rows", path, len(rows))
		}
		for _, row := range rows {
			for _, cell := range row {
				if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r\n") {
					t.Fatalf("%s: the cell %q", path, cell)
				}
			}
		}
	}
	rows, _ := read("/left/fresh/history.csv")
	if got := strings.Join(rows[0], ","); got != "time,level_pct,low_pct,high_pct,least_pct,greatest_pct,levels,readings_without,worst,volume_us_gal,events" {
		t.Error(got)
	}
	// 45 − 2·1.4 % and less by the minutes; 90 L are 23.78 US gal.
	if got := strings.Join(rows[25], ","); got != "2025-11-01T11:30:00Z,42.15,39.65,44.65,41.61,42.6,150,0,good,10.02," {
		t.Error(got)
	}
	rows, _ = read("/left/gas/history.csv")
	if !slices.ContainsFunc(rows, func(r []string) bool { return strings.Contains(r[len(r)-1], watch.BrokenWire.String()) }) {
		t.Error("the broken wire isn't in the file")
	}
	// The silence has no rows but that of its event.
	for _, r := range rows[1:] {
		if r[0] > "2025-11-01T15:30:00Z" && r[0] < "2025-11-01T17:30:00Z" {
			t.Errorf("a row in the silence: %v", r)
		}
	}
}

// A year, and the most that is drawn, in well under 100 ms on a slow machine; all of
// it from a past in memory.
func BenchmarkLeftTank(b *testing.B) {
	past := years(sunday)
	for _, c := range []struct{ name, query, accept string }{{"year", "?for=year", "en"}, {"year-german", "?for=year", "de"}, {"all", "?for=all", "en"}, {"day", "?for=day", "en"}} {
		b.Run(c.name, func(b *testing.B) {
			books, _ := german(b)
			s, err := New(Options{Store: newMemory(), Watch: stall(b).withPast(past), Now: func() time.Time { return sunday }, Languages: books})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				r := httptest.NewRequest("GET", "http://localhost/left/fresh"+c.query, nil)
				r.Header.Set("Accept-Language", c.accept)
				w := httptest.NewRecorder()
				if s.ServeHTTP(w, r); w.Code != 200 {
					b.Fatal(w.Code)
				}
				b.ReportMetric(float64(w.Body.Len()), "bytes")
			}
		})
	}
}
