package station

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
)

// Programs put readings in, see the level that comes of them, and are told what
// was refused; and the program is ready and has its figures.
func TestForPrograms(t *testing.T) {
	s, _ := started(t, withDoors, Options{Version: "1.2.3"})
	at := "http://" + s.listener.Addr().String()
	ask := func(method, path, body, host string) (int, string) {
		t.Helper()
		r, err := http.NewRequestWithContext(t.Context(), method, at+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		if r.Host = host; host == "" {
			r.Host = "localhost"
		}
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		if err != nil {
			t.Fatal(err)
		}
		return answer.StatusCode, string(text)
	}
	for range 3 {
		if status, text := ask("POST", "/api/v1/tanks/fresh/readings", `[{"ohm":95},{"ohm":95.1}]`, ""); status != 200 || text != "{\"kept\":2}\n" {
			t.Fatalf("%d %s", status, text)
		}
	}
	for body, want := range map[string]int{`{"ohm":"a lot"}`: 400, `{"colour":1}`: 400, "[" + strings.Repeat("1,", 1000) + "1]": 413} {
		if status, text := ask("POST", "/api/v1/tanks/fresh/readings", body, ""); status != want || strings.Contains(text, "panic") {
			t.Errorf("%.20s: %d %s; expected %d", body, status, text, want)
		}
	}
	var level struct {
		LevelPct *float64 `json:"level_pct"`
		Source   string
	}
	for end := time.Now().Add(10 * time.Second); level.LevelPct == nil || *level.LevelPct < 49 || *level.LevelPct > 51; time.Sleep(10 * time.Millisecond) {
		_, text := ask("GET", "/api/v1/tanks/fresh/level", "", "")
		if err := json.Unmarshal([]byte(text), &level); err != nil || time.Now().After(end) {
			t.Fatalf("%v: %s", err, text)
		}
	}
	if level.Source != postedSource {
		t.Errorf("%+v", level)
	}
	for path, want := range map[string]string{
		"/api/v1/feeds":    `"feed":"api","up":true,"where":"/api/v1","since":null,"why":null,"again":null,"taken":6,"refused":[{`,
		"/api/v1/standing": `"version":"1.2.3"`,
		"/api/v1/tanks":    `"tank":"fresh"`,
		"/readyz":          `{"ready":true,"reasons":[]}`,
		"/metrics":         "\ngaugewright_readings_kept_total 6\n",
		"/levels":          `"tank":"fresh"`,
	} {
		for end := time.Now().Add(10 * time.Second); ; time.Sleep(10 * time.Millisecond) {
			status, text := ask("GET", path, "", "")
			if status == 200 && strings.Contains(text, want) {
				break
			}
			if time.Now().After(end) {
				t.Fatalf("%s: %d %s\nexpected %s", path, status, text, want)
			}
		}
	}
	if _, text := ask("GET", "/metrics", "", ""); !strings.Contains(text, "gaugewright_commit_duration_seconds_bucket{le=\"+Inf\"} ") || strings.Contains(text, "gaugewright_store_bytes 0\n") {
		t.Error(text)
	}
	for _, path := range []string{"/api/v1/levels", "/metrics"} {
		if status, _ := ask("GET", path, "", "gaugewright.example"); status != http.StatusMisdirectedRequest {
			t.Errorf("%s by another name: %d", path, status)
		}
	}
	// A stream holds up no end.
	live, err := http.Get(at + "/api/v1/levels/stream")
	if err != nil {
		t.Fatal(err)
	}
	defer live.Body.Close()
	begun := time.Now()
	if err := s.Stop(); err != nil || time.Since(begun) > stopWithin-time.Second {
		t.Errorf("with a stream open it took %s to stop: %v", time.Since(begun), err)
	}
}
