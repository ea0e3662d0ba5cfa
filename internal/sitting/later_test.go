package sitting

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"gaugewright/internal/job"
)

func sampleTank(t interface{ Fatal(...any) }) job.Tank {
	j, err := job.ReadFile("../job/testdata/tidewater.job.json")
	if err != nil {
		t.Fatal(err)
	}
	return j.Tanks[0]
}

func TestLaterCheckFromBeginToBench(t *testing.T) {
	k := sampleTank(t)
	before := k.Bench
	service := func(day string) job.Service { return job.Service{Bench: job.Bench{Date: day, By: "A. Fitter"}} }
	for _, day := range []string{"2027-05-02", "2026-05-02", "2028-05-02"} {
		if _, err := Begin(&k, service(day)); err != nil {
			t.Fatal(err)
		}
	}
	days := ""
	for _, s := range k.Services {
		days += s.Date + " "
	}
	if days != "2026-05-02 2027-05-02 2028-05-02 " {
		t.Errorf("later checks stand as %s", days)
	}
	if _, err := Begin(&k, service("2001-01-01")); err == nil || !strings.Contains(err.Error(), "before that of the bench") {
		t.Errorf("before the bench: %v", err)
	}
	if _, err := Begin(&k, service("soon")); err == nil {
		t.Error("a day that is none was taken")
	}
	marks, err := ToCheck(k)
	if err != nil || len(marks) != LaterMarks {
		t.Fatalf("marks to check: %v, %v", marks, err)
	}
	suggest := func(tell *float64, again bool) Next {
		later, err := Later(k, 1)
		if err != nil {
			t.Fatal(err)
		}
		return SuggestLater(later, marks, tell, again)
	}
	for i := range marks {
		n := suggest(nil, false)
		if !n.Known || n.Mark != marks[i] {
			t.Fatalf("after %d readings it suggests %+v; expected %g", i, n, marks[i])
		}
		if err := OnLater(&k, 1, func(l *job.Tank) error { return Take(l, at(l.Unit().ToShown(n.Mark), 10+float64(i), "up")) }); err != nil {
			t.Fatal(err)
		}
	}
	if n := suggest(nil, false); n.Known {
		t.Errorf("after all marks it suggests %+v", n)
	}
	tell := 0.37
	if n := suggest(&tell, false); !n.Known || n.Mark != tell {
		t.Errorf("a telling mark isn't suggested: %+v", n)
	}
	if n := suggest(nil, true); !n.Known || n.Mark != marks[0] || !strings.Contains(n.Words, "once more") {
		t.Errorf("a mark isn't asked for again: %+v", n)
	}
	if len(k.Services[0].Readings)+len(k.Services[2].Readings) != 0 || len(k.Services[1].Readings) != LaterMarks {
		t.Error("readings went to another check")
	}
	if diff := cmp.Diff(before, k.Bench); diff != "" {
		t.Errorf("the bench was changed:\n%s", diff)
	}
	if err := Drop(&k, 1); err == nil {
		t.Error("a check with readings was dropped")
	}
	if err := Drop(&k, 2); err != nil || len(k.Services) != 2 {
		t.Errorf("an empty check wasn't dropped: %v", err)
	}
	if err := Rebench(&k, 0); err == nil {
		t.Error("an empty check was made the bench")
	}
	own := k.Services[1].Readings
	if err := Rebench(&k, 1); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(own, k.Bench.Readings); diff != "" || len(k.Services) != 0 || k.Bench.Date != "2027-05-02" {
		t.Errorf("the bench now is of %s with %d checks after it:\n%s", k.Bench.Date, len(k.Services), diff)
	}
	for _, gone := range []int{-1, 0, 7} {
		if err := OnLater(&k, gone, func(*job.Tank) error { return nil }); !errors.Is(err, ErrGone) {
			t.Errorf("check %d: %v", gone, err)
		}
	}
}

// The law of a later check: whatever is done there in whatever order, every
// reading that was taken stands or is struck out, the bench stays as it was, lists
// that were handed out aren't touched, and the job file takes all of it.
func TestLaterLaws(t *testing.T) {
	whole, err := job.ReadFile("../job/testdata/tidewater.job.json")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		k := whole.Tanks[0]
		bench := fmt.Sprint(k.Bench)
		for i := range rapid.IntRange(1, 3).Draw(t, "checks") {
			if _, err := Begin(&k, job.Service{Bench: job.Bench{Date: fmt.Sprintf("203%d-01-01", i)}}); err != nil {
				t.Fatal(err)
			}
		}
		taken := 0
		for range rapid.IntRange(1, 20).Draw(t, "steps") {
			i := rapid.IntRange(0, len(k.Services)-1).Draw(t, "check")
			held, was := k.Services, fmt.Sprint(k.Services)
			n := len(k.Services[i].Readings)
			take := n == 0 || rapid.Bool().Draw(t, "take")
			err := OnLater(&k, i, func(l *job.Tank) error {
				if take {
					return Take(l, at(float64(rapid.IntRange(0, 4).Draw(t, "mark")*25), float64(rapid.IntRange(0, 90).Draw(t, "ohm")), "up"))
				}
				return Strike(l, Ref(*l, rapid.IntRange(0, n-1).Draw(t, "which")), "slipped", noon)
			})
			if err != nil {
				t.Fatal(err)
			}
			if take {
				taken++
			}
			if fmt.Sprint(held) != was {
				t.Fatal("a list that was handed out was changed")
			}
		}
		all := 0
		for _, s := range k.Services {
			all += len(s.Readings) + len(s.Struck)
		}
		if all != taken || fmt.Sprint(k.Bench) != bench {
			t.Fatalf("%d readings of %d are there", all, taken)
		}
		j := *whole
		j.Tanks = []job.Tank{k}
		if _, err := j.Encode(); err != nil {
			t.Fatal(err)
		}
	})
}
