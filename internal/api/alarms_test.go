package api

import (
	"net/http"
	"strings"
	"testing"

	"gaugewright/internal/doors"
)

// Programs see the alarms of their tanks, and those that may both look and publish
// acknowledge and shelve them; all others are refused.
func TestAlarms(t *testing.T) {
	s := newStall()
	s.board = newBoard()
	who := everyone
	url := serving(t, s, func(o *Options) { o.May = func(*http.Request) (Access, error) { return who, nil } }) + "/api/v1/alarms"
	got := ask(t, "GET", url, "")
	first := got.json["alarms"].([]any)[0].(map[string]any)
	if got.status != 200 || first["id"] != "lpg/leak" || first["state"] != "unacknowledged" || first["priority"] != "critical" || first["active"] != true || first["until"] != nil {
		t.Fatalf("%d %s", got.status, got.text)
	}
	token := func(read, publish bool, tanks ...string) Access {
		v := doors.Pass{Kind: doors.Token, Name: "Kitchen screen", Read: read, Publish: publish, Tanks: tanks}.Visitor()
		return Access{Visitor: v, Post: v.Sends, Act: v.Looks() && v.Sends}
	}
	for _, c := range []struct {
		who        Access
		path, body string
		status     int
		want       string
	}{
		{token(true, false, "lpg"), "/lpg/leak/acknowledge", "", 403, "both look and publish"},
		{Access{Visitor: doors.Visitor{Role: doors.Guest}}, "/lpg/leak/acknowledge", "", 403, ""},
		{Access{}, "/lpg/leak/acknowledge", "", 401, ""},
		{token(true, true, "fresh"), "/lpg/leak/acknowledge", "", 404, "No alarm"},
		{token(true, true, "lpg"), "/lpg/none/acknowledge", "", 404, "No alarm"},
		{token(true, true, "lpg"), "/lpg/leak/acknowledge", "", 200, `"by":"Kitchen screen"`},
		{token(true, true, "lpg"), "/lpg/leak/shelve", `{"until":"2026-11-24T20:00:00Z"}`, 200, `"until":"2026-11-24T20:00:00Z"`},
		{token(true, true, "lpg"), "/lpg/leak/shelve", `{"until":"2026-12-24T20:00:00Z"}`, 422, "a week ahead"},
		{token(true, true, "lpg"), "/lpg/leak/shelve", `{"until":"soon"}`, 422, ""},
		{token(true, true, "lpg"), "/lpg/leak/shelve", `{}`, 422, ""},
		{token(true, true, "lpg"), "/lpg/leak/shelve", `{"until":null}`, 200, `"state":"unacknowledged"`},
	} {
		who = c.who
		if got := ask(t, "POST", url+c.path, c.body); got.status != c.status || !strings.Contains(got.text, c.want) {
			t.Errorf("%s %s: %d %s; expected %d %q", c.path, c.body, got.status, got.text, c.status, c.want)
		}
	}
	who = token(true, false, "fresh")
	if got := ask(t, "GET", url, ""); len(got.json["alarms"].([]any)) != 1 || strings.Contains(got.text, "lpg") {
		t.Errorf("another's tank: %s", got.text)
	}
	if got := ask(t, "GET", url+"/moves", ""); got.status != 200 || len(got.json["moves"].([]any)) != 1 || strings.Contains(got.text, "lpg") {
		t.Errorf("another's tank: %s", got.text)
	}
	who = everyone
	if got := ask(t, "GET", strings.TrimSuffix(url, "/api/v1/alarms")+"/metrics", ""); !strings.Contains(got.text, `gaugewright_alarms_active{priority="critical"} 1`) || !strings.Contains(got.text, `gaugewright_alarms_unacknowledged{priority="low"} 0`) {
		t.Errorf("%s", got.text)
	}
	s.board = nil
	if got := ask(t, "GET", url, ""); got.status != 200 || len(got.json["alarms"].([]any)) != 0 {
		t.Errorf("without alarms: %d %s", got.status, got.text)
	}
}
