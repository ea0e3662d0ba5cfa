package storetest

import (
	"errors"
	"reflect"

	"gaugewright/internal/job"
)

func (s *suite) change() {
	id := s.begin("1", day)
	was := s.get(id)
	c := take("a", 45.5)
	c.At = minute(1)
	inner := c.Do
	c.Do = func(j *job.Job) error {
		if got, want := s.encoded(j), s.encoded(was.Job); got != want {
			s.Errorf("Do got\n%s\nwant\n%s", got, want)
		}
		// What is no different in the file isn't different afterwards either.
		j.Version, j.Tanks[1].Folder, j.Tanks[1].Loads = 0, "/somewhere", []job.Load{}
		return inner(j)
	}
	k := s.must(id, c)
	if k.ID != id || k.Revision != 2 || !k.Made.Equal(day) || !k.Changed.Equal(minute(1)) {
		s.Errorf("given: %+v", k)
	}
	if r := k.Job.Tanks[0].Bench.Readings; len(r) != 3 || r[2].Ohm != 45.5 || *r[2].MarkPct != 50 {
		s.Errorf("readings %+v", r)
	}
	again := s.get(id)
	if again.Revision != 2 || !again.Changed.Equal(k.Changed) || !reflect.DeepEqual(again.Job, k.Job) {
		s.Errorf("given was\n%+v\nand kept is\n%+v", k.Job, again.Job)
	}
	if n, err := s.store.Revision(s.ctx, id); n != 2 || err != nil {
		s.Errorf("revision %d, %v", n, err)
	}
	// A change need not make a difference to be one.
	if k := s.must(id, job.Change{Do: func(*job.Job) error { return nil }}); k.Revision != 3 {
		s.Errorf("revision %d; want 3", k.Revision)
	}
}

func (s *suite) changeKey() {
	id, other := s.begin("1", day), s.begin("2", day)
	s.must(id, take("a", 45.1))
	k := s.must(id, take("b", 45.2))
	again := take("a", 45.3)
	again.Revision = 1 // it was meant for the job as it was then
	inner := again.Do
	again.Do = func(j *job.Job) error { s.Error("done twice"); return inner(j) }
	got := s.must(id, again)
	if got.Revision != 3 || s.encoded(got.Job) != s.encoded(k.Job) || !got.Changed.Equal(k.Changed) {
		s.Errorf("a key used before gave %+v; want the present job", got)
	}
	s.same("a key used before", id, k)
	if k := s.must(other, take("a", 1)); k.Revision != 2 {
		s.Errorf("the key of another job: revision %d; want 2", k.Revision)
	}
	s.must(id, take("", 45.4))
	if k := s.must(id, take("", 45.4)); k.Revision != 5 {
		s.Errorf("no key, twice: revision %d; want 5", k.Revision)
	}
	// A change that was refused hasn't used its key.
	late := take("c", 45.5)
	late.Revision = 1
	if _, err := s.store.Change(s.ctx, id, late); !errors.Is(err, job.ErrMoved) {
		s.Errorf("%v; want ErrMoved", err)
	}
	if k := s.must(id, take("c", 45.5)); k.Revision != 6 {
		s.Errorf("a key that was refused: revision %d; want 6", k.Revision)
	}
}

func (s *suite) moved() {
	id := s.begin("1", day)
	k := s.must(id, take("", 45.1))
	for _, revision := range []int64{1, 3, -1, 1 << 60} {
		c := take("x", 45.2)
		c.Revision = revision
		c.Do = func(*job.Job) error { s.Error("Do was called"); return nil }
		if got, err := s.store.Change(s.ctx, id, c); got != nil || !errors.Is(err, job.ErrMoved) {
			s.Errorf("for revision %d: %v, %v; want ErrMoved", revision, got, err)
		}
	}
	s.same("moved", id, k)
	c := take("x", 45.2)
	c.Revision = 2
	if k := s.must(id, c); k.Revision != 3 {
		s.Errorf("revision %d; want 3", k.Revision)
	}
}

func (s *suite) doError() {
	id := s.begin("1", day)
	was := s.get(id)
	mine := errors.New("mine")
	c := take("a", 1)
	c.Do = func(j *job.Job) error {
		j.Customer = "half done"
		*j.Tanks[0].Bench.Readings[0].MarkPct = 7
		return mine
	}
	if k, err := s.store.Change(s.ctx, id, c); k != nil || !errors.Is(err, mine) {
		s.Errorf("%v, %v; want what Do said", k, err)
	}
	s.same("an error of Do", id, was)
}

