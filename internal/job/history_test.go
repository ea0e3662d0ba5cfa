package job

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var noon = time.Date(2026, 11, 3, 12, 0, 0, 0, time.UTC)

func mustRevise(t interface{ Fatal(...any) }, j, before *Job, words string) {
	if err := j.Revise(before, noon, "A. Example", words); err != nil {
		t.Fatal(err)
	}
}

func copyOf(t interface{ Fatal(...any) }, j *Job) *Job {
	out, err := j.Copy()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Whatever is done to a job, each of its states can be had again, from the file.
func TestAtGivesEveryState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := jobs.Draw(t, "job")
		states := []*Job{}
		if rapid.Bool().Draw(t, "from the beginning") {
			mustRevise(t, j, nil, "begun")
		}
		first := j.First()
		states = append(states, copyOf(t, j))
		for range rapid.IntRange(0, 4).Draw(t, "changes") {
			before := copyOf(t, j)
			next := jobs.Draw(t, "next")
			if rapid.Bool().Draw(t, "small") {
				next = copyOf(t, j)
				next.Note += "x"
				if n := len(next.Tanks); n > 0 {
					next.Tanks = next.Tanks[rapid.IntRange(0, n).Draw(t, "gone"):]
				}
			}
			next.History = j.History
			mustRevise(t, next, before, "changed")
			if len(next.History) > len(j.History) {
				states = append(states, copyOf(t, next))
			}
			j = next
		}
		text, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := Read(bytes.NewReader(text), "f")
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if again, err := back.Encode(); err != nil || !bytes.Equal(again, text) {
			t.Fatalf("written again it is another text (%v)", err)
		}
		for i, want := range states {
			got, err := back.At(first + i)
			if err != nil {
				t.Fatal(err)
			}
			same(t, got, want)
		}
	})
}

func TestRevise(t *testing.T) {
	j, _ := sample(t)
	before := copyOf(t, j)
	if err := j.Revise(before, noon, "", "nothing"); err != nil || j.History != nil {
		t.Errorf("nothing was done: %v, %v", j.History, err)
	}
	j.Customer = "Another"
	if err := j.Sign(testKey, "", noon); err != nil {
		t.Fatal(err)
	}
	if err := j.Revise(before, noon, "A.\x00\nExample", "customer\tput right"+strings.Repeat("x", 6000)); err != nil {
		t.Fatal(err)
	}
	r := j.History[0]
	if len(j.History) != 1 || r.By != "A.  Example" || !strings.HasPrefix(r.Words, "customer\tput") || r.Time != "2026-11-03T12:00:00Z" || len(r.Was) != 64 ||
		len(r.Undo) != 1 || r.Undo[0].Op != Replace || r.Undo[0].Path != "/customer" || string(r.Undo[0].Value) != `"Tidewater Kitchen"` {
		t.Errorf("found %+v", j.History)
	}
	if j.Signature != nil || j.Seal != Unsigned {
		t.Error("the signature is still there")
	}
	if _, err := j.Encode(); err != nil {
		t.Error(err)
	}
	if first, err := j.At(0); err != nil || first.Customer != "Tidewater Kitchen" || len(first.History) != 0 {
		t.Errorf("before it: %+v, %v", first, err)
	}
	for _, n := range []int{-1, 2} {
		if _, err := j.At(n); err == nil || !strings.Contains(err.Error(), "it has 0 to 1") {
			t.Errorf("revision %d: %v", n, err)
		}
	}
}

// A history that doesn't fit is told by its revision, and never guessed at.
func TestAtOfAHistoryThatDoesntFit(t *testing.T) {
	good := &Job{Number: "1", Tanks: []Tank{}}
	for i := range 5 {
		before := copyOf(t, good)
		good.Note = fmt.Sprint(i)
		mustRevise(t, good, before, "note")
	}
	for name, c := range map[string]struct {
		spoil func(*Job)
		at    int
	}{
		"the job changed behind its back": {func(j *Job) { j.Customer = "x" }, 5},
		"a sum":                           {func(j *Job) { j.History[2].Was = strings.Repeat("0", 64) }, 3},
		"an operation":                    {func(j *Job) { j.History[1].Undo[0].Path = "/customer" }, 2},
		"its value":                       {func(j *Job) { j.History[1].Undo[0].Value = []byte(`"y"`) }, 2},
		"an end in the middle":            {func(j *Job) { j.History[3].Was = "" }, 4},
	} {
		j := copyOf(t, good)
		c.spoil(j)
		_, err := j.At(0)
		var history *HistoryError
		if !errors.As(err, &history) || history.Revision != c.at {
			t.Errorf("%s: %v; expected revision %d", name, err, c.at)
		}
	}
}

// 500 readings taken one by one make a file of less than 300 KB.
func TestHistoryStaysSmall(t *testing.T) {
	j := &Job{Number: "1", Tanks: []Tank{{Name: "Gas", Contents: LPG}}}
	mustRevise(t, j, nil, "begun")
	for i := range 500 {
		before := *j
		before.Tanks = slices.Clone(j.Tanks)
		b := &j.Tanks[0].Bench
		b.Readings = append(b.Readings, Reading{MarkPct: ptr(float64(i % 101)), Ohm: float64(i) / 10, Sweep: "up", Time: "2026-11-03T12:00:00Z"})
		mustRevise(t, j, &before, fmt.Sprintf("taken: %d %%, %g Ω", i%101, float64(i)/10))
	}
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if len(text) > 300_000 || len(j.History) != 501 {
		t.Errorf("%d bytes with %d revisions", len(text), len(j.History))
	}
	t.Logf("%d bytes", len(text))
	if half, err := j.At(251); err != nil || len(half.Tanks[0].Bench.Readings) != 250 {
		t.Errorf("halfway: %v", err)
	}
}

// No more revisions are kept than the schema takes, nor than fit.
func TestHistoryForgetsTheOldest(t *testing.T) {
	j := &Job{Number: "1", Tanks: []Tank{}}
	long := strings.Repeat("é", 2500)
	for range MaxRevisions + 10 {
		j.History = append(j.History, Revision{Words: "x", Was: strings.Repeat("0", 64), Undo: []Operation{{Op: Replace, Path: "/note", Value: []byte(`"` + long + `"`)}}})
	}
	before := copyOf(t, j)
	j.Note = "last"
	mustRevise(t, j, before, "last")
	if n := len(j.History); n > MaxRevisions || n < 1000 || j.History[n-1].Words != "last" {
		t.Errorf("%d revisions", n)
	}
	if text, err := j.Encode(); err != nil {
		t.Errorf("%d bytes, %v", len(text), err)
	}
}

func TestCopyAndSameContent(t *testing.T) {
	j, _ := sampleV2(t)
	c := copyOf(t, j)
	same(t, c, j)
	if !c.SameContent(j) {
		t.Error("a copy says something else")
	}
	c.History, c.Signature = nil, nil
	if !c.SameContent(j) {
		t.Error("the history counts")
	}
	*c.Tanks[0].Bench.Readings[0].MarkPct = 5
	if c.SameContent(j) || *j.Tanks[0].Bench.Readings[0].MarkPct == 5 {
		t.Error("a copy shares its readings")
	}
}
