package api

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// The level of a tank is what is published of it by MQTT, to the last field.
func TestLevelAsPublished(t *testing.T) {
	s := newStall()
	url := serving(t, s)
	for i, name := range []string{"fresh", "lpg", "diesel"} {
		published, err := json.Marshal(s.Levels(noon)[i].PublishIn(time.UTC))
		if err != nil {
			t.Fatal(err)
		}
		var want map[string]any
		if err := json.Unmarshal(published, &want); err != nil {
			t.Fatal(err)
		}
		got := ask(t, "GET", url+"/api/v1/tanks/"+name+"/level", "")
		if err := asDocumented(t, "/tanks/"+name+"/level", got.text); err != nil {
			t.Errorf("%s isn't as docs/openapi.json has it: %v", name, err)
		}
		if name == "diesel" {
			continue // nothing is published of it
		}
		if d := cmp.Diff(want, got.json); got.status != 200 || d != "" {
			t.Errorf("%s: %d\n%s", name, got.status, d)
		}
	}
	// Of the one that nothing came of nothing is made up.
	got := ask(t, "GET", url+"/api/v1/tanks/diesel/level", "").json
	if got["time"] != nil || got["level_pct"] != nil || got["status"] != "failure" || got["reason"] == "" {
		t.Errorf("diesel: %v", got)
	}
}

// What is asked for by each address.
func TestAnswers(t *testing.T) {
	s := newStall()
	url := serving(t, s)
	for path, want := range map[string]string{
		"/tanks":               `{"tanks":[{"tank":"fresh","label":"Fresh water","contents":"water","scale":"100 % is the whole tank.","capacity_l":99.9,"permitted_pct":null,"cautions":[],"job":"TK-2026-014","job_tank":"Fresh"},{"tank":"lpg","label":"lpg","contents":"lpg","scale":null,"capacity_l":null,"permitted_pct":80,"cautions":["Never fill beyond the permitted fill."],"job":null,"job_tank":null},{"tank":"diesel","label":"diesel","contents":null,"scale":null,"capacity_l":null,"permitted_pct":null,"cautions":[],"job":null,"job_tank":null}]}`,
		"/tanks/diesel":        `{"tank":"diesel","label":"diesel","contents":null,"scale":null,"capacity_l":null,"permitted_pct":null,"cautions":[],"job":null,"job_tank":null,"first_reading":"2026-10-24T12:00:00Z","counts":{"taken":0,"doubled":0,"late":0,"too_late":0,"early":0,"not_number":0,"spikes":0,"jumps":0,"open":0,"short":0,"beyond":0,"no_value":0,"faults":0,"crowd":0}}`,
		"/tanks/fresh/history": `{"tank":"fresh","from":"2026-11-23T12:00:00Z","to":"2026-11-24T12:00:00Z","bucket_s":300,"buckets":[{"from":"2026-11-23T12:00:00Z","n":60,"min_pct":51.4,"mean_pct":51.84,"max_pct":52.1,"low_pct":50.1,"high_pct":53.6,"without":0,"worst":"good"},{"from":"2026-11-23T12:01:00Z","n":0,"min_pct":null,"mean_pct":null,"max_pct":null,"low_pct":null,"high_pct":null,"without":60,"worst":"failure"}]}`,
		"/tanks/fresh/readings?source=mqtt&from=2026-11-01T00:00:00%2B01:00&to=2026-11-02T00:00:00Z&buckets=7": `{"tank":"fresh","source":"mqtt","signal":"ohm","from":"2026-10-31T23:00:00Z","to":"2026-11-02T00:00:00Z","bucket_s":14400,"buckets":[{"from":"2026-10-31T23:00:00Z","n":60,"min":117.9,"mean":118.4,"max":118.9},{"from":"2026-10-31T23:01:00Z","n":0,"min":null,"mean":null,"max":null}]}`,
		"/tanks/fresh/lines": `{"lines":[{"source":"mqtt","signal":"ohm"},{"source":"bay","signal":"level_pct"}]}`,
		"/events?most=2":     `{"events":[{"time":"2026-11-24T12:00:00Z","tank":"lpg","kind":"fault","fault":"broken wire","status":"failure","level_pct":61,"sentence":"24 November 2026, 12:00 – Broken wire; the last good level was 61 %.","text":null},{"time":"2026-11-24T11:00:00Z","tank":null,"kind":"clock","fault":null,"status":null,"level_pct":null,"sentence":"24 November 2026, 11:00 – This machine's clock was set back by 3 h.","text":"This machine's clock was set back by 3 h."}]}`,
		"/feeds":             `{"feeds":[{"feed":"mqtt","up":true,"where":"127.0.0.1:1883","since":"2026-11-24T12:00:00Z","why":null,"again":null,"taken":86400,"refused":[{"what":"an unknown field","n":2}]},{"feed":"modbus/bay","up":false,"where":"127.0.0.1:502","since":"2026-11-24T12:00:00Z","why":"connection refused","again":"2026-11-24T12:01:00Z","taken":0,"refused":[]}]}`,
		"/standing":          `{"started":"2026-11-24T11:00:00Z","failing":null,"failing_since":null,"waiting":40,"kept":86400,"failed_commits":0,"store_bytes":1048576,"lost":[{"what":"readings that waited for the disk","n":5}],"notes":["The watch before this one was cut off."],"version":"1.2.3"}`,
	} {
		got := ask(t, "GET", url+"/api/v1"+path, "")
		if got.status != 200 || strings.TrimSpace(got.text) != want || got.head.Get("Content-Type") != "application/json" || got.head.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %d %v\n%s\nexpected\n%s", path, got.status, got.head, got.text, want)
		}
		if err := asDocumented(t, path, got.text); err != nil {
			t.Errorf("%s isn't as docs/openapi.json has it: %v", path, err)
		}
	}
	if got := s.asked[len(s.asked)-1].Buckets; len(s.asked) != 2 || got != 7 && got != 300 {
		t.Errorf("asked for %+v", s.asked)
	}
	if got := ask(t, "GET", url+"/api/v1/levels", ""); len(got.json["levels"].([]any)) != 3 {
		t.Error(got.text)
	}
	if got := ask(t, "GET", url+"/anything", ""); got.text != "a page" {
		t.Error(got.text)
	}
}

