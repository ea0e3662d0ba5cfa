package telling

import (
	"strings"
	"testing"
	"time"

	"gaugewright/internal/drift"
	"gaugewright/internal/job"
)

// laterTank is a tank of the sample with one later check: some of its bench's
// readings, changed.
func laterTank(t *testing.T, n int, date string, change func(float64) float64) job.Tank {
	t.Helper()
	j, err := job.ReadFile("../web/testdata/sample.job.json")
	if err != nil {
		t.Fatal(err)
	}
	tank := j.Tanks[n]
	s := job.Service{Bench: job.Bench{Date: date}}
	for i, r := range tank.Bench.Readings {
		if i%2 == 0 {
			r.Ohm = change(r.Ohm)
			s.Readings = append(s.Readings, r)
		}
	}
	tank.Services = []job.Service{s}
	return tank
}

func TestUncheckedWords(t *testing.T) {
	day := func(text string) time.Time {
		d, err := time.Parse(time.DateOnly, text)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	proved := job.Tank{Bench: job.Bench{Date: "2025-11-01"}, Setting: &job.Setting{Date: "2025-11-02"},
		Checks: []job.Check{{When: job.AsLeft, Date: "2025-11-03"}, {When: job.AsFound, Date: "2025-12-24"}}}
	for _, c := range []struct {
		tank        job.Tank
		today, want string
	}{
		{proved, "2026-01-01", "not checked since 3 Nov 2025; next check proposed by 3 Nov 2026"},
		{proved, "2026-11-03", "not checked since 3 Nov 2025; next check proposed by 3 Nov 2026"},
		{proved, "2026-11-04", "not checked since 3 Nov 2025; a check has been due since 3 Nov 2026"},
		{job.Tank{Setting: proved.Setting}, "2026-01-01", "not checked since 2 Nov 2025; next check proposed by 2 Nov 2026"},
		{job.Tank{Bench: proved.Bench}, "2026-01-01", "not checked since 1 Nov 2025; next check proposed by 1 Nov 2026"},
		{job.Tank{}, "2026-01-01", "not checked yet; the day of the work isn't stated, so it isn't known when a check is due"},
	} {
		if got := UncheckedWords(c.tank, day(c.today)); got != c.want {
			t.Errorf("%s: %s; expected %s", c.today, got, c.want)
		}
	}
}

// What is said of a check in one line, in large words and with its rates follows
// from the comparison, and is the same again each time.
func TestLaterOf(t *testing.T) {
	for _, c := range []struct {
		name           string
		n              int
		change         func(float64) float64
		changed        bool
		large, summary string
	}{
		{"as before", 2, func(v float64) float64 { return v }, false, "Leave it", "7 readings on 2 May 2029, no change is seen: leave it"},
		{"in proportion", 2, func(v float64) float64 { return 1.06 * v }, true, "Key in anew", "7 readings on 2 May 2029, the sender has changed: key in anew"},
		{"a bad joint", 0, func(v float64) float64 { return v + 8 }, true, "Mend it first", "9 readings on 2 May 2029, the sender has changed: mend it first"},
	} {
		tank := laterTank(t, c.n, "2029-05-02", c.change)
		l, err := LaterOf(tank, 0)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		again, err := LaterOf(tank, 0)
		if err != nil || again.Summary() != l.Summary() || again.Rates() != l.Rates() {
			t.Errorf("%s: it says another thing the second time: %v", c.name, err)
		}
		if l.Result.Changed != c.changed || l.Large() != c.large || l.Summary() != c.summary {
			t.Errorf("%s: %v, %q, %q", c.name, l.Result.Changed, l.Large(), l.Summary())
		}
		if rates := l.Rates(); !strings.HasPrefix(rates, "1 in 100 senders that haven't changed would be called changed; a change of the whole sender of ") {
			t.Errorf("%s: rates: %s", c.name, rates)
		}
		due, ok := l.Due()
		if want := l.Advice.Do != drift.Replace; ok != want || ok && !due.After(l.Day) {
			t.Errorf("%s: due %v, %v", c.name, due, ok)
		}
		if lines := l.CauseLines(); c.changed != (len(lines) > 0) {
			t.Errorf("%s: causes: %q", c.name, lines)
		}
	}
	if _, err := LaterOf(job.Tank{Name: "A"}, 0); err == nil {
		t.Error("a check that isn't there was found")
	}
	bare := laterTank(t, 2, "2029-05-02", func(v float64) float64 { return v })
	bare.Setting = nil
	if l, err := LaterOf(bare, 0); err != nil || l.Advice != nil || l.Lacks == "" || l.Large() != "" {
		t.Errorf("nothing keyed in: %+v, %v", l, err)
	}
}
