package sitting

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

func ptr[T any](v T) *T { return &v }

// at is a reading of a dial.
func at(mark, ohm float64, sweep string) job.Reading {
	return job.Reading{MarkPct: &mark, Ohm: ohm, Sweep: sweep}
}

func dial(readings ...job.Reading) job.Tank {
	return job.Tank{Name: "A", Contents: job.Water, Bench: job.Bench{Readings: readings}}
}

// strips writes a bench as "0:1 [10:11 reason]".
func strips(t job.Tank) string {
	var out []string
	for _, l := range t.Bench.Strip() {
		mark, _, _ := l.Mark()
		text := fmt.Sprintf("%g:%g", mark, l.Ohm)
		if l.Struck {
			text = "[" + text + " " + t.Bench.Struck[l.Index].Reason + "]"
		}
		out = append(out, text)
	}
	return strings.Join(out, " ")
}

func TestTakeRefuses(t *testing.T) {
	full := dial()
	full.Bench.Readings = make([]job.Reading, job.MaxReadings)
	for i := range full.Bench.Readings {
		full.Bench.Readings[i] = at(1, 1, "")
	}
	begun := job.Tank{Bench: job.Bench{Marks: "mark_mm", Gives: "volt"}}
	for _, c := range []struct {
		name string
		tank job.Tank
		r    job.Reading
		want string
	}{
		{"no mark", dial(), job.Reading{Ohm: 1}, "the reading has no mark, or more than one; give it one"},
		{"other unit", dial(at(0, 1, "")), job.Reading{MarkL: ptr(1.0), Ohm: 1}, "a mark in L, and the marks of this bench are in %"},
		{"unit stated", begun, at(0, 1, ""), "a mark in %, and the marks of this bench are in mm"},
		{"signal stated", begun, job.Reading{MarkMM: ptr(1.0), Ohm: 1}, "a reading in ohms, and the bench reads volts; set the meter to that"},
		{"other signal", dial(at(0, 1, "")), job.Reading{MarkPct: ptr(1.0), Signal: curve.Volts}, "a reading in volts, and the bench reads ohms; set the meter to that"},
		{"beyond the dial", dial(), at(101, 1, ""), "the mark 101 lies outside 0 to 100 %"},
		{"no number", dial(), at(math.NaN(), 1, ""), "the mark NaN lies outside 0 to 100 %"},
		{"open circuit", dial(), at(1, math.Inf(1), ""), "+Inf Ω can't come from a level sender; expected 0 to 100000"},
		{"sideways", dial(), at(1, 1, "left"), `sweep "left" is not known; expected up, down or nothing`},
		{"today", dial(), job.Reading{MarkPct: ptr(1.0), Time: "today"}, `the time "today" is not as in RFC 3339`},
		{"full", full, at(1, 1, ""), "the bench is full: 2000 readings; go on in another job"},
	} {
		before := len(c.tank.Bench.Readings)
		if err := Take(&c.tank, c.r); err == nil || err.Error() != c.want {
			t.Errorf("%s: found %v, expected %s", c.name, err, c.want)
		}
		if len(c.tank.Bench.Readings) != before {
			t.Errorf("%s: refused and taken", c.name)
		}
	}
}

func TestStrikeRestoreCorrect(t *testing.T) {
	k := dial(at(0, 1, "up"), at(10, 99, "up"), at(20, 20, "up"), at(20, 21, "up"))
	first, wild, twin := Ref(k, 0), Ref(k, 1), Ref(k, 3)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	shows := func(want string) {
		t.Helper()
		if found := strips(k); found != want {
			t.Fatalf("found    %s\nexpected %s", found, want)
		}
	}
	must(Strike(&k, wild, "slipped\nhand", noon))
	shows("0:1 [10:99 slipped hand] 20:20 20:21")
	if when := k.Bench.Struck[0].When; when != "2025-11-03T12:00:00Z" {
		t.Errorf("struck at %s", when)
	}
	if err := Strike(&k, wild, "", noon); !errors.Is(err, ErrGone) || err.Error() != "that reading is gone: it was struck out in the meantime (slipped hand)" {
		t.Errorf("struck twice: %v", err)
	}
	must(Strike(&k, twin, "", time.Time{}))
	shows("0:1 [10:99 slipped hand] 20:20 [20:21 ]")
	must(Strike(&k, first, "x", noon))
	shows("[0:1 x] [10:99 slipped hand] 20:20 [20:21 ]")
	must(Restore(&k, wild))
	shows("[0:1 x] 10:99 20:20 [20:21 ]")
	if err := Restore(&k, wild); !errors.Is(err, ErrGone) || err.Error() != "that reading is gone from those struck out: it stands again" {
		t.Errorf("restored twice: %v", err)
	}
	must(Correct(&k, wild, Correction{Mark: ptr(0.1), Value: ptr(quantity.Ohm(9.9)), Sweep: ptr(curve.Down)}, noon))
	shows("[0:1 x] [10:99 corrected to 10 %, 9.9 Ω, going down] 10:9.9 20:20 [20:21 ]")
	must(Restore(&k, first))
	must(Restore(&k, twin)) // which stands one further on by now
	shows("0:1 [10:99 corrected to 10 %, 9.9 Ω, going down] 10:9.9 20:20 20:21")
	if err := Correct(&k, first, Correction{Value: ptr(quantity.Ohm(1))}, noon); err == nil || err.Error() != "nothing is corrected: it says so already" {
		t.Errorf("corrected to the same: %v", err)
	}
	if err := Correct(&k, first, Correction{Value: ptr(quantity.Ohm(-1))}, noon); err == nil || !strings.Contains(err.Error(), "can't come from a level sender") {
		t.Errorf("corrected to less than nothing: %v", err)
	}
	r, err := Undo(&k, noon)
	must(err)
	if *r.MarkPct != 20 {
		t.Errorf("took back %+v", r)
	}
	shows("0:1 [10:99 corrected to 10 %, 9.9 Ω, going down] 10:9.9 20:20 [20:21 undone]")
	for _, ref := range []string{"", "1", "x-y", "0-0000000000", Ref(dial(at(5, 5, "")), 0)} {
		if _, err := Find(k, ref); !errors.Is(err, ErrGone) {
			t.Errorf("%q: found %v", ref, err)
		}
	}
	empty := dial()
	if _, err := Undo(&empty, noon); err == nil || err.Error() != "there is no reading to take back" {
		t.Errorf("undone of nothing: %v", err)
	}
}

