package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// FuzzSetFields: whatever stands in the fields, the page is shown or says what is
// wrong, and nothing of it runs. Tables are kept small, as finding a large one takes
// its time.
func FuzzSetFields(f *testing.F) {
	f.Add("two-point", "fill", "worst", "", "usual", "0", "101", "", "", "", "")
	f.Add("table", "volume", "rms", "0.1", "2%", "", "", "0.5", "100", "10", "90")
	f.Add("two-point", "usable", "never-high", "-0", "auto", "1e-320", "1e5", "", "", "", "")
	f.Add("ends-then-table", "mark", "near-empty", "1e9", "1ohm", "NaN", "<script>", "1e300", "0x10", "50", "50")
	f.Add("", "", "", ",5", "-1ohm", "1,5", "1.000,5", "7", "3", "-1", "1e309")
	f.Fuzz(func(t *testing.T, readout, scale, objective, step, margin, lower, upper, lowest, highest, emptyMark, fullMark string) {
		j := sample(t)
		j.Tanks = j.Tanks[:1]
		store := newMemory()
		s, err := New(Options{Store: store})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := store.Start(t.Context(), "k", j, sunday); err != nil {
			t.Fatal(err)
		}
		q := url.Values{"readout": {readout}, "scale": {scale}, "objective": {objective}, "step": {step}, "margin": {margin}, "lower": {lower}, "upper": {upper},
			"lowest": {lowest}, "highest": {highest}, "empty-mark": {emptyMark}, "full-mark": {fullMark}, "points": {"3"}}
		for _, page := range []string{"set", "set/try"} {
			w := httptest.NewRecorder()
			s.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost/jobs/j1/1/"+page+"?"+q.Encode(), nil))
			if w.Code != http.StatusOK && w.Code != http.StatusUnprocessableEntity {
				t.Fatalf("%s: %d: %s", page, w.Code, w.Body)
			}
			if body := w.Body.String(); strings.Contains(body, "<script>") || strings.Contains(body, "NaN") && !strings.Contains(q.Encode(), "NaN") {
				t.Fatalf("%s: what was typed runs, or a figure is none: %s", page, body)
			}
		}
		q.Set("keyed", lower+":"+upper)
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodPost, "http://localhost/jobs/j1/1/set", strings.NewReader(q.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		s.ServeHTTP(w, r)
		if w.Code != http.StatusSeeOther && w.Code != http.StatusUnprocessableEntity && w.Code != http.StatusConflict {
			t.Fatalf("kept: %d: %s", w.Code, w.Body)
		}
		// Whatever was kept can be read again.
		k, err := store.Job(t.Context(), job.ID("j1"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := k.Job.Encode(); err != nil {
			t.Fatal(err)
		}
	})
}
