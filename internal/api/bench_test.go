package api

import (
	"net/http"
	"net/http/httptest"
	"testing"
)

// Making the API is part of the time until the program is ready.
func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// The levels of three tanks.
func BenchmarkLevels(b *testing.B) {
	a, err := New(Options{Watch: past{newStall()}})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		w := httptest.NewRecorder()
		a.ServeHTTP(w, httptest.NewRequest("GET", "/api/v1/levels", nil))
		if w.Code != http.StatusOK {
			b.Fatal(w.Body)
		}
	}
}

// The figures at /metrics.
func BenchmarkMetrics(b *testing.B) {
	a, err := New(Options{Watch: past{newStall()}})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		w := httptest.NewRecorder()
		a.ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
		if w.Code != http.StatusOK {
			b.Fatal(w.Body)
		}
	}
}
