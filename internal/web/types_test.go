package web

import (
	"context"
	"fmt"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/kin"
)

// oneOfType is an invented job with one sender of a type that was read in full: it
// is off from the type by some ohms, and by some parts of its values.
func oneOfType(name string, i int, offset, gain float64) *job.Job {
	j := &job.Job{Version: job.Version, Number: fmt.Sprintf("HUT-%02d", i), Customer: "The hut on the hill", Tanks: []job.Tank{{
		Name: "Water", Contents: job.Water, Sender: job.Sender{Type: name, Batch: fmt.Sprintf("B%d", i%3), Serial: fmt.Sprintf("S-%03d", i)},
		Bench: job.Bench{Date: "2026-11-03", Readings: []job.Reading{}},
	}}}
	for _, sweep := range []string{"up", "down"} {
		for m := range 11 {
			mark := float64(m * 10)
			r := job.Reading{MarkPct: &mark, Sweep: sweep, Ohm: ofType(mark, offset, gain)}
			j.Tanks[0].Bench.Readings = append(j.Tanks[0].Bench.Readings, r)
		}
	}
	return j
}

// ofType is what an invented sender gives at a mark.
func ofType(mark, offset, gain float64) float64 {
	return math.Round(10*(5+offset+(1+gain)*175*math.Pow(mark/100, 1.2))) / 10
}

// gatherHut keeps jobs of units of one type and gathers it, and gives its name.
func (b *bench) gatherHut(name string) {
	b.t.Helper()
	fields := []string{"name", name, "words", "read by the fitter of the hut"}
	for i := range 6 {
		id := b.start(oneOfType(name, i, []float64{0, 0.8, -0.6, 0.3, -0.9, 0.5}[i], []float64{0, 0.004, -0.006, 0.002, 0.005, -0.003}[i]))
		fields = append(fields, "tank", string(id)+"/1")
	}
	if status, text := b.post("/types/gather", fields...); status != 200 {
		b.t.Fatalf("%d\n%s", status, text)
	}
}

const hutDial = `hut dial <script>alert(1)</script>`

func TestTypeFromGatheringToItsFile(t *testing.T) {
	b := open(t)
	status, page := b.get("/types")
	if status != 200 {
		t.Fatal(status)
	}
	has(t, page, "There is no sender type here yet")
	_, page = b.get("/types/gather")
	has(t, page, "No job names the type of a sender yet")
	b.gatherHut(hutDial)
	_, page = b.get("/types/gather")
	has(t, page, "6 tanks", "hut dial &lt;script&gt;")
	_, page = b.get("/types")
	has(t, page, "6 units of 3 batches")
	status, page = b.get(typePath(hutDial))
	if status != 200 {
		t.Fatal(status)
	}
	has(t, page, "hut dial &lt;script&gt;", "units differ by", "The type alone gives the next unit to", "S-003", "the next unit, about 95 %")
	if strings.Contains(page, "<script>alert") {
		t.Error("a name has become a part of the page")
	}
	r, err := http.Get(b.url + strings.Replace(typePath(hutDial), "/type?", "/file?", 1))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	file, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	kind, err := kin.Read(strings.NewReader(string(file)), "answer")
	if err != nil || len(kind.Units) != 6 {
		t.Fatalf("the file: %v", err)
	}
	// Taken in again, nothing counts twice; taken in elsewhere, all of it is there.
	other := open(t)
	for _, to := range []*bench{b, other} {
		if status, text := to.sendType(string(file)); status != 200 {
			t.Fatalf("%d\n%s", status, text)
		}
		if found, ok, err := to.site.typeOf(context.Background(), hutDial); err != nil || !ok || len(found.kind.Units) != 6 {
			t.Errorf("taken in: %v, %v, %+v", ok, err, found.kind)
		}
	}
	if status, text := other.sendType(`{"version":9}`); status != 422 || !strings.Contains(text, "Not taken in") {
		t.Errorf("a file that is none: %d", status)
	}
	if status, _ := b.post("/types/unit", "name", hutDial, "n", "3", "job", "HUT-99", "unit-tank", "Water", "serial", "S-003"); status != 409 {
		t.Errorf("a unit that isn't there: %d", status)
	}
	if status, _ := b.post("/types/unit", "name", hutDial, "n", "3", "job", "HUT-03", "unit-tank", "Water", "serial", "S-003"); status != 200 {
		t.Error(status)
	}
	_, page = b.get(typePath(hutDial))
	if strings.Contains(page, "S-003") {
		t.Error("a unit that was left out is there")
	}
	if status, page := b.post("/types/remove", "name", hutDial); status != 200 || !strings.Contains(page, "There is no sender type here yet") {
		t.Error(status)
	}
	if status, _ := b.get(typePath(hutDial)); status != 404 {
		t.Errorf("a type that was removed: %d", status)
	}
}