// What can't be answered is a problem by RFC 9457 that names what is wrong, and
// no more.
func TestProblems(t *testing.T) {
	s := newStall()
	url := serving(t, s, func(o *Options) { o.MostStreams = 1 })
	s.err = errDisk
	for path, want := range map[string]struct {
		status int
		names  string
	}{
		"GET /tanks/nowhere":                                                         {404, "nowhere"},
		"GET /tanks/fresh?colour=red":                                                {422, "colour"},
		"GET /tanks/fresh/history?buckets=0":                                         {422, "buckets"},
		"GET /tanks/fresh/history?buckets=10001":                                     {422, "buckets"},
		"GET /tanks/fresh/history?from=yesterday":                                    {422, "from"},
		"GET /tanks/fresh/history?from=2027-01-01T00:00:00Z":                         {422, "Expected from to be before to"},
		"GET /tanks/fresh/history?from=1960-01-01T00:00:00Z&to=1961-01-01T00:00:00Z": {422, "1970"},
		"GET /tanks/fresh/history?from=1900-01-01T00:00:00Z":                         {422, "50 years"},
		"GET /tanks/fresh/history":                                                   {500, "log"},
		"GET /tanks/fresh/readings":                                                  {422, "source"},
		"GET /tanks/fresh/readings?source=mqtt&signal=furlong":                       {422, "signal"},
		"GET /events?most=1001":                                                      {422, "most"},
		"GET /events?tank=nowhere":                                                   {404, "nowhere"},
		"GET /levels/stream?tank=nowhere":                                            {404, "nowhere"},
		"GET /tanks/" + strings.Repeat("x", 65):                                      {422, "tank"},
		"GET /nothing":                                                               {404, "openapi.json"},
		"DELETE /tanks":                                                              {405, "GET"},
		"POST /levels":                                                               {405, "GET"},
		"POST /tanks/nowhere/readings":                                               {404, "nowhere"},
	} {
		method, at, _ := strings.Cut(path, " ")
		got := ask(t, method, url+"/api/v1"+at, "1", "Content-Type", "application/json")
		if got.status != want.status || got.head.Get("Content-Type") != "application/problem+json" || got.json["status"] != float64(want.status) ||
			!strings.Contains(got.text, want.names) || strings.Contains(got.text, "secret") {
			t.Errorf("%s: %d %s %s; expected %d with %q", path, got.status, got.head.Get("Content-Type"), got.text, want.status, want.names)
		}
	}
	if got := ask(t, "DELETE", url+"/api/v1/tanks", "").head.Get("Allow"); got != "GET" {
		t.Errorf("Allow: %q", got)
	}
}

