package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"gaugewright/internal/job"
)

// served asks a site over and over, and fails where it doesn't answer.
func served(b *testing.B, address func(i int) string) {
	b.Helper()
	j, err := job.ReadFile("testdata/sample.job.json")
	if err != nil {
		b.Fatal(err)
	}
	store := newMemory()
	s, err := New(Options{Store: store})
	if err != nil {
		b.Fatal(err)
	}
	if _, err := store.Start(b.Context(), "k", j, sunday); err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost/jobs/j1/"+address(i), nil))
		if w.Code != http.StatusOK {
			b.Fatalf("%d: %s", w.Code, w.Body)
		}
	}
}

// BenchmarkTrySetting is one step of a slider: less than 10 ms.
func BenchmarkTrySetting(b *testing.B) {
	served(b, func(i int) string { return fmt.Sprintf("1/set/try?scale=fill&lower=%d&upper=%d", i%5, 60+i%60) })
}

// The pages as they are opened again: less than 30 ms.
func BenchmarkSetPage(b *testing.B)   { served(b, func(int) string { return "1/set" }) }
func BenchmarkCurvePage(b *testing.B) { served(b, func(int) string { return "1/curve" }) }

// With a question, whose interval is drawn at random anew.
func BenchmarkCurvePageAsked(b *testing.B) {
	served(b, func(int) string { return "1/curve?value=36.2&mark=40" })
}
