package web

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/tankfile"
)

// wants fails the test where a page lacks any of the texts.
func (b *bench) wants(page string, texts ...string) {
	b.t.Helper()
	for _, text := range texts {
		if !strings.Contains(page, text) && !strings.Contains(html.UnescapeString(page), text) {
			b.t.Errorf("the page lacks %q", text)
		}
	}
}

func TestNoJobs(t *testing.T) {
	b := open(t)
	status, text := b.get("/")
	if status != 200 {
		t.Fatalf("status %d", status)
	}
	b.wants(text, "There is no job here yet. Type the customer’s name above and press Start a job; or <a href=\"#import\">take in a job file</a>", `formaction="/jobs"`)
}

func TestListOfJobs(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	b.start(&job.Job{Number: "2025-002", Customer: "Hut on the hill", Tanks: []job.Tank{}})
	_, text := b.get("/")
	b.wants(text, "2 jobs, the last changed first.", "Tidewater Kitchen", "food trailer, twin axle", "TK-2026-014",
		`href="/jobs/`+string(id)+`/open"`, "today, 09:30", "Hut on the hill", "vehicle not stated", "No tank yet",
		`<li class="gw-gas`, `<li class="gw-water`, `<li class="gw-fuel`, "<bdi>Gas</bdi></b>, LPG – done: record can be handed over")

	_, text = b.get("/?find=HUT+hill")
	b.wants(text, "1 job found.", "Hut on the hill", `value="HUT hill"`)
	if strings.Contains(text, "Tidewater") {
		t.Error("a job that doesn't match is listed")
	}
	_, text = b.get("/?find=nobody")
	b.wants(text, "No job has all of that")
	if strings.Contains(text, "There is no job here yet") {
		t.Error("a search that finds nothing says that there is no job at all")
	}
}

func TestLongListOfJobs(t *testing.T) {
	b := open(t, func(o *Options) { o.Store = thousand{newMemory()} })
	_, text := b.get("/?find=x")
	b.wants(text, "100 jobs shown, 900 more match. Type more to find one.")
	if n := strings.Count(text, `<li class="order">`); n != mostLines {
		t.Errorf("%d lines; expected %d", n, mostLines)
	}
}

// thousand is a store of a thousand jobs that keeps summaries.
type thousand struct{ *memory }

func (thousand) Jobs(_ context.Context, _ string, limit int) ([]job.Card, int, error) {
	cards := make([]job.Card, 1000)
	for i := range cards {
		cards[i] = job.Card{ID: job.ID(fmt.Sprintf("j%d", i)), Number: fmt.Sprintf("2025-%03d", i), Customer: "Tidewater Kitchen", Vehicle: "trailer", Changed: sunday.Add(-time.Duration(i) * time.Hour),
			Tanks: []job.CardTank{{Name: "Gas", Contents: job.LPG, Next: "Bench: take readings"}, {Name: "Water", Contents: job.Water, Next: "Set: choose the end values"}}}
	}
	return cards[:min(limit, 1000)], 1000, nil
}

func TestStart(t *testing.T) {
	b := open(t)
	b.start(&job.Job{Number: "TK-2025-014", Tanks: []job.Tank{}})
	status, text := b.post("/jobs", "find", "  Tidewater Kitchen ", "key", "once")
	if status != 200 {
		t.Fatalf("status %d", status)
	}
	b.wants(text, "Facts of the job", `value="Tidewater Kitchen"`, `value="TK-2025-015"`, `value="2025-11-02"`, "Keep, and add a tank")
	b.post("/jobs", "find", "Tidewater Kitchen", "key", "once")
	if _, all, _ := b.store.Jobs(context.Background(), "", 100); all != 2 {
		t.Errorf("the same button twice made %d jobs; expected 2 with the first", all)
	}
	if j := b.job("j2"); j.Customer != "Tidewater Kitchen" || j.Date != "2025-11-02" || len(j.Tanks) != 0 {
		t.Errorf("started: %+v", j)
	}

	long := strings.Repeat("Ä", 301)
	status, text = b.post("/jobs", "find", long, "key", "other")
	if status != 422 {
		t.Errorf("a name of 301 letters: status %d", status)
	}
	b.wants(text, "Not started.", "300", long)
}

