package web

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

func setPath(id job.ID, n int) string { return fmt.Sprintf("/jobs/%s/%d/set", id, n) }

// gasSet are fields that choose two end values on the permitted fill.
var gasSet = []string{"readout", "two-point", "scale", "fill", "objective", "worst", "margin", "usual"}

func TestSetPageRefuses(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	for _, c := range []struct{ query, says, field string }{
		{"lower=10&upper=10", "Both are 10 Ω, so nothing could be shown between; write two that differ.", "n-upper"},
		{"lower=ten&upper=81", `At 0 %: "ten" isn’t a number; write it like 10.5.`, "n-lower"},
		{"lower=1.000,5&upper=81", `At 0 %: "1.000,5" isn’t a number; write it like 10.5.`, "n-lower"},
		{"lower=0&upper=-81", "At 100 %: -81 is below zero; expected 0 or more.", "n-upper"},
		{"lower=0&upper=1e300", "At 100 %: 1e300 Ω can’t come from a level sender; expected 0 to 100000.", "n-upper"},
		{"lower=NaN&upper=81", `At 0 %: "NaN" isn’t a number; write it like 10.5.`, "n-lower"},
		{"lower=0&upper=Inf", `At 100 %: "Inf" isn’t a number; write it like 10.5.`, "n-upper"},
		{"lower=&upper=81", "At 0 %: nothing is written there; it takes the ohms.", "n-lower"},
		{"lower=" + url.QueryEscape("<script>alert(1)</script>") + "&upper=81", `At 0 %: "<script>alert(1)</script>" isn’t a number`, "n-lower"},
		{"step=x", `Step of the end values: "x" isn’t a number; write it like 10.5.`, "f-step"},
		{"step=-1", "Step of the end values: -1 is below zero; expected 0 or more.", "f-step"},
		{"readout=table&points=2.5", "2.5 entries can’t be made; write a whole number, 2 to 1000.", "f-points"},
		{"readout=table&points=1", "A table of 1 points can't be made; expected 2 to 1000.", ""},
		{"readout=needle", `What the display takes "needle" isn't known; expected two-point, table or ends-then-table.`, ""},
		{"objective=luck", "What is made least", ""},
		{"margin=lots", "Margin", "f-margin"},
		{"scale=usable", "The scale of what can be drawn needs the tank's heel, which is what is left when nothing more can be drawn.", ""},
		{"empty-mark=90&full-mark=10", "The full mark must lie above the empty mark", ""},
		{"highest=20", "20", ""},
	} {
		status, page := b.get(setPath(id, 1) + "?" + c.query)
		text := plainText(page)
		if status != http.StatusUnprocessableEntity || !strings.Contains(text, c.says) {
			t.Errorf("%s: %d, expected 422 and %q: %.600s", c.query, status, c.says, text)
		}
		if strings.Contains(page, "<script>alert") {
			t.Errorf("%s: what was typed runs", c.query)
		}
		q, _ := url.ParseQuery(c.query)
		for name, typed := range q {
			if name != "readout" && name != "objective" && name != "scale" && !strings.Contains(page, `value="`+strings.NewReplacer("<", "&lt;", ">", "&gt;").Replace(typed[0])+`"`) {
				t.Errorf("%s: what was typed into %s is lost", c.query, name)
			}
		}
		if c.field != "" && !strings.Contains(page[strings.Index(page, `id="`+c.field+`"`):][:400], `aria-invalid="true"`) {
			t.Errorf("%s: the field %s isn't marked", c.query, c.field)
		}
		status, part := b.get(setPath(id, 1) + "/try?" + c.query)
		if status != http.StatusUnprocessableEntity || !strings.Contains(plainText(part), c.says) || strings.Contains(part, "<html") {
			t.Errorf("%s, tried: %d %.300s", c.query, status, part)
		}
	}
}

func TestSetPageTries(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	for query, says := range map[string]string{
		"lower=3&upper=98":     "With 3 and 98: worst error 25.9 points, at 80 %. The worst error is 20.7 points more than with 0 and 75.",
		"lower=10,5&upper=80":  "With 10.5 and 80: worst error",
		"lower=0&upper=75":     "With 0 and 75: worst error 5.2 points, at 5 %.",
		"":                     "With 0 and 75: worst error 5.2 points, at 5 %.",
		"lower=98&upper=3":     "With 98 and 3: worst error",
		"lower=0&upper=10000":  "With 0 and 10000: worst error",
		"lower=0.0004&upper=1": "With",
	} {
		for _, part := range []string{"", "/try"} {
			status, page := b.get(setPath(id, 1) + part + "?" + query)
			if text := plainText(page); status != 200 || !strings.Contains(text, says) {
				t.Errorf("%s?%s: %d, expected 200 and %q: %.300s", part, query, status, says, text)
			}
		}
	}
	_, best := b.get(setPath(id, 1) + "/try?lower=0&upper=75")
	_, own := b.get(setPath(id, 1) + "/try?lower=3&upper=98")
	if strings.Contains(best, "gw-ghost") || strings.Contains(best, "instead") {
		t.Error("the best numbers have a ghost of themselves")
	}
	if !strings.Contains(own, "gw-ghost") || !strings.Contains(plainText(own), "Keyed in: keep 3 and 98 instead") || !strings.Contains(plainText(own), "Don't fill by the display.") {
		t.Errorf("numbers of one's own: %.400s", plainText(own))
	}
	if strings.Contains(own, "<html") || strings.Contains(own, "<main") {
		t.Error("the part comes with a page around it")
	}
}

