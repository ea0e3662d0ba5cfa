package storetest

import (
	"bytes"
	"crypto/ed25519"
	"errors"

	"gaugewright/internal/job"
)

func (s *suite) asItWas() {
	id, other := s.begin("1", day), s.begin("2", day)
	was := []string{s.encoded(s.get(id).Job)}
	for i := range 4 {
		was = append(was, s.encoded(s.must(id, take("", float64(i))).Job))
	}
	s.must(other, take("", 9))
	for i, want := range was {
		j, err := s.store.At(s.ctx, id, int64(i+1))
		if err != nil {
			s.Fatal(err)
		}
		if got := s.encoded(j); got != want {
			s.Errorf("revision %d is\n%s\nwant\n%s", i+1, got, want)
		}
		j.Customer = "somebody else" // the caller's own
	}
	if j, err := s.store.At(s.ctx, id, 1); err != nil || s.encoded(j) != was[0] {
		s.Errorf("asked again it is another: %v", err)
	}
	for _, n := range []int64{-1, 0, 6} {
		if _, err := s.store.At(s.ctx, id, n); !errors.Is(err, job.ErrNoJob) {
			s.Errorf("revision %d: %v", n, err)
		}
	}
	if _, err := s.store.At(s.ctx, "none", 1); !errors.Is(err, job.ErrNoJob) {
		s.Errorf("of no job: %v", err)
	}
}

// A job goes out of the store with its changes, each of which can be undone.
func (s *suite) export() {
	id := s.begin("1", day)
	was := []*job.Kept{s.get(id)}
	if out, err := job.Export(s.ctx, s.store, was[0]); err != nil || s.encoded(out) != s.encoded(was[0].Job) {
		s.Errorf("unchanged it goes out as another (%v)", err)
	}
	for i := range 5 {
		c := take("", float64(i))
		c.At = minute(i)
		was = append(was, s.must(id, c))
	}
	s.must(id, job.Change{At: day, Words: "nothing", Do: func(*job.Job) error { return nil }})
	out := s.out(s.get(id))
	if n := len(out.History); n != 6 || out.History[0].Words != "job begun" || out.History[5].Words != "taken: 50 %, 4 Ω" || out.History[5].By != "bench" || out.History[5].Time != "2026-11-03T09:34:00+01:00" && out.History[5].Time != "2026-11-03T08:34:00Z" {
		s.Errorf("the history is %+v", out.History)
	}
	for i, k := range was {
		at, err := out.At(i + 1)
		if err != nil {
			s.Fatal(err)
		}
		if !at.SameContent(k.Job) {
			s.Errorf("undone to %d it is\n%s", i+1, s.encoded(at))
		}
	}
	// Taken into the store again, what it came with stays, and more comes behind it.
	in := s.put(out, day)
	if got := s.out(s.get(in)); s.encoded(got) != s.encoded(out) {
		s.Errorf("taken in and given out it is\n%s", s.encoded(got))
	}
	s.must(in, take("", 7))
	again := s.out(s.get(in))
	if n := len(again.History); n != 7 || again.History[6].Words != "taken: 50 %, 7 Ω" {
		s.Errorf("the history is %+v", again.History)
	}
	if _, err := again.At(1); err != nil {
		s.Error(err)
	}
}

// out gives a job as it goes out, read from its file.
func (s *suite) out(k *job.Kept) *job.Job {
	s.Helper()
	out, err := job.Export(s.ctx, s.store, k)
	if err != nil {
		s.Fatal(err)
	}
	back, err := job.Read(bytes.NewReader([]byte(s.encoded(out))), "out")
	if err != nil {
		s.Fatal(err)
	}
	return back
}

// A signature stays for as long as the job says what was signed.
func (s *suite) signature() {
	j := Sample(s)
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))
	if err := j.Sign(key, "A. Example", day); err != nil {
		s.Fatal(err)
	}
	id := s.put(j, day)
	if k := s.get(id); k.Job.Seal != job.Sound {
		s.Errorf("kept, its seal is %v", k.Job.Seal)
	}
	if k := s.must(id, job.Change{Do: func(*job.Job) error { return nil }}); k.Job.Seal != job.Sound || s.out(k).Seal != job.Sound {
		s.Errorf("with nothing done, its seal is %v", k.Job.Seal)
	}
	if k := s.must(id, take("", 1)); k.Job.Signature != nil || k.Job.Seal != job.Unsigned {
		s.Errorf("changed, its signature is %v", k.Job.Signature)
	}
	if k := s.must(id, job.Change{Do: func(j *job.Job) error { j.Note = "x"; return j.Sign(key, "", day) }}); k.Job.Seal != job.Sound {
		s.Errorf("signed anew, its seal is %v", k.Job.Seal)
	}
}
