package storetest

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/job"
)

func (s *suite) history() {
	id, other := s.begin("1", day), s.begin("2", day)
	if list, err := s.store.History(s.ctx, id, 10); err != nil || len(list) != 0 {
		s.Errorf("of a new job: %v, %v", list, err)
	}
	for i := range 5 {
		c := take(fmt.Sprint("key ", i), float64(i))
		c.At, c.By, c.Words = minute(i), fmt.Sprint("device ", i), fmt.Sprintf("taken: %d <b>Ω</b>\n", i)
		s.must(id, c)
	}
	s.must(other, take("", 1))
	for _, limit := range []int{0, 1, 3, 5, 1000} {
		list, err := s.store.History(s.ctx, id, limit)
		if err != nil || len(list) != min(limit, 5) {
			s.Fatalf("%d at most: %d, %v", limit, len(list), err)
		}
		for n, c := range list {
			i := 4 - n
			if c.Key != fmt.Sprint("key ", i) || c.Revision != int64(i+1) || !c.At.Equal(minute(i)) || c.By != fmt.Sprint("device ", i) ||
				c.Words != fmt.Sprintf("taken: %d <b>Ω</b>\n", i) || c.Do != nil {
				s.Errorf("%d from the end: %+v", n, c)
			}
		}
	}
}

func (s *suite) leave() {
	first, second := s.begin("1", day), s.begin("2", minute(1))
	was := s.get(first)
	for _, place := range []string{"bench/Gas", "", "„Küche“ <b>"} {
		if err := s.store.Leave(s.ctx, first, place); err != nil {
			s.Fatal(err)
		}
		was.Place = place
		s.same("leave", first, was)
		cards, _, err := s.store.Jobs(s.ctx, "", 10)
		if err != nil || len(cards) != 2 || cards[0].ID != second || cards[1].Place != place || cards[1].Revision != 1 {
			s.Errorf("left at %q, the list has %+v, %v", place, cards, err)
		}
	}
	if err := s.store.Leave(s.ctx, first, "bench"); err != nil {
		s.Fatal(err)
	}
	if k := s.must(first, take("", 1)); k.Place != "bench" || s.get(first).Place != "bench" || s.get(second).Place != "" {
		s.Errorf("after a change the place is %q", k.Place)
	}
}

func (s *suite) notes() {
	want := func(name, value string) {
		s.Helper()
		if got, err := s.store.Note(s.ctx, name); err != nil || got != value {
			s.Errorf("note %q is %q, %v; want %q", name, got, err, value)
		}
	}
	set := func(name, value string) {
		s.Helper()
		if err := s.store.SetNote(s.ctx, name, value); err != nil {
			s.Fatal(err)
		}
	}
	want("meters", "")
	set("meters", `[{"name":"hand meter Ω"}]`)
	want("meters", `[{"name":"hand meter Ω"}]`)
	want("Meters", "")
	long := strings.Repeat("x", 100_000)
	set("meters", long)
	set("leads", "0.2")
	want("meters", long)
	want("leads", "0.2")
	set("meters", "")
	want("meters", "")
	want("leads", "0.2")
}

func (s *suite) times() {
	for _, at := range []time.Time{
		time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC),
		time.Date(2026, 2, 28, 23, 59, 59, 999_999_000, time.FixedZone("", -11*3600)),
		time.Date(2399, 12, 31, 0, 0, 0, 1000, time.UTC),
	} {
		id := s.begin("1", at)
		k := s.must(id, job.Change{At: at.Add(time.Second), Do: func(*job.Job) error { return nil }})
		if again := s.get(id); !k.Made.Equal(at) || !again.Made.Equal(at) || !k.Changed.Equal(at.Add(time.Second)) || !again.Changed.Equal(k.Changed) {
			s.Errorf("started at %v and changed a second later: made %v, %v; changed %v, %v", at, k.Made, again.Made, k.Changed, again.Changed)
		}
	}
}

func (s *suite) cancelled() {
	id := s.begin("1", day)
	was := s.get(id)
	ended, cancel := context.WithCancel(s.ctx)
	cancel()
	do := take("a", 1)
	do.Do = func(*job.Job) error { s.Error("Do was called"); return nil }
	_, start := s.store.Start(ended, "k", Sample(s), day)
	_, change := s.store.Change(ended, id, do)
	_, of := s.store.Job(ended, id)
	_, _, jobs := s.store.Jobs(ended, "", 1)
	_, history := s.store.History(ended, id, 1)
	_, revision := s.store.Revision(ended, id)
	_, note := s.store.Note(ended, "n")
	for method, err := range map[string]error{
		"Start": start, "Change": change, "Job": of, "Jobs": jobs, "History": history, "Revision": revision,
		"Leave": s.store.Leave(ended, id, "p"), "Note": note, "SetNote": s.store.SetNote(ended, "n", "v"),
	} {
		if !errors.Is(err, context.Canceled) {
			s.Errorf("%s: %v; want the context's error", method, err)
		}
	}
	// Given up in the midst of it: either all or nothing.
	midway, cancel := context.WithCancel(s.ctx)
	c := take("b", 1)
	inner := c.Do
	c.Do = func(j *job.Job) error { cancel(); return inner(j) }
	if _, err := s.store.Change(midway, id, c); !errors.Is(err, context.Canceled) {
		s.Errorf("given up while Do ran: %v; want the context's error", err)
	}
	s.same("a context that ended", id, was)
	if _, all, err := s.store.Jobs(s.ctx, "", 1); err != nil || all != 1 {
		s.Errorf("%d jobs, %v", all, err)
	}
	if k := s.must(id, take("b", 1)); k.Revision != 2 {
		s.Errorf("asked again: revision %d; want 2", k.Revision)
	}
}