func TestNumberAfter(t *testing.T) {
	for _, c := range []struct {
		have []string
		want string
	}{
		{nil, "2025-001"},
		{[]string{"2025-014", "2025-015", "2025-003"}, "2025-016"},
		{[]string{"2024-099"}, "2025-001"},
		{[]string{"TK-2025-0009", "2025-700"}, "TK-2025-0010"},
		{[]string{"TK-2024-014"}, "TK-2025-001"},
		{[]string{"Mrs M", "2025-999"}, "2025-1000"},
		{[]string{"2025-999999999"}, "2025-1000000000"},
		{[]string{"2025-9999999999"}, "2025-001"}, // too long to be one of ours
		{[]string{"12025-001"}, "12025-002"},      // whatever stands before is kept
		{[]string{"7"}, "2025-001"},
	} {
		var cards []job.Card
		for _, n := range c.have {
			cards = append(cards, job.Card{Number: n})
		}
		if got := numberAfter(cards, 2025); got != c.want {
			t.Errorf("after %q: %q; expected %q", c.have, got, c.want)
		}
	}
}

func TestCopy(t *testing.T) {
	b := open(t)
	from := sample(t)
	from.Tanks[0].Wire.Through = true
	id := b.start(from)
	status, text := b.post(jobPath(id)+"/copy", "key", "k")
	if status != 200 {
		t.Fatalf("status %d\n%s", status, text)
	}
	b.post(jobPath(id)+"/copy", "key", "k")
	if _, all, _ := b.store.Jobs(context.Background(), "", 9); all != 2 {
		t.Errorf("%d jobs; expected 2", all)
	}
	j := b.job("j2")
	if j.Customer != "" || j.Vehicle != "" || j.Note != "" || j.Date != "2025-11-02" || j.Number != "TK-2025-001" || j.Fitter != from.Fitter {
		t.Errorf("the copy is %q %q %q %q %q", j.Customer, j.Vehicle, j.Note, j.Date, j.Number)
	}
	if len(j.Tanks) != 3 {
		t.Fatalf("%d tanks", len(j.Tanks))
	}
	for i, c := range j.Tanks {
		o := from.Tanks[i]
		if len(c.Bench.Readings) != 0 || c.Setting != nil || len(c.Checks) != 0 || c.Bench.By != "" {
			t.Errorf("%s still has what was measured or set", c.Name)
		}
		if c.Name != o.Name || c.WaterCapacityL != o.WaterCapacityL || c.PermittedFillPct != o.PermittedFillPct || len(c.Loads) != len(o.Loads) ||
			len(c.Sender.Claimed) != len(o.Sender.Claimed) || c.Sender.Description != o.Sender.Description || (c.Shape == nil) != (o.Shape == nil) || (c.Wire == nil) != (o.Wire == nil) {
			t.Errorf("%s lost something: %+v", c.Name, c)
		}
		if c.Wire != nil && c.Wire.Through {
			t.Errorf("%s says that readings were made through its wire, and has none", c.Name)
		}
	}
}