func TestSetPageKeepsTheBest(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Setting, j.Tanks[0].Checks = nil, nil
	id := b.start(j)
	status, page := b.get(setPath(id, 1) + "?readout=two-point&scale=fill")
	if status != 200 || !strings.Contains(page, `name="keyed" value="0:75"`) || strings.Contains(page, "Kept in the job") {
		t.Fatalf("%d: %.300s", status, plainText(page))
	}
	form := append([]string{"keyed", "0:75", "by", "R. Moor", "date", "2025-11-02", "tank", "Gas", "key", "once"}, gasSet...)
	for range 2 { // the same key again changes nothing
		status, page = b.post(setPath(id, 1), form...)
		if status != 200 || !strings.Contains(plainText(page), "Kept in the job: 0 and 75. Keyed in by R. Moor on 2 November 2025.") {
			t.Fatalf("%d: %.900s", status, plainText(page))
		}
	}
	got := b.job(id).Tanks[0].Setting
	if got == nil || *got.LowerOhm != 0 || *got.UpperOhm != 75 || got.Scale != "fill" || got.By != "R. Moor" || got.Date != "2025-11-02" || got.StepOhm != 1 || got.MarginOhm == 0 {
		t.Errorf("kept: %+v", got)
	}
	if k, err := b.store.Job(t.Context(), id); err != nil || k.Revision != 2 {
		t.Errorf("the job is at revision %d, %v; expected one change", k.Revision, err)
	}
	h, err := b.store.History(t.Context(), id, 1)
	if err != nil || h[0].Words != "keyed in: 0 and 75 Ω" {
		t.Errorf("the history says %+v, %v", h, err)
	}
}

func TestSetPageKeepsOnesOwn(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	if _, page := b.get(setPath(id, 1)); !strings.Contains(plainText(page), "One check was made as left. Keeping other numbers makes it a check as found") {
		t.Error("the page doesn't say what becomes of the check")
	}
	status, page := b.post(setPath(id, 1), append([]string{"keyed", "3:98", "by", "", "date", "", "tank", "Gas", "key", "k"}, gasSet...)...)
	if status != 200 || !strings.Contains(plainText(page), "Kept in the job: 3 and 98.") || !strings.Contains(plainText(page), "The worst error is 20.7 points more than with 0 and 75.") {
		t.Errorf("%d: %.900s", status, plainText(page))
	}
	kept := b.job(id).Tanks[0]
	if got := setOf(t, b.job(id), 1); got != "3:98" || kept.Setting.MarginOhm != 0 || kept.Setting.Date != "2025-11-02" {
		t.Errorf("kept %s: %+v", got, kept.Setting)
	}
	if kept.Checks[0].When != job.AsFound {
		t.Errorf("the check made as left is still %q", kept.Checks[0].When)
	}
}

func TestSetPageKeepsATable(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	wish := []string{"readout", "table", "scale", "mark", "points", "5", "percent-step", "1", "margin", "usual", "objective", "worst"}
	q := url.Values{}
	for i := 0; i < len(wish); i += 2 {
		q.Set(wish[i], wish[i+1])
	}
	_, page := b.get(setPath(id, 3) + "?" + q.Encode())
	_, rest, ok := strings.Cut(page, `name="keyed" value="`)
	value, _, _ := strings.Cut(rest, `"`)
	if !ok || !strings.Contains(plainText(page), "Key in this table") || strings.Contains(page, "own-form") {
		t.Fatalf("no table to key in: %.400s", plainText(page))
	}
	form := append([]string{"tank", "Diesel", "key", "k", "by", "R. Moor", "date", "2025-11-02"}, wish...)
	status, page := b.post(setPath(id, 3), append(form, "keyed", value)...)
	if got := setOf(t, b.job(id), 3); status != 200 || got != value {
		t.Errorf("%d, kept %q, expected %q", status, got, value)
	}
	if !strings.Contains(plainText(page), "Kept in the job: a table of") {
		t.Errorf("%.500s", plainText(page))
	}
	// A table that the job wouldn't give is one of other readings.
	form[3] = "k2"
	status, page = b.post(setPath(id, 3), append(form, "keyed", "1=0 2=100")...)
	if got := setOf(t, b.job(id), 3); status != http.StatusConflict || got != value || !strings.Contains(plainText(page), "Look at it again") {
		t.Errorf("%d, kept %q: %.300s", status, got, plainText(page))
	}
}

