package storetest

import (
	"errors"
	"regexp"
	"sync"

	"gaugewright/internal/job"
)

// plainID is what an ID may be made of.
var plainID = regexp.MustCompile(`^[a-z0-9]+$`)

func (s *suite) start() {
	j := Sample(s)
	j.Tanks[0].Folder = "/somewhere"
	want := s.encoded(j)
	id, err := s.store.Start(s.ctx, "", j, day)
	if err != nil {
		s.Fatal(err)
	}
	if !plainID.MatchString(string(id)) {
		s.Errorf("the ID is %q; want a-z and 0-9", id)
	}
	if got := s.encoded(j); got != want || j.Tanks[0].Folder != "/somewhere" {
		s.Errorf("the caller's job was changed:\n%s", got)
	}
	j.Customer = "changed later"
	k := s.get(id)
	if k.ID != id || k.Revision != 1 || k.Place != "" || !k.Made.Equal(day) || !k.Changed.Equal(day) {
		s.Errorf("kept: %+v", k)
	}
	if got := s.encoded(k.Job); got != want {
		s.Errorf("kept is\n%s\nwant\n%s", got, want)
	}
	for _, t := range k.Job.Tanks {
		if t.Folder != "" {
			s.Errorf("tank %s looks for files in %q; a job in a store has no folder", t.Name, t.Folder)
		}
	}
	if n, err := s.store.Revision(s.ctx, id); n != 1 || err != nil {
		s.Errorf("revision %d, %v", n, err)
	}
	if other := s.put(j, day); other == id {
		s.Error("two jobs of one ID")
	}
}

func (s *suite) startKey() {
	first := Sample(s)
	id, err := s.store.Start(s.ctx, "k1", first, day)
	if err != nil {
		s.Fatal(err)
	}
	second := Sample(s)
	second.Number = "another"
	if again, err := s.store.Start(s.ctx, "k1", second, minute(1)); err != nil || again != id {
		s.Errorf("the same key: %q, %v; want %q", again, err, id)
	}
	if k := s.get(id); k.Job.Number != first.Number || !k.Made.Equal(day) || k.Revision != 1 {
		s.Errorf("the job was started anew: %+v", k)
	}
	if other, err := s.store.Start(s.ctx, "k2", second, day); err != nil || other == id {
		s.Errorf("another key: %q, %v", other, err)
	}
	s.must(id, take("k1", 45)) // keys of changes are others
	if k := s.get(id); k.Revision != 2 {
		s.Errorf("a change of the start's key: revision %d", k.Revision)
	}
	var wg sync.WaitGroup
	ids := make([]job.ID, 8)
	for i := range ids {
		wg.Go(func() {
			var err error
			if ids[i], err = s.store.Start(s.ctx, "race", first, day); err != nil {
				s.Error(err)
			}
		})
	}
	wg.Wait()
	for _, id := range ids {
		if id != ids[0] {
			s.Fatalf("one key started several jobs: %q", ids)
		}
	}
	if _, all, err := s.store.Jobs(s.ctx, "", 10); err != nil || all != 3 {
		s.Errorf("%d jobs, %v; want 3", all, err)
	}
}

func (s *suite) startRefused() {
	j := Sample(s)
	j.Tanks[1].Name = j.Tanks[0].Name
	_, err := s.store.Start(s.ctx, "k", j, day)
	var wrong *job.FileError
	if !errors.As(err, &wrong) {
		s.Errorf("two tanks of one name: %v; want what Encode says", err)
	}
	if _, all, err := s.store.Jobs(s.ctx, "", 10); err != nil || all != 0 {
		s.Errorf("%d jobs, %v", all, err)
	}
	j.Tanks[1].Name = "Fresh water"
	if _, err := s.store.Start(s.ctx, "k", j, day); err != nil {
		s.Errorf("the same key with the job mended: %v", err)
	}
}
