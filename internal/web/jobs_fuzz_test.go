package web

import (
	"fmt"
	"mime"
	"net/url"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// Whatever is noted as the place of a job, it opens on one of its own pages.
func FuzzPlace(f *testing.F) {
	for _, place := range []string{"", "1/bench", "/jobs/j1/2/set", "//evil.example/", "https://evil.example", "1/bench\r\nX: y", `\\x`, "1//bench", "%2e%2e/meters"} {
		f.Add(place)
	}
	f.Fuzz(func(t *testing.T, place string) {
		got := placeOf(&job.Kept{ID: "j1", Place: place, Job: &job.Job{Tanks: make([]job.Tank, 3)}})
		u, err := url.Parse(got)
		if err != nil || u.Host != "" || u.Scheme != "" || u.RawQuery != "" || u.Path != got || got != "/jobs/j1" && !strings.HasPrefix(got, "/jobs/j1/") || strings.Contains(got, "..") {
			t.Errorf("left at %q: opens %q", place, got)
		}
	})
}

// A span that was read is written again as one that reads the same.
func FuzzClaims(f *testing.F) {
	for _, text := range []string{"0 to 90", "240–33 Ω", "10 ohm to 180 ohm; 0:190", "0-90\n1,5 to 3", "to", "-1 to 5", "1e400 to 3"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		claims, err := readClaims(text)
		if err != nil {
			return
		}
		for _, c := range claims {
			again, err := readClaims(fmt.Sprintf("%v to %v", c.EmptyOhm, c.FullOhm))
			if err != nil || len(again) != 1 || again[0] != c || !(c.EmptyOhm >= 0) || !(c.FullOhm >= 0) {
				t.Errorf("%q: %v, and again %v %v", text, c, again, err)
			}
		}
	})
}

// The name of a saved file is one that the standard library reads back, and
// leads into no folder.
func FuzzAttachment(f *testing.F) {
	f.Add("Tidewater Kitchen", "2025-1")
	f.Add("../..\\\"", "\r\nX: y")
	f.Add("🚐\u202e", "%00")
	f.Fuzz(func(t *testing.T, customer, number string) {
		head := attachment(&job.Job{Customer: customer, Number: number}, ".json")
		_, own, ok := strings.Cut(head, "; filename*=")
		_, params, err := mime.ParseMediaType("attachment; filename*=" + own)
		if err != nil || !ok || strings.ContainsAny(head, "\r\n") || strings.ContainsAny(params["filename"], `/\:`) || !strings.HasSuffix(params["filename"], ".json") {
			t.Errorf("%q %q: %q %q %v", customer, number, head, params, err)
		}
		for _, r := range head {
			if r < 0x20 || r > 0x7e {
				t.Errorf("%q holds %q", head, r)
			}
		}
	})
}