func (b *bench) sendType(text string) (int, string) {
	b.t.Helper()
	var body strings.Builder
	w := multipart.NewWriter(&body)
	part, err := w.CreateFormFile("file", "hut.type.json")
	if err != nil {
		b.t.Fatal(err)
	}
	_, _ = io.WriteString(part, text)
	w.Close()
	return b.answer(http.Post(b.url+"/types/import", w.FormDataContentType(), strings.NewReader(body.String())))
}

// A sender that begins from a type needs three readings; one that isn't of it is
// told from it, with the odds of what else it may be.
func TestTankBeginsFromType(t *testing.T) {
	for _, c := range []struct {
		name         string
		offset, gain float64
		want, lacks  string
	}{
		{"one of it", 0.4, 0.001, "enough for a sender of this type", "None of these"},
		{"another", 12, 0.3, "None of these:", "enough for a sender of this type"},
	} {
		b := open(t)
		b.gatherHut("hut dial")
		own := oneOfType("", 50, 0, 0)
		own.Tanks[0].Bench, own.Tanks[0].Sender = job.Bench{Readings: []job.Reading{}}, job.Sender{}
		id := b.start(own)
		_, page := b.get(jobPath(id) + "/1/tank")
		has(t, page, "A sender of a known type", "hut dial, 6 units of 3 batches")
		status, page := b.post(jobPath(id)+"/1/type", "key", newKey(), "tank", "Water", "type", "hut dial")
		if status != 200 {
			t.Fatalf("%d\n%s", status, page)
		}
		has(t, page, "which tells most of a sender of this type")
		if k := b.job(id).Tanks[0].Sender; k.Known == nil || k.Type != "hut dial" || k.Known.Units != 6 {
			t.Fatalf("kept: %+v", k)
		}
		for range typeReadings {
			next, ok := byType(b.job(id).Tanks[0])
			if !ok || !next.Known {
				break
			}
			mark := next.Mark * 100
			status, page = b.post(jobPath(id)+"/1/bench/take", "key", newKey(), "tank", "Water", "mark", fmt.Sprint(mark), "sweep", "up", "ohm", fmt.Sprint(ofType(mark, c.offset, c.gain)), "from", "typed")
			if status != 200 {
				t.Fatalf("%d\n%s", status, page)
			}
		}
		for _, where := range []string{"/1/bench", "/1/curve"} {
			status, page := b.get(jobPath(id) + where)
			if status != 200 {
				t.Fatalf("%s: %d", where, status)
			}
			if where == "/1/bench" || c.want == "None of these:" {
				has(t, page, c.want)
			}
			if strings.Contains(page, c.lacks) {
				t.Errorf("%s, %s: it says %q", c.name, where, c.lacks)
			}
		}
		if status, page := b.post(jobPath(id)+"/1/type", "key", newKey(), "tank", "Water", "type", ""); status != 200 {
			t.Errorf("%d\n%s", status, page)
		}
		if k := b.job(id).Tanks[0].Sender.Known; k != nil {
			t.Error("what is known of the type stays")
		}
	}
}

// BenchmarkTypes are the pages of sender types, as they are opened again: less than
// 30 ms.
func BenchmarkTypes(b *testing.B) {
	store := onDisk(b)
	s, err := New(Options{Store: store})
	if err != nil {
		b.Fatal(err)
	}
	kind := &kin.Type{Version: kin.Version, Name: "hut dial", Marks: "mark_pct", Gives: "ohm"}
	for i := range 20 {
		j := oneOfType("hut dial", i, float64(i%5)/4, float64(i%7)/1000)
		if _, err := store.Start(b.Context(), "", j, sunday); err != nil {
			b.Fatal(err)
		}
		c, err := j.Tanks[0].Curve()
		if err != nil {
			b.Fatal(err)
		}
		u, err := kin.NewUnit(c, kin.Unit{Job: j.Number, Batch: j.Tanks[0].Sender.Batch})
		if err != nil {
			b.Fatal(err)
		}
		kind.Add(u)
	}
	if err := s.changeType(b.Context(), kind.Name, func(*kin.Type) (*kin.Type, error) { return kind, nil }); err != nil {
		b.Fatal(err)
	}
	for _, page := range []string{"/types", typePath("hut dial"), "/types/gather?name=hut+dial"} {
		b.Run(page, func(b *testing.B) {
			for b.Loop() {
				w := httptest.NewRecorder()
				s.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost"+page, nil))
				if w.Code != http.StatusOK {
					b.Fatalf("%d: %s", w.Code, w.Body)
				}
			}
		})
	}
}
