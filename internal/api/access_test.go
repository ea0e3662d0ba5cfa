package api

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/doors"
)

// Everyone gets what they may: a guest their own tanks, nobody anything, a token
// what it has the right to.
func TestMay(t *testing.T) {
	s := newStall()
	var who func(*http.Request) (Access, error)
	url := serving(t, s, func(o *Options) { o.May = func(r *http.Request) (Access, error) { return who(r) } })
	is := func(a Access) func(*http.Request) (Access, error) {
		return func(*http.Request) (Access, error) { return a, nil }
	}
	all := doors.Visitor{Role: doors.Owner}
	sender := doors.Pass{Kind: doors.Token, Publish: true, Tanks: []string{"lpg"}}.Visitor()
	cases := []struct {
		name string
		who  func(*http.Request) (Access, error)
		want map[string]int
	}{
		{"nobody", is(Access{}), map[string]int{"GET /api/v1/tanks": 401, "GET /api/v1/levels/stream": 401, "POST /api/v1/tanks/fresh/readings": 401, "GET /metrics": 401, "GET /healthz": 200, "GET /readyz": 200, "GET /api/v1/openapi.json": 200}},
		{"a guest", guest, map[string]int{"GET /api/v1/tanks": 200, "GET /api/v1/tanks/fresh/history": 200, "GET /api/v1/tanks/lpg": 404, "GET /api/v1/tanks/lpg/level": 404, "GET /api/v1/events?tank=lpg": 404, "GET /api/v1/standing": 403, "GET /api/v1/feeds": 403, "GET /metrics": 403, "POST /api/v1/tanks/fresh/readings": 403}},
		{"a sender", is(Access{Visitor: sender, Post: true}), map[string]int{"POST /api/v1/tanks/lpg/readings": 200, "POST /api/v1/tanks/fresh/readings": 404, "GET /api/v1/levels": 403, "GET /api/v1/levels/stream": 403, "GET /metrics": 403}},
		{"a scraper", is(Access{Visitor: all, Inside: true}), map[string]int{"POST /api/v1/tanks/lpg/readings": 403, "GET /metrics": 200, "GET /api/v1/standing": 200}},
		{"too many tries", func(*http.Request) (Access, error) {
			return Access{}, &Refusal{Status: 429, Detail: "Too many tries.", Again: time.Minute}
		}, map[string]int{"GET /api/v1/tanks": 429}},
		{"a broken lock", func(*http.Request) (Access, error) { return Access{}, errDisk }, map[string]int{"GET /api/v1/tanks": 500, "GET /metrics": 500}},
	}
	for _, c := range cases {
		who = c.who
		for path, want := range c.want {
			method, at, _ := strings.Cut(path, " ")
			got := ask(t, method, url+at, "1")
			if got.status != want || strings.Contains(got.text, "secret") {
				t.Errorf("%s: %s: %d %s; expected %d", c.name, path, got.status, got.text, want)
			}
			if (got.head.Get("WWW-Authenticate") != "") != (want == 401) || (got.head.Get("Retry-After") != "") != (want == 429) {
				t.Errorf("%s: %s: %v", c.name, path, got.head)
			}
		}
	}
	who = guest
	for path, list := range map[string]string{"/tanks": "tanks", "/levels": "levels", "/events": "events"} {
		got := ask(t, "GET", url+"/api/v1"+path, "")
		if rows := got.json[list].([]any); len(rows) != 1 || rows[0].(map[string]any)["tank"] != "fresh" {
			t.Errorf("a guest sees %s", got.text)
		}
	}
}
