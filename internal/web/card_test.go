package web

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

func benchmarkGet(b *testing.B, s *Site, path string) {
	b.Helper()
	r := httptest.NewRequest("GET", "http://localhost"+path, nil)
	for b.Loop() {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatalf("status %d", w.Code)
		}
	}
}

func BenchmarkCard(b *testing.B) {
	for name, store := range map[string]job.Store{"memory": newMemory(), "disk": onDisk(b)} {
		b.Run(name, func(b *testing.B) {
			j, err := job.ReadFile("testdata/sample.job.json")
			if err != nil {
				b.Fatal(err)
			}
			id, err := store.Start(context.Background(), "", j, sunday)
			if err != nil {
				b.Fatal(err)
			}
			s, err := New(Options{Store: store, Now: func() time.Time { return sunday }})
			if err != nil {
				b.Fatal(err)
			}
			benchmarkGet(b, s, jobPath(id))
		})
	}
}

func TestCard(t *testing.T) {
	b := open(t)
	j := sample(t)
	id := b.start(j)
	status, text := b.get(jobPath(id))
	if status != 200 {
		t.Fatalf("status %d", status)
	}
	for n, tank := range j.Tanks {
		b.wants(text, "Tank "+itoa(n+1)+" of 3", tankPath(id, n+1)+"/tank", tankPath(id, n+1)+"/contents", `id="tank-`+itoa(n+1)+`-column`)
		for _, step := range tank.Summary() {
			b.wants(text, "<b>"+step.Name+":</b> "+step.Text, tankPath(id, n+1)+"/"+strings.ToLower(step.Name))
		}
		for _, c := range tank.Cautions() {
			b.wants(text, c)
		}
	}
	b.wants(text, "<b>Record:</b> not printed yet", "R. Fitter", "3 November 2026", "litres, kilograms, kilowatt hours, bar, degrees Celsius", jobPath(id)+"/file", jobPath(id)+"/history")
	_ = b.store.Leave(context.Background(), id, "1/bench")
	b.get(jobPath(id))
	if k, _ := b.store.Job(context.Background(), id); k.Place != "" {
		t.Errorf("left at %q", k.Place)
	}
}

// The last step says when the record was made, and whether it still holds.
func TestCardRecord(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	ctx := context.Background()
	data, err := b.job(id).Encode()
	if err != nil {
		t.Fatal(err)
	}
	note, _ := json.Marshal(map[string]string{"made": "2025-11-25T10:00:00Z", "checksum": job.Checksum(data)})
	if err := b.store.SetNote(ctx, "record/"+string(id), string(note)); err != nil {
		t.Fatal(err)
	}
	_, text := b.get(jobPath(id))
	b.wants(text, "<b>Record:</b> made 25 Nov</span>")
	b.post(jobPath(id)+"/facts", "number", "9", "key", "k")
	_, text = b.get(jobPath(id))
	b.wants(text, "<b>Record:</b> made 25 Nov; the job has changed since")
	for _, broken := range []string{"{", `{"made":""}`, "[]"} {
		_ = b.store.SetNote(ctx, "record/"+string(id), broken)
		_, text = b.get(jobPath(id))
		b.wants(text, "<b>Record:</b> not printed yet")
	}
}

func TestEmptyCard(t *testing.T) {
	b := open(t)
	id := b.start(&job.Job{Number: "1", Tanks: []job.Tank{}})
	_, text := b.get(jobPath(id))
	b.wants(text, "Customer not stated", "This job has no tank yet.", jobPath(id)+"/tanks")
	b.post(jobPath(id)+"/tanks", "contents", "lpg", "key", "k")
	_, text = b.get(jobPath(id))
	b.wants(text, "its own scale is drawn when the bench has given a curve.", "<b>Bench:</b> take readings", "Never fill beyond the permitted fill (80 % of the water capacity)")
}