func (s *suite) doPanic() {
	id := s.begin("1", day)
	was := s.get(id)
	func() {
		defer func() {
			if got := recover(); got != "mine" {
				s.Errorf("recovered %v; want what Do panicked with", got)
			}
		}()
		c := take("a", 1)
		c.Do = func(j *job.Job) error { j.Customer = "half done"; panic("mine") }
		k, err := s.store.Change(s.ctx, id, c)
		s.Errorf("came back with %v, %v", k, err)
	}()
	s.same("a panic in Do", id, was)
	if k := s.must(id, take("a", 1)); k.Revision != 2 {
		s.Errorf("afterwards: revision %d; want 2", k.Revision)
	}
}

func (s *suite) changeRefused() {
	id := s.begin("1", day)
	was := s.get(id)
	for name, do := range map[string]func(j *job.Job){
		"no number":    func(j *job.Job) { j.Number = "" },
		"a bad date":   func(j *job.Job) { j.Date = "3 Nov" },
		"not UTF-8":    func(j *job.Job) { j.Customer = "\xff" },
		"two mistakes": func(j *job.Job) { j.Number, j.Date = "", "3 Nov" },
		"two names":    func(j *job.Job) { j.Tanks[1].Name = j.Tanks[0].Name },
	} {
		c := take("a", 1)
		c.Do = func(j *job.Job) error { do(j); return nil }
		k, err := s.store.Change(s.ctx, id, c)
		var wrong *job.FileError
		if k != nil || !errors.As(err, &wrong) {
			s.Errorf("%s: %v, %v; want what Encode says", name, k, err)
		}
		s.same(name, id, was)
	}
}

func (s *suite) noJob() {
	s.begin("1", day)
	for _, id := range []job.ID{"", "nosuchjob", "' OR 1=1 --", "%", "é\x00"} {
		_, of := s.store.Job(s.ctx, id)
		_, ofRevision := s.store.Revision(s.ctx, id)
		_, ofHistory := s.store.History(s.ctx, id, 10)
		c := take("", 1)
		c.Do = func(*job.Job) error { s.Error("Do was called"); return nil }
		_, ofChange := s.store.Change(s.ctx, id, c)
		for method, err := range map[string]error{
			"Job": of, "Revision": ofRevision, "History": ofHistory, "Change": ofChange, "Leave": s.store.Leave(s.ctx, id, "bench"),
		} {
			if !errors.Is(err, job.ErrNoJob) {
				s.Errorf("%s of job %q: %v; want ErrNoJob", method, id, err)
			}
		}
	}
}

func (s *suite) copies() {
	spoil := func(j *job.Job) {
		j.Customer = "spoilt"
		*j.Tanks[0].Bench.Readings[0].MarkPct = 99
		j.Tanks[0].Bench.Readings[1].Ohm = -1
		*j.Tanks[0].Bench.TemperatureC = 99
		j.Tanks[0].Sender.Claimed[0].FullOhm = 1
		j.Tanks[1].Shape.DiameterMM = 1
		j.Tanks[1].Shape.Sender.Kind = "spoilt"
		j.Tanks = j.Tanks[:1]
	}
	j := Sample(s)
	want := s.encoded(j)
	id := s.put(j, day)
	spoil(j)
	for range 2 {
		k := s.get(id)
		if got := s.encoded(k.Job); got != want {
			s.Fatalf("kept is\n%s\nwant\n%s", got, want)
		}
		spoil(k.Job)
	}
	k := s.must(id, take("a", 45))
	want = s.encoded(k.Job)
	spoil(k.Job)
	k = s.must(id, take("a", 45)) // gives it again
	if got := s.encoded(k.Job); got != want {
		s.Errorf("after a change\n%s\nwant\n%s", got, want)
	}
	spoil(k.Job)
	// What Do was given isn't kept by it.
	var held *job.Job
	s.must(id, job.Change{Do: func(j *job.Job) error { held = j; return nil }})
	spoil(held)
	if got := s.encoded(s.get(id).Job); got != want {
		s.Errorf("after Do kept its job\n%s\nwant\n%s", got, want)
	}
}
