package api

import (
	"strings"
	"testing"
)

// What came in and went out, and how long it lasts, as programs get it: the capacity
// that isn't known is null, and so is what isn't known of the use.
func TestFlowsAnswered(t *testing.T) {
	s := newStall()
	url := serving(t, s) + Path + "/tanks/"
	fresh := ask(t, "GET", url+"fresh/outlook", "")
	if fresh.status != 200 {
		t.Fatalf("%d %s", fresh.status, fresh.text)
	}
	for name, want := range map[string]any{
		"tank": "fresh", "use_pct_per_day": 9.41, "low_pct_per_day": 8.2, "use_l_per_day": 9.401, "use_kg_per_day": 9.391, "time_left_low_h": 118., "time_left_high_h": 167., "fill_by": "2026-11-28", "days": 21., "meals": nil,
	} {
		if fresh.json[name] != want {
			t.Errorf("%s is %v, expected %v", name, fresh.json[name], want)
		}
	}
	if use := fresh.json["use"].([]any); len(use) != 2 || use[0].(map[string]any)["use_pct"] != 9. || use[0].(map[string]any)["day"] != "2026-11-23" {
		t.Errorf("the use is %v", use)
	}
	if hours := fresh.json["by_hour"].([]any); len(hours) != 24 || hours[19] != 1. {
		t.Errorf("by the hour %v", hours)
	}
	if text := fresh.json["sentence"].(string); !strings.HasPrefix(text, "Enough for ") {
		t.Errorf("%q", text)
	}
	gas := ask(t, "GET", url+"lpg/outlook", "")
	for _, name := range []string{"use_pct_per_day", "use_l_per_day", "use_kg_per_day", "time_left_mid_h", "fill_by"} {
		if v, there := gas.json[name]; v != nil || !there {
			t.Errorf("of the gas %s is %v, there: %v", name, v, there)
		}
	}
	list := ask(t, "GET", url+"fresh/flows", "").json["flows"].([]any)
	refill := list[1].(map[string]any)
	if len(list) != 2 || refill["kind"] != "refill" || refill["amount_l"] != 41.159 || refill["amount_pct"] != 41.2 || refill["end"] == nil || refill["per_hour_l"] != nil {
		t.Errorf("%v", list)
	}
	if stuck := list[0].(map[string]any); stuck["amount_pct"] != nil || stuck["before_pct"] != nil {
		t.Errorf("%v", stuck)
	}
	leak := ask(t, "GET", url+"lpg/flows", "").json["flows"].([]any)[0].(map[string]any)
	if leak["end"] != nil || leak["amount_l"] != nil || leak["per_hour_pct"] != 0.33 || leak["why"] != "It fell without a pause." {
		t.Errorf("%v", leak)
	}
	if one := ask(t, "GET", url+"fresh/flows?most=1", "").json["flows"].([]any); len(one) != 1 {
		t.Errorf("%d of them", len(one))
	}
	for path, status := range map[string]int{"nowhere/flows": 404, "nowhere/outlook": 404, "fresh/flows?most=0": 422, "fresh/flows?from=2026-11-25T00:00:00Z&to=2026-11-24T00:00:00Z": 422} {
		if got := ask(t, "GET", url+path, ""); got.status != status {
			t.Errorf("%s: %d %s", path, got.status, got.text)
		}
	}
	s.err = errDisk
	if got := ask(t, "GET", url+"fresh/flows", ""); got.status != 500 || strings.Contains(got.text, "secret") {
		t.Errorf("%d %s", got.status, got.text)
	}
}

// Who may look at some tanks alone isn't told of the others'.
func TestFlowsOfSomeTanks(t *testing.T) {
	url := serving(t, newStall(), func(o *Options) { o.May = guest }) + Path + "/tanks/"
	for path, status := range map[string]int{"fresh/flows": 200, "fresh/outlook": 200, "lpg/flows": 404, "lpg/outlook": 404} {
		if got := ask(t, "GET", url+path, ""); got.status != status {
			t.Errorf("%s: %d %s", path, got.status, got.text)
		}
	}
}

// Where nothing is followed that is said.
func TestFlowsOfNothing(t *testing.T) {
	url := serving(t, nil, func(o *Options) { o.Watch, o.Take = many{}, nil }) + Path + "/tanks/tank0/"
	for _, path := range []string{"flows", "outlook"} {
		if got := ask(t, "GET", url+path, ""); got.status != 404 || !strings.Contains(got.text, "isn't followed") {
			t.Errorf("%s: %d %s", path, got.status, got.text)
		}
	}
}
