package app

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/peer"
	"gaugewright/internal/station"
)

// by asks as a program with a token does.
func by(t *testing.T, token, method, address string) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, address, strings.NewReader("95"))
	if err != nil {
		t.Fatal(err)
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
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

// Programs on this machine are answered before the pages, whoever they are.
func TestPrograms(t *testing.T) {
	a := started(t, Options{Version: "1.2.3"})
	for path, want := range map[string]string{"api/v1/tanks": `{"tanks":[]}`, "api/v1/standing": `"version":"1.2.3"`, "healthz": "true", "metrics": `gaugewright_build_info{`} {
		if status, text := by(t, "", "GET", a.URL()+path); status != 200 || !strings.Contains(text, want) {
			t.Errorf("%s: %d %s", path, status, text)
		}
	}
}

// Where others reach the pages each program gets what its token is for, and none at
// all once that was revoked.
func TestProgramsByToken(t *testing.T) {
	folder := t.TempDir()
	s := watching(t, folder)
	make := func(p doors.Pass) string {
		t.Helper()
		p.Kind, p.Name = doors.Token, "a program"
		_, secret, err := s.Passes().Make(t.Context(), p, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		return secret
	}
	reads, sends := make(doors.Pass{Read: true}), make(doors.Pass{Publish: true, Tanks: []string{"fresh"}})
	one := make(doors.Pass{Read: true, Tanks: []string{"fresh"}})
	_, link, err := s.Passes().Make(t.Context(), doors.Pass{Kind: doors.Link, Name: "a phone"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	a := started(t, Options{NewPhrase: "four words will do", Guarded: true, Watch: s, Passes: s.Passes()})
	check := func(token string, want map[string]int) {
		t.Helper()
		for what, status := range want {
			method, path, _ := strings.Cut(what, " ")
			if got, text := by(t, token, method, a.URL()+path); got != status {
				t.Errorf("%.8s: %s: %d %s; expected %d", token, what, got, text, status)
			}
		}
	}
	const levels, readings, grey = "GET api/v1/levels", "POST api/v1/tanks/fresh/readings", "GET api/v1/tanks/grey/level"
	check("", map[string]int{levels: 401, readings: 401, "GET metrics": 401, "GET healthz": 200, "GET readyz": 200})
	check(reads, map[string]int{levels: 200, grey: 200, readings: 403, "GET metrics": 200, "GET api/v1/feeds": 200})
	check(sends, map[string]int{levels: 403, grey: 403, readings: 200, "POST api/v1/tanks/grey/readings": 404, "GET metrics": 403})
	check(one, map[string]int{levels: 200, grey: 404, readings: 403, "GET metrics": 403})
	// After four wrong ones it takes a while, which has a test of its own.
	check(link, map[string]int{levels: 401})
	check("gwt-"+strings.Repeat("a", 52), map[string]int{"GET metrics": 401})
	all, err := s.Passes().Passes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range all {
		if err := s.Passes().RevokePass(t.Context(), p.ID, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	check(reads, map[string]int{levels: 401})
	check(sends, map[string]int{readings: 401})
}

// watching is a watch of two tanks that is fed by programs alone.
func watching(t *testing.T, folder string) *station.Station {
	t.Helper()
	c, err := station.Read("", nil, []string{"data=" + filepath.Join(folder, "watch.db"), "commit_every=10ms", "mqtt.listen=127.0.0.1:0",
		"tank.fresh.lower=10", "tank.fresh.upper=180", "tank.grey.lower=10", "tank.grey.upper=180"})
	if err != nil {
		t.Fatal(err)
	}
	s, err := station.New(t.Context(), c, station.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Start(context.Background()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// Every example of the page on the API, run by curl as it stands there but for the
// port, is answered; and the page names each address, figure and status.
func TestPageOnPrograms(t *testing.T) {
	peer.Tool(t, "curl", "curl")
	page, err := os.ReadFile("../../docs/api.md")
	if err != nil {
		t.Fatal(err)
	}
	s := watching(t, t.TempDir())
	if _, err := s.Post(t.Context(), "fresh", []byte(`[95, 95.1]`)); err != nil {
		t.Fatal(err)
	}
	a := started(t, Options{Watch: s})
	ran, keeps := 0, s.Past() != nil
	for _, block := range regexp.MustCompile("(?s)```sh\n(.*?)```").FindAllStringSubmatch(string(page), -1) {
		for _, line := range strings.Split(strings.TrimSpace(block[1]), "\n") {
			out, err := exec.Command("sh", "-ec", strings.ReplaceAll(line, "http://127.0.0.1:8765/", a.URL())).CombinedOutput()
			past := strings.Contains(line, "/history") || strings.Contains(line, "/lines") || strings.Contains(line, "source=") || strings.Contains(line, "/events")
			if (err != nil || len(out) == 0) && (keeps || !past) {
				t.Errorf("%s\n%v: %s", line, err, out)
			}
			ran++
		}
	}
	if ran != 16 {
		t.Errorf("%d examples ran", ran)
	}
	_, text := by(t, "", "GET", a.URL()+"api/v1/openapi.json")
	var document struct {
		Paths map[string]map[string]struct{ Responses map[string]any }
	}
	if err := json.Unmarshal([]byte(text), &document); err != nil {
		t.Fatal(err)
	}
	for path, verbs := range document.Paths {
		for verb, op := range verbs {
			if row := "\n| `" + strings.ToUpper(verb) + " " + strings.ReplaceAll(path, "{tank}", "TANK") + "` |"; !strings.Contains(string(page), row) {
				t.Errorf("the page doesn't name %s %s", verb, path)
			}
			for status := range op.Responses {
				if status != "200" && !strings.Contains(string(page), "\n| "+status+" |") {
					t.Errorf("the page doesn't say what %s is", status)
				}
			}
		}
	}
	_, text = by(t, "", "GET", a.URL()+"metrics")
	for _, name := range regexp.MustCompile(`# TYPE (gaugewright_\w+)`).FindAllStringSubmatch(text, -1) {
		short := name[1][strings.LastIndex(strings.TrimSuffix(strings.TrimSuffix(name[1], "_total"), "_ratio"), "_"):]
		if !strings.Contains(string(page), "`"+name[1]+"`") && !strings.Contains(string(page), "`"+short+"`") {
			t.Errorf("the page doesn't name %s", name[1])
		}
	}
}