func TestSetPageKeepsNothingWrong(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	before := setOf(t, b.job(id), 1)
	for name, c := range map[string]struct {
		status int
		fields []string
		says   string
	}{
		"same":       {422, []string{"keyed", "5:5"}, "both are the same"},
		"letters":    {422, []string{"keyed", "a:b"}, "isn't a pair of end values"},
		"nothing":    {422, []string{"keyed", ""}, "isn't a pair of end values"},
		"date":       {422, []string{"keyed", "0:75", "date", "yesterday"}, `Date: "yesterday" isn’t a date; write it like 2026-11-03.`},
		"scale":      {422, []string{"keyed", "0:75", "scale", "usable"}, "needs the tank's heel"},
		"overfill":   {422, []string{"keyed", "0:75", "scale", "fill", "full-mark", "150"}, "100"},
		"other tank": {409, []string{"keyed", "0:75", "tank", "Gas 2"}, "changed on another page"},
		"step":       {422, []string{"keyed", "0:75", "step", "x"}, "isn’t a number"},
	} {
		form := append([]string{"by", "R. Moor"}, c.fields...)
		for i := 0; i < len(gasSet); i += 2 {
			if !strings.Contains(strings.Join(c.fields, " "), gasSet[i]+" ") {
				form = append(form, gasSet[i], gasSet[i+1])
			}
		}
		if !strings.Contains(strings.Join(c.fields, " "), "tank ") {
			form = append(form, "tank", "Gas")
		}
		status, page := b.post(setPath(id, 1), append(form, "key", name)...)
		if got := setOf(t, b.job(id), 1); status != c.status || got != before || !strings.Contains(plainText(page), c.says) {
			t.Errorf("%s: %d, kept %q: %.500s", name, status, got, plainText(page))
		}
		if c.status == 422 && !strings.Contains(page, `value="R. Moor"`) {
			t.Errorf("%s: the name that was typed is lost", name)
		}
	}
}

func TestSetPageWithoutACurve(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Bench.Readings = j.Tanks[0].Bench.Readings[:1]
	stuck := j.Tanks[2].Bench.Readings[:4]
	for i := range stuck {
		stuck[i].Ohm = 50
	}
	j.Tanks[2].Bench.Readings = stuck
	for i, ohm := range []float64{10, 90, 20, 95, 12, 80} {
		r := &j.Tanks[1].Bench.Readings[i]
		r.Ohm, r.Sweep = ohm, ""
		r.SetMark(float64(50*i), curve.Height)
	}
	j.Tanks[1].Bench.Readings = j.Tanks[1].Bench.Readings[:6]
	for i := range j.Tanks {
		j.Tanks[i].Setting, j.Tanks[i].Checks = nil, nil
	}
	id := b.start(j)
	for n, says := range map[int]string{
		1: "One reading only; a curve needs at least two, at different marks.",
		2: "The ohms don't keep one direction",
		3: "All 4 readings are 50.0 Ω",
	} {
		for _, page := range []string{"set", "curve"} {
			status, text := b.get(fmt.Sprintf("/jobs/%s/%d/%s", id, n, page))
			if status != 200 || !strings.Contains(plainText(text), says) {
				t.Errorf("tank %d, %s: %d, expected %q: %s", n, page, status, says, plainText(text))
			}
			if strings.Contains(text, "Keyed in: keep") {
				t.Errorf("tank %d: there is something to keep", n)
			}
		}
		if status, _ := b.get(setPath(id, n) + "/try?lower=1&upper=2"); status != 422 {
			t.Errorf("tank %d: tried, %d", n, status)
		}
		if status, _ := b.post(setPath(id, n), "keyed", "0:75", "readout", "two-point", "scale", "mark"); status == 303 || b.job(id).Tanks[n-1].Setting != nil {
			t.Errorf("tank %d: kept without a curve, %d", n, status)
		}
	}
}