// What was measured on one sender isn't said of the next one.
func TestCopyLeavesMeasurements(t *testing.T) {
	from := &job.Job{Number: "1", Tanks: []job.Tank{
		{Name: "A", Contents: job.Water, Shape: &tankfile.File{Sender: &tankfile.Sender{Kind: tankfile.KindDial, KnownPoint: &tankfile.KnownPoint{ReadsPct: 3}}}},
		{Name: "B", Contents: job.Water, Sender: job.Sender{Description: "0.5 to 4.5 V", Numbers: job.OfSignal, Claimed: []job.Claim{{EmptyOhm: 0.5, FullOhm: 4.5}}}},
	}}
	j := copied(from, "2", "2025-11-02")
	if a := j.Tanks[0].Shape.Sender; a.KnownPoint != nil || a.Kind != tankfile.KindDial {
		t.Errorf("the copy's sender: %+v", a)
	}
	if from.Tanks[0].Shape.Sender.KnownPoint == nil {
		t.Error("the job that was copied lost its known point")
	}
	// Without readings that say that it is volts, a claim in volts is no file.
	if b := j.Tanks[1].Sender; len(b.Claimed) != 0 || b.Description != "0.5 to 4.5 V" {
		t.Errorf("the copy's sender: %+v", b)
	}
	j.Tanks[0].Shape = nil
	if _, err := j.Encode(); err != nil {
		t.Error(err)
	}
}

// A job opens where it was left, whatever was noted, and never anywhere else.
func TestOpenWhereLeft(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	card := jobPath(id)
	for place, want := range map[string]string{
		"": card, card: card, card + "/2/bench": card + "/2/bench", "2/bench": card + "/2/bench", "/2/set": card + "/2/set",
		card + "/record": card + "/record", "facts": card + "/facts", card + "/3/prove?x=1": card + "/3/prove",
		"4/bench": card, "0/bench": card, "-1/bench": card, "1/remove": card, "1/bench/take": card,
		"//evil.example/1/bench": card, "https://evil.example/": card, `\\evil.example\x`: card, "javascript:alert(1)": card,
		"/jobs/other/1/bench": card, "../../meters": card, "1/bench/../../..": card, "01/bench\r\nX: y": card, "1%2fbench": card, "+1/bench": card + "/1/bench",
	} {
		if err := b.store.Leave(context.Background(), id, place); err != nil {
			t.Fatal(err)
		}
		client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		r, err := client.Get(b.url + card + "/open")
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		if got := r.Header.Get("Location"); got != want || r.StatusCode != 303 {
			t.Errorf("left at %q: %d to %q; expected 303 to %q", place, r.StatusCode, got, want)
		}
	}
	if status, _ := b.get("/jobs/none/open"); status != 404 {
		t.Errorf("a job that isn't there: %d", status)
	}
}

var script = regexp.MustCompile(`<script>alert|<b>bold|onerror=x>`)

// Whatever people write is text on every page, and only that.
func TestEscaped(t *testing.T) {
	b := open(t)
	bad := `<script>alert(1)</script>"'><img src=x onerror=x>`
	j := sample(t)
	j.Number, j.Customer, j.Vehicle, j.Fitter, j.Note = bad, bad, bad, bad, bad
	for i := range j.Tanks {
		j.Tanks[i].Name = bad + itoa(i)
		j.Tanks[i].Sender.Description = bad
	}
	id := b.start(j)
	b.post(jobPath(id)+"/facts", "customer", bad, "number", bad, "note", bad, "key", bad)
	for _, path := range []string{"/", "/?find=" + "%3Cscript%3Ealert(1)", jobPath(id), jobPath(id) + "/facts", jobPath(id) + "/history", jobPath(id) + "/tanks?name=" + "%3Cscript%3Ealert(1)"} {
		status, text := b.get(path)
		if status != 200 || script.MatchString(text) {
			t.Errorf("%s: %d, %q", path, status, script.FindString(text))
		}
	}
	_, text := b.post(jobPath(id)+"/tanks", "contents", bad, "name", bad, "claimed", bad, "water_capacity_l", bad)
	if script.MatchString(text) {
		t.Errorf("the form of a tank repeats %q", script.FindString(text))
	}
}

func BenchmarkJobsPage(b *testing.B) {
	s, err := New(Options{Store: thousand{newMemory()}, Now: func() time.Time { return sunday }})
	if err != nil {
		b.Fatal(err)
	}
	benchmarkGet(b, s, "/?find=x")
}