// Readings that are posted are handed over as they are; what is too long, of
// another kind, or of another site's page isn't.
func TestPost(t *testing.T) {
	s := newStall()
	url := serving(t, s)
	at := url + "/api/v1/tanks/fresh/readings"
	for body, head := range map[string][]string{
		`{"ohm":118.4}`: {"Content-Type", "application/json; charset=utf-8"},
		`118.4`:         {"Content-Type", "text/plain"},
		`[1,2]`:         nil,
	} {
		if got := ask(t, "POST", at, body, head...); got.status != 200 || got.text != "{\"kept\":1}\n" || s.posted[len(s.posted)-1] != "fresh "+body {
			t.Errorf("%s: %d %s", body, got.status, got.text)
		}
	}
	n := len(s.posted)
	for name, c := range map[string]struct {
		body   string
		head   []string
		status int
	}{
		"a form":       {"a=1", []string{"Content-Type", "application/x-www-form-urlencoded"}, 415},
		"too long":     {strings.Repeat("1", mostBody+1), nil, 413},
		"another site": {"1", []string{"Origin", "https://elsewhere.example", "Sec-Fetch-Site", "cross-site"}, 403},
		"nothing":      {"", nil, 400},
	} {
		if got := ask(t, "POST", at, c.body, c.head...); got.status != c.status || got.head.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: %d %s", name, got.status, got.text)
		}
	}
	s.failing = "no space left on device"
	if got := ask(t, "POST", at, "1"); got.status != 503 || got.head.Get("Retry-After") != "5" {
		t.Errorf("a failing disk: %d %v", got.status, got.head)
	}
	if len(s.posted) != n {
		t.Errorf("handed over: %q", s.posted[n:])
	}
}

// A program that watches nothing says so, and nothing breaks.
func TestNothingWatched(t *testing.T) {
	url := serving(t, nil, func(o *Options) { *o = Options{} })
	for path, want := range map[string]string{"/tanks": `{"tanks":[]}`, "/levels": `{"levels":[]}`, "/feeds": `{"feeds":[]}`} {
		if got := ask(t, "GET", url+"/api/v1"+path, ""); got.status != 200 || strings.TrimSpace(got.text) != want {
			t.Errorf("%s: %d %s", path, got.status, got.text)
		}
	}
	for path, want := range map[string]int{"/api/v1/events": 404, "/api/v1/standing": 200, "/metrics": 200, "/readyz": 200} {
		if got := ask(t, "GET", url+path, ""); got.status != want {
			t.Errorf("%s: %d %s", path, got.status, got.text)
		}
	}
}

// Alive whatever happens; ready only where readings can be kept, and without
// telling strangers where.
func TestHealth(t *testing.T) {
	s := newStall()
	url := serving(t, s)
	check := func(want string, status int) {
		t.Helper()
		if got := ask(t, "GET", url+"/readyz", ""); got.status != status || strings.TrimSpace(got.text) != want {
			t.Errorf("%d %s; expected %d %s", got.status, got.text, status, want)
		}
		if got := ask(t, "GET", url+"/healthz", ""); got.status != 200 || got.text != "{\"alive\":true}\n" {
			t.Errorf("alive: %d", got.status)
		}
	}
	check(`{"ready":true,"reasons":[]}`, 200)
	s.begun = false
	check(`{"ready":false,"reasons":[{"what":"feed","text":"The feed modbus/bay hasn't begun yet.","since":null}]}`, 503)
	s.begun, s.failing = true, "/var/lib/secret: no space left on device"
	check(`{"ready":false,"reasons":[{"what":"disk","text":"Readings can't be kept, and aren't acknowledged until they can.","since":"2026-11-24T12:00:00Z"}]}`, 503)
	if got := ask(t, "POST", url+"/readyz", ""); got.status != 405 {
		t.Errorf("POST: %d", got.status)
	}
}

// Commits are counted below each bound that they aren't above.
func TestCommits(t *testing.T) {
	var c Commits
	for _, took := range []time.Duration{0, time.Millisecond, 10 * time.Second, time.Minute} {
		c.Add(took)
	}
	if want := []uint64{2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 3}; c.N != 4 || c.Sum != 70*time.Second+time.Millisecond || !reflect.DeepEqual(c.Below, want) {
		t.Errorf("%+v", c)
	}
}
