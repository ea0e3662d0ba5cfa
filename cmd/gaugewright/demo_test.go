package main

import (
	"encoding/json"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"
)

// The demonstration comes up with jobs, a vehicle whose levels move and a past, and
// is gone with all it left.
func TestDemoPages(t *testing.T) {
	built.Store(true)
	if _, err := program(); err != nil { // outside of the folder that is to be empty
		t.Fatal(err)
	}
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	p := begin(t, "demo", "--listen", "127.0.0.1:0", "--speed", "600")
	get := func(path string) string {
		t.Helper()
		r, err := http.Get(p.url + path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		if err != nil || r.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s, %v\n%s", path, r.Status, err, text)
		}
		return string(text)
	}
	for path, want := range map[string]string{"": "Tidewater Kitchen", "watched": "Grey water", "readyz": `"ready":true`, "metrics": `gaugewright_feed_up{feed="mqtt"} 1`} {
		if text := get(path); !strings.Contains(text, want) {
			t.Errorf("no %q at /%s", want, path)
		}
	}
	_, link, _ := strings.Cut(p.said.String(), "Owner: "+p.url)
	link, _, _ = strings.Cut(link, ",")
	if r, err := (&http.Transport{}).RoundTrip(request(t, p.url+link)); err != nil || r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/left" {
		t.Errorf("the owner's link %q: %v, %v", link, r, err)
	}
	var past struct {
		Buckets []struct {
			From    time.Time `json:"from"`
			MeanPct *float64  `json:"mean_pct"`
		} `json:"buckets"`
	}
	from := time.Now().AddDate(0, 0, -22).UTC().Format(time.RFC3339)
	if err := json.Unmarshal([]byte(get("api/v1/tanks/gas/history?buckets=100&from="+from)), &past); err != nil || len(past.Buckets) < 50 {
		t.Errorf("%d parts of a past, %v", len(past.Buckets), err)
	}
	for _, b := range past.Buckets {
		if b.MeanPct != nil && *b.MeanPct > 100.5 {
			t.Errorf("the gas stands at %v %% of what is permitted on %s", *b.MeanPct, b.From)
		}
	}
	level := func() string {
		var l struct {
			Time     time.Time `json:"time"`
			LevelPct *float64  `json:"level_pct"`
		}
		if err := json.Unmarshal([]byte(get("api/v1/tanks/fresh/level")), &l); err != nil {
			t.Fatal(err)
		}
		return l.Time.String()
	}
	first := level()
	for end := time.Now().Add(time.Minute); level() == first; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the levels stand still")
		}
	}
	if err := p.interrupt(); err != nil {
		t.Errorf("it ended with %v", err)
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("it left %v, %v", left, err)
	}
	if said := p.said.String(); !strings.Contains(said, "invented") || strings.Contains(said, "level=") {
		t.Errorf("it said:\n%s", said)
	}
}

// A speed that can't be is refused, and nothing is left.
func TestDemoRefuses(t *testing.T) {
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	for _, speed := range []string{"0.1", "601"} {
		status, _, messages := command("", "demo", "--listen", "127.0.0.1:0", "--speed", speed)
		if status != exitInput || !strings.Contains(messages, "1 to 600") {
			t.Errorf("--speed %s: %d %s", speed, status, messages)
		}
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("it left %v, %v", left, err)
	}
}

func request(t *testing.T, address string) *http.Request {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", address, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
