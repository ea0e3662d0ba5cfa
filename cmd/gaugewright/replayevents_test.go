package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/recording"
)

var eventFields = []string{"kind", "start", "end", "amount_l", "low_l", "high_l", "p", "amount_pct", "low_pct", "high_pct", "amount_kg", "per_hour_l", "per_hour_pct", "before_pct", "after_pct", "found", "fault", "why"}

var summaryFields = []string{"use_l_per_day", "low", "high", "time_left_h", "use_pct_per_day", "low_pct", "high_pct", "use_kg_per_day", "at", "fill_by", "days", "why", "day_swing_pct", "day_swing_low_pct", "day_swing_high_pct"}

// An event's line has these fields in this order; what goes on has no end, and what
// has no amount none.
func TestEventLine(t *testing.T) {
	at := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	f := &follower{full: 0.2, fullKg: math.NaN()}
	for _, test := range []struct {
		event flow.Event
		want  map[string]any
	}{
		{
			flow.Event{Kind: flow.Refill, Start: at, End: at.Add(time.Hour), Found: at.Add(time.Minute), Amount: 0.25, Low: 0.2, High: 0.3, Before: 0.5, After: 0.75, P: 0.99},
			map[string]any{"kind": "refill", "start": "2026-03-01T08:00:00Z", "end": "2026-03-01T09:00:00Z", "amount_l": 50., "low_l": 40., "high_l": 60., "p": 0.99, "amount_pct": 25., "before_pct": 50., "after_pct": 75., "amount_kg": nil, "per_hour_l": nil, "fault": nil},
		},
		{
			flow.Event{Kind: flow.Leak, Start: at, Found: at, Amount: 0.01, PerHour: 0.001, Before: 0.5, After: -1, P: 0.6, Why: "It \"falls\"."},
			map[string]any{"kind": "leak", "end": nil, "per_hour_l": 0.2, "after_pct": nil, "why": "It \"falls\"."},
		},
		{
			flow.Event{Kind: flow.Stuck, Start: at, Found: at, Before: -1, After: -1, P: 0.7},
			map[string]any{"kind": "stuck", "amount_l": nil, "amount_pct": nil, "low_l": nil, "before_pct": nil},
		},
	} {
		line := string(f.appendEvent(nil, test.event, recording.Stamp{}))
		if names := fieldsOf(t, line); strings.Join(names, " ") != strings.Join(eventFields, " ") {
			t.Errorf("the fields are %v", names)
		}
		var got map[string]any
		if err := json.Unmarshal([]byte(line), &got); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		for name, want := range test.want {
			if got[name] != want {
				t.Errorf("%s: %s is %v, want %v", test.event.Kind, name, got[name], want)
			}
		}
	}
}

// Of a history that says nothing, nothing is told: no event, and null for the use.
func TestReplayFollowsLittle(t *testing.T) {
	for _, test := range []struct {
		name, in string
		status   int
	}{
		{"one row", "time,ohm\n2026-03-01T08:00:00Z,95\n", 0},
		{"two rows", "time,ohm\n1772352000,95\n1772352010,95.1\n", 0},
		{"all broken", "time,ohm\n2026-03-01T08:00:00Z,99999\n2026-03-01T08:00:10Z,99999\n2026-03-01T08:00:20Z,99999\n2026-03-01T08:00:30Z,99999\n", 1},
		{"no value at all", "time,ohm\n2026-03-01T08:00:00Z,\n2026-03-01T08:00:10Z,\n", 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command(test.in, append([]string{"replay", "-", "--events", "--json"}, endValues...)...)
			if status != test.status || strings.Contains(out, `"refill"`) || strings.Contains(out, `"leak"`) {
				t.Errorf("status %d, %q, %q", status, out, messages)
			}
			status, out, _ = command(test.in, append([]string{"replay", "-", "--summary", "--json"}, endValues...)...)
			if names := fieldsOf(t, out); status != test.status || strings.Join(names, " ") != strings.Join(summaryFields, " ") {
				t.Errorf("status %d, the fields are %v", status, names)
			}
			var got struct {
				Use   *float64 `json:"use_l_per_day"`
				Left  struct{ Low, Mid, High *float64 }
				Swing *float64 `json:"day_swing_pct"`
			}
			if err := json.Unmarshal([]byte(out), &got); err != nil || got.Use != nil || got.Left.Mid != nil || got.Swing != nil {
				t.Errorf("%v: %s", err, out)
			}
			status, out, _ = command(test.in, append([]string{"replay", "-", "--summary", "--events"}, endValues...)...)
			if status != test.status || !strings.Contains(out, "isn't known yet") {
				t.Errorf("status %d: %s", status, out)
			}
		})
	}
	for _, in := range []string{"", "time,ohm\n", "time,ohm\nx,y\n"} {
		if status, out, messages := command(in, append([]string{"replay", "-", "--events", "--json"}, endValues...)...); status != 2 || out != "" || messages == "" {
			t.Errorf("%q: status %d, %q, %q", in, status, out, messages)
		}
	}
}

// Flags that can't be are refused, with what was expected.
func TestReplayFollowsRefuses(t *testing.T) {
	for _, test := range []struct {
		args []string
		want string
	}{
		{[]string{"--steady", "1L/h"}, "give --events or --summary"},
		{[]string{"--events", "--every", "60s"}, "--every thins levels"},
		{[]string{"--events", "--steady", "much"}, "expected the largest load"},
		{[]string{"--events", "--steady", "0L/h"}, "above 0"},
		{[]string{"--events", "--steady=-1L/h"}, "above 0"},
		{[]string{"--events", "--steady", "40g/h"}, "no known weight"},
		{[]string{"--events", "--off", "22-6"}, "22:00-06:00"},
		{[]string{"--events", "--off", "22:00-25:00"}, "22:00-06:00"},
		{[]string{"--events", "--off", "06:00-06:00"}, "no time at all"},
	} {
		status, out, messages := command(ten, append(append([]string{"replay", "-"}, endValues...), test.args...)...)
		if status != 2 || out != "" || !strings.Contains(messages, test.want) {
			t.Errorf("%v: status %d, %q, %q", test.args, status, out, messages)
		}
	}
	for _, args := range [][]string{{"--steady", "0.3L/h"}, {"--steady", "none"}, {"--steady", "0.5%/h"}, {"--off", "22:00-06:00,12:00-13:00"}, {"--off", "22:00-24:00"}} {
		if status, _, messages := command(ten, append(append([]string{"replay", "-", "--events"}, endValues...), args...)...); status != 0 {
			t.Errorf("%v: status %d, %q", args, status, messages)
		}
	}
}
