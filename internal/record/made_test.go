package record_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

func TestAsOf(t *testing.T) {
	for name, c := range map[string]struct {
		j    job.Job
		want string
	}{
		"nothing":         {job.Job{}, "0001-01-01T00:00:00Z"},
		"no date":         {job.Job{Date: "next week"}, "0001-01-01T00:00:00Z"},
		"the job":         {job.Job{Date: "2025-11-03"}, "2025-11-03T00:00:00Z"},
		"a later bench":   {job.Job{Date: "2025-11-03", Tanks: []job.Tank{{Bench: job.Bench{Date: "2025-11-05"}}}}, "2025-11-05T00:00:00Z"},
		"an earlier one":  {job.Job{Date: "2025-11-03", Tanks: []job.Tank{{Bench: job.Bench{Date: "2024-11-05"}}}}, "2025-11-03T00:00:00Z"},
		"a setting":       {job.Job{Tanks: []job.Tank{{Setting: &job.Setting{Date: "2025-12-01"}}}}, "2025-12-01T00:00:00Z"},
		"the last check":  {job.Job{Tanks: []job.Tank{{}, {Checks: []job.Check{{Date: "2025-12-03"}, {Date: "2025-12-02"}}}}}, "2025-12-03T00:00:00Z"},
		"a reading":       {job.Job{Date: "2025-11-03", Tanks: []job.Tank{{Bench: job.Bench{Readings: []job.Reading{{Time: "2025-11-03T17:00:00+02:00"}}}}}}, "2025-11-03T15:00:00Z"},
		"one struck out":  {job.Job{Tanks: []job.Tank{{Bench: job.Bench{Struck: []job.Struck{{When: "2025-11-03T17:00:00Z"}}}}}}, "2025-11-03T17:00:00Z"},
		"in another zone": {job.Job{Date: "2025-11-03", Tanks: []job.Tank{{Bench: job.Bench{Readings: []job.Reading{{Time: "2025-11-03T01:00:00+02:00"}}}}}}, "2025-11-03T00:00:00Z"},
	} {
		if got := record.AsOf(&c.j).Format(time.RFC3339); got != c.want {
			t.Errorf("%s: %s, expected %s", name, got, c.want)
		}
	}
}

// The record says when it was made only where that was stated.
func TestRecordSaysWhenMade(t *testing.T) {
	for made, want := range map[string]string{
		"":                          "Made by Gaugewright from the job as it stood on 3 November 2025.",
		"2026-02-01":                "Made by Gaugewright on 1 February 2026.",
		"2026-02-01T16:20:00Z":      "Made by Gaugewright on 1 February 2026, 16:20 UTC.",
		"2026-02-01T16:20:00+01:00": "Made by Gaugewright on 1 February 2026, 16:20 +0100.",
	} {
		var at time.Time
		if made != "" {
			var err error
			if at, err = record.ParseMade(made); err != nil {
				t.Fatal(err)
			}
		}
		d, err := record.New(&job.Job{Date: "2025-11-03"}, checksum, at)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := d.HTML(&b, record.A4); err != nil {
			t.Fatal(err)
		}
		contains(t, readPage(t, b.Bytes()).text, want)
	}
	for _, wrong := range []string{"", "today", "2026-02-30", "2026-02-01 10:00", "0000-01-01"} {
		if _, err := record.ParseMade(wrong); err == nil || !strings.Contains(err.Error(), "expected a date") {
			t.Errorf("%q: %v", wrong, err)
		}
	}
	d, err := record.New(&job.Job{}, checksum, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := d.HTML(&b, record.A4); err != nil {
		t.Fatal(err)
	}
	contains(t, readPage(t, b.Bytes()).text, "Made by Gaugewright from a job without a date.")
}