// The laws of changing: whatever is done in whatever order, every reading that
// was ever taken is there, standing or struck; striking and putting back changes
// nothing; references stay good; the caller's lists stay as they were; and the
// job file takes it all and gives it back.
func TestChangeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := dial()
		taken := 0
		refs := map[string]job.Reading{}
		for step := range rapid.IntRange(1, 30).Draw(t, "steps") {
			old := k
			stood := append([]job.Reading(nil), k.Bench.Readings...)
			when := noon.Add(time.Duration(step) * time.Minute)
			n := len(k.Bench.Readings)
			what := rapid.SampledFrom([]string{"take", "take", "take", "strike", "restore", "undo", "correct"}).Draw(t, "what")
			switch {
			case what == "take" || n == 0 && what != "restore":
				r := at(float64(rapid.IntRange(0, 3).Draw(t, "mark")*10), float64(rapid.IntRange(0, 2).Draw(t, "ohm")), rapid.SampledFrom([]string{"", "up", "down"}).Draw(t, "sweep"))
				if err := Take(&k, r); err != nil {
					t.Fatal(err)
				}
				taken++
			case what == "strike":
				ref := Ref(k, rapid.IntRange(0, n-1).Draw(t, "which"))
				if err := Strike(&k, ref, "because", when); err != nil {
					t.Fatal(err)
				}
				back := k
				if err := Restore(&back, ref); err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(stood, back.Bench.Readings); diff != "" {
					t.Fatalf("struck and put back (- before, + after):\n%s", diff)
				}
			case what == "restore":
				m := len(k.Bench.Struck)
				if m == 0 {
					continue
				}
				if err := Restore(&k, StruckRef(k, rapid.IntRange(0, m-1).Draw(t, "which"))); err != nil {
					t.Fatal(err)
				}
			case what == "undo":
				last, err := Undo(&k, when)
				if err != nil || hashOf(last) != hashOf(stood[n-1]) {
					t.Fatalf("took back %+v, %v", last, err)
				}
			case what == "correct":
				i := rapid.IntRange(0, n-1).Draw(t, "which")
				if err := Correct(&k, Ref(k, i), Correction{Value: ptr(quantity.Ohm(k.Bench.Readings[i].Ohm + 1))}, when); err != nil {
					t.Fatal(err)
				}
				taken++
				if k.Bench.Readings[i].Ohm != stood[i].Ohm+1 {
					t.Fatalf("the corrected one isn't in its place: %s", strips(k))
				}
			}
			if diff := cmp.Diff(stood, old.Bench.Readings, cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("%s changed the list it was given:\n%s", what, diff)
			}
			if found := len(k.Bench.Readings) + len(k.Bench.Struck); found != taken {
				t.Fatalf("%d readings after %s, %d were taken: %s", found, what, taken, strips(k))
			}
			for ref, r := range refs {
				i, err := Find(k, ref)
				m, gone := FindStruck(k, ref)
				switch {
				case err == nil && hashOf(k.Bench.Readings[i]) == hashOf(r):
				case gone == nil && hashOf(k.Bench.Struck[m].Reading) == hashOf(r):
				default:
					t.Fatalf("%s is lost after %s: %v, %v", ref, what, err, gone)
				}
			}
			for i, r := range k.Bench.Readings {
				if found, err := Find(k, Ref(k, i)); err != nil || found != i {
					t.Fatalf("reading %d is found as %d, %v", i, found, err)
				}
				refs[Ref(k, i)] = r
			}
		}
		j := &job.Job{Number: "7", Tanks: []job.Tank{k}}
		text, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := job.Read(bytes.NewReader(text), "f")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(k.Bench, back.Tanks[0].Bench, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("written and read (- before, + after):\n%s", diff)
		}
	})
}

// Whatever is given as a reason can be written.
func TestReasonFitsTheFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := dial(at(0, 1, ""))
		reason := rapid.OneOf(rapid.String(), rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }),
			rapid.Just(strings.Repeat("é", 400))).Draw(t, "reason")
		if err := Strike(&k, Ref(k, 0), reason, noon); err != nil {
			t.Fatal(err)
		}
		if _, err := (&job.Job{Number: "7", Tanks: []job.Tank{k}}).Encode(); err != nil {
			t.Fatal(err)
		}
	})
}

func TestFigure(t *testing.T) {
	for _, c := range []struct {
		signal curve.Signal
		value  quantity.Ohm
		want   string
	}{
		{curve.Ohms, 36, "36.0"}, {curve.Ohms, 36.2, "36.2"}, {curve.Ohms, 25.46, "25.46"}, {curve.Ohms, 25.4567, "25.457"},
		{curve.Ohms, 0, "0.0"}, {curve.Ohms, 0.0004, "0.0"}, {curve.Volts, 2.5, "2.500"}, {curve.Milliamps, 12.345, "12.345"},
	} {
		if got := Figure(c.signal, c.value); got != c.want {
			t.Errorf("%g in %s is written %q; expected %q", float64(c.value), c.signal.Symbol(), got, c.want)
		}
	}
}