func TestFacts(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	status, text := b.post(jobPath(id)+"/facts", "key", "k", "customer", "Tidewater & Sons", "vehicle", "barge", "number", "2025-007", "date", "2025-11-03",
		"fitter", "R. Fitter", "note", "two\r\nlines", "volume", "US gal", "mass", "kg", "energy", "MJ", "pressure", "psi", "temperature", "F")
	if status != 200 {
		t.Fatalf("status %d", status)
	}
	b.wants(text, "Tidewater &amp; Sons", "US gallons, kilograms, megajoules, pounds per square inch, degrees Fahrenheit")
	j := b.job(id)
	if j.Customer != "Tidewater & Sons" || j.Number != "2025-007" || j.Note != "two\nlines" || *j.Units != (quantity.Units{Volume: "US gal", Energy: "MJ", Pressure: "psi", Temperature: "F"}) {
		t.Errorf("kept: %+v %+v", j, j.Units)
	}
	// The next job begins with the same fitter and units.
	_, text = b.post("/jobs", "find", "Next", "key", "n")
	b.wants(text, `value="R. Fitter"`, `value="US gal" checked`, `value="F" checked`, `value="2025-008"`)

	status, text = b.post(jobPath(id)+"/facts", "key", "k2", "customer", "kept on the page", "number", "", "date", "3.11.25", "volume", "firkin")
	if status != 422 {
		t.Errorf("status %d", status)
	}
	b.wants(text, `value="kept on the page"`, `value="3.11.25"`, `aria-invalid="true"`, "firkin")
	if j := b.job(id); j.Number != "2025-007" {
		t.Errorf("a refused form changed the job: %+v", j)
	}
	// One unit after another may be chosen, and the job file knows them all.
	for _, c := range unitChoices {
		for _, o := range c.list {
			var u quantity.Units
			*c.at(&u) = o[0]
			if err := u.Valid(); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestNewTank(t *testing.T) {
	b := open(t)
	id := b.start(&job.Job{Number: "1", Tanks: []job.Tank{}})
	path := jobPath(id) + "/tanks"
	if status, text := b.get(path); status != 200 || !strings.Contains(text, "A new tank") {
		t.Fatal(status)
	}
	b.post(path, "key", "a", "contents", "lpg", "water_capacity_l", "54 L", "description", "dial", "claimed", "0 to 90\r\n240–33 Ω; 10 ohm to 180 ohm")
	b.post(path, "key", "a", "contents", "lpg", "water_capacity_l", "54 L")
	b.post(path, "key", "b", "contents", "lpg", "water_capacity_l", "14,5", "permitted_fill_pct", "75 %")
	b.post(path, "key", "c", "contents", "water", "water_capacity_l", "14 US gal", "name", "Under the bench")
	j := b.job(id)
	if len(j.Tanks) != 3 {
		t.Fatalf("%d tanks; expected 3", len(j.Tanks))
	}
	first := j.Tanks[0]
	if first.Name != "Gas" || first.WaterCapacityL != 54 || first.PermittedFillPct != 80 || len(first.Sender.Claimed) != 3 ||
		first.Sender.Claimed[1] != (job.Claim{EmptyOhm: 240, FullOhm: 33}) || first.Sender.Claimed[2] != (job.Claim{EmptyOhm: 10, FullOhm: 180}) {
		t.Errorf("the first: %+v", first)
	}
	if second := j.Tanks[1]; second.Name != "Gas 2" || second.WaterCapacityL != 14.5 || second.PermittedFillPct != 75 {
		t.Errorf("the second: %+v", second)
	}
	// 1 US gal is 231 cubic inches, 3.785411784 L (NIST Handbook 44, appendix C).
	if third := j.Tanks[2]; third.Name != "Under the bench" || third.WaterCapacityL != 52.995765 || third.PermittedFillPct != 0 {
		t.Errorf("the third: %+v", third)
	}
}

func TestNewTankRefused(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	for _, c := range []struct {
		fields []string
		want   string
	}{
		{[]string{"name", "x"}, "Nothing is chosen"},
		{[]string{"contents", "lpg", "permitted_fill_pct", "86"}, "for lpg no permitted fill above 85 is accepted"},
		{[]string{"contents", "lpg", "permitted_fill_pct", "0"}, "Found 0 %"},
		{[]string{"contents", "lpg", "permitted_fill_pct", "much"}, "write percent of the water capacity"},
		{[]string{"contents", "lpg", "name", "gAS"}, "a name of its own"},
		{[]string{"contents", "beer"}, "beer"},
		{[]string{"contents", "water", "water_capacity_l", "14 gal"}, "which gallon"},
		{[]string{"contents", "water", "water_capacity_l", "-3"}, "expected more than nothing"},
		{[]string{"contents", "water", "claimed", "0 to 90\nlots"}, "is no span"},
		{[]string{"contents", "water", "claimed", "90 to 90"}, "two different ends"},
		{[]string{"contents", "water", "name", strings.Repeat("n", 301)}, "300"},
	} {
		fields := append([]string{"key", newKey(), "description", "typed before"}, c.fields...)
		status, text := b.post(jobPath(id)+"/tanks", fields...)
		text = strings.ReplaceAll(text, "&#34;", `"`)
		if status != 422 || !strings.Contains(text, c.want) || !strings.Contains(text, `value="typed before"`) || !strings.Contains(text, "bad-field") {
			t.Errorf("%q: %d; expected %q in\n%s", c.fields, status, c.want, text)
		}
	}
	if n := len(b.job(id).Tanks); n != 3 {
		t.Errorf("%d tanks; expected the 3 there were", n)
	}
}

func TestRemoveTank(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := tankPath(id, 2) + "/remove"
	for _, with := range []string{"", "16", "all"} {
		status, text := b.post(path, "key", newKey(), "tank", "Fresh water", "with", with)
		if status != 422 || !strings.Contains(text, "has 41 readings on the bench") {
			t.Errorf("with %q: %d\n%s", with, status, text)
		}
	}
	if status, _ := b.post(path, "key", newKey(), "tank", "Diesel", "with", "13"); status != 409 {
		t.Errorf("another tank in its place: %d; expected 409", status)
	}
	for range 2 { // the second is the same change once more
		if status, text := b.post(path, "key", "k", "tank", "Fresh water", "with", "41"); status != 200 {
			t.Fatalf("%d\n%s", status, text)
		}
	}
	if j := b.job(id); len(j.Tanks) != 2 || j.Tanks[1].Name != "Diesel" {
		t.Errorf("left: %d tanks", len(j.Tanks))
	}
	_, text := b.get(jobPath(id) + "/history")
	b.wants(text, "tank removed: Fresh water, with its bench readings (41)", "Sunday, 2 November 2025", "09:30:00", "127.0.0.1")
}

func TestWordsPage(t *testing.T) {
	b := open(t)
	_, text := b.get("/words")
	b.wants(text, "How a job goes", "never slacken them", `id="heel"`, "API and ISO")
	seen := map[string]bool{}
	for _, w := range allWords {
		if seen[w.ID] || w.ID == "" || w.Meaning == "" || w.From == "" || !strings.HasSuffix(w.Meaning, ".") || strings.Count(w.Meaning, ". ") > 0 {
			t.Errorf("%+v", w)
		}
		seen[w.ID] = true
		b.wants(text, `id="`+w.ID+`"`)
	}
	for _, own := range []string{"main", "unsent", "fault", "list", "how", "cautions"} {
		if seen[own] {
			t.Errorf("the word %q has the id of something else on the page", own)
		}
	}
	// Every term of the vocabulary that pages share has its sentence.
	for _, name := range []string{"mark", "reading", "sweep", "curve", "span", "LRV", "URV", "readout", "scale", "heel", "ullage", "strapping table", "water capacity", "permitted fill",
		"dead travel", "independent linearity", "terminal-based linearity", "zero-based linearity", "hysteresis", "repeatability", "as found", "as left", "damping", "failure", "function check",
		"out of specification", "maintenance required", "on-delay", "off-delay", "deadband", "shelved", "acknowledged", "combined standard uncertainty", "coverage interval", "Heel"} {
		if meaningOf(name) == "" {
			t.Errorf("%q isn't in the list of words", name)
		}
	}
	if meaningOf("battery") != "" {
		t.Error("a word that isn't in the list has a meaning")
	}
	if len(howAJobGoes) != 6 {
		t.Errorf("a job goes in %d sentences", len(howAJobGoes))
	}
}