// Senders of volts and milliamps are set in volts and milliamps.
func TestSetPageOfOtherSignals(t *testing.T) {
	b := open(t)
	j := sample(t)
	for n, signal := range map[int]curve.Signal{1: curve.Volts, 3: curve.Milliamps} {
		tank := &j.Tanks[n-1]
		for i := range tank.Bench.Readings {
			tank.Bench.Readings[i].Signal = signal
			tank.Bench.Readings[i].Ohm = 0.5 + tank.Bench.Readings[i].Ohm/25
		}
		tank.Setting, tank.Checks, tank.Sender.Claimed, tank.Wire = nil, nil, nil, nil
		tank.Sender.Numbers = job.NumbersOf(signal)
	}
	id := b.start(j)
	for n, unit := range map[int]string{1: "V", 3: "mA"} {
		for _, page := range []string{"curve?value=1&mark=30", "set?readout=two-point&scale=mark", "set?readout=table&scale=mark", "set/try?readout=two-point&scale=mark&lower=0.5&upper=4"} {
			status, text := b.get(fmt.Sprintf("/jobs/%s/%d/%s", id, n, page))
			if status != 200 || !strings.Contains(text, unit) || strings.Contains(plainText(text), "Ω") {
				t.Errorf("%s of tank %d: %d: %s", page, n, status, plainText(text))
			}
		}
		status, page := b.post(setPath(id, n), "keyed", "0.5:4.1", "readout", "two-point", "scale", "mark", "key", unit)
		if status != 200 || !strings.Contains(plainText(page), "Kept in the job: 0.5 and 4.1 "+unit) {
			t.Errorf("tank %d: %d: %.500s", n, status, plainText(page))
		}
	}
}

func TestSetPageEscapes(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Customer, j.Fitter = "<script>alert(1)</script>", `"><script>alert(2)</script>`
	j.Tanks[0].Name = "<script>alert(3)</script>"
	j.Tanks[0].Setting.By = ""
	id := b.start(j)
	for _, page := range []string{"set", "curve", "set/try?lower=1&upper=80"} {
		if status, text := b.get(fmt.Sprintf("/jobs/%s/1/%s", id, page)); status != 200 || strings.Contains(text, "<script>alert") {
			t.Errorf("%s: %d, or a name runs", page, status)
		}
	}
}

// What is worked out is kept for a revision and made anew for the next, and no more
// than so much of it is kept.
func TestFitsAreOfARevision(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	kept, err := b.store.Job(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	first, err := b.site.fitted(kept, 1)
	if err != nil {
		t.Fatal(err)
	}
	if again, _ := b.site.fitted(kept, 1); again != first {
		t.Error("the same revision was fitted twice")
	}
	later := *kept
	later.Revision++
	if again, _ := b.site.fitted(&later, 1); again == first {
		t.Error("another revision was given the curve of the one before")
	}
	for i := range 3 * fitsKept {
		later.Revision = int64(10 + i)
		if _, err := b.site.fitted(&later, 1+i%3); err != nil {
			t.Fatal(err)
		}
	}
	if n, m := len(b.site.fits.held), len(b.site.fits.used); n != fitsKept || m != fitsKept {
		t.Errorf("%d tanks are held, %d in order; expected %d", n, m, fitsKept)
	}
	// The page follows a change of the readings.
	_, before := b.get(setPath(id, 1))
	if _, err := b.site.change(t.Context(), id, job.Change{Do: func(j *job.Job) error {
		for i := range j.Tanks[0].Bench.Readings {
			j.Tanks[0].Bench.Readings[i].Ohm *= 2
		}
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	_, after := b.get(setPath(id, 1))
	const best = `class="do" name="keyed" value="0:75"`
	if !strings.Contains(before, best) || strings.Contains(after, best) {
		t.Error("the page shows the numbers of other readings")
	}
}

// Several hands may move sliders and keep numbers at the same time.
func TestSetPageByManyHands(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	var all sync.WaitGroup
	for hand := range 8 {
		all.Go(func() {
			for i := range 6 {
				upper := 70 + 10*hand + i
				r, err := http.Get(fmt.Sprintf("%s%s/try?lower=0&upper=%d", b.url, setPath(id, 1), upper))
				if err != nil {
					t.Error(err)
					return
				}
				text, err := io.ReadAll(r.Body)
				r.Body.Close()
				if want := fmt.Sprintf("With 0 and %d:", upper); err != nil || r.StatusCode != 200 || !strings.Contains(string(text), want) {
					t.Errorf("hand %d: %d, expected %q", hand, r.StatusCode, want)
				}
				if i == 3 {
					form := url.Values{"readout": {"two-point"}, "scale": {"fill"}, "keyed": {fmt.Sprintf("0:%d", upper)}, "key": {fmt.Sprint(hand)}}
					if r, err = http.PostForm(b.url+setPath(id, 1), form); err != nil || r.StatusCode != 200 {
						t.Errorf("hand %d: not kept: %v", hand, err)
					}
					r.Body.Close()
				}
			}
		})
	}
	all.Wait()
	if k, err := b.store.Job(t.Context(), id); err != nil || k.Revision != 9 {
		t.Errorf("revision %d, %v; expected eight changes", k.Revision, err)
	}
}
