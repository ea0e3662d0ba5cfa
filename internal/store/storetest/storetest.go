package storetest

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"testing"
	"time"

	"gaugewright/internal/job"
)

// Run tests a store. Each call of open gives an empty one, which open closes
// again by t.Cleanup.
func Run(t *testing.T, open func(t *testing.T) job.Store) {
	for _, c := range []struct {
		name string
		test func(*suite)
	}{
		{"start", (*suite).start},
		{"a key starts one job", (*suite).startKey},
		{"a job that can't be a file isn't started", (*suite).startRefused},
		{"change", (*suite).change},
		{"a key changes once", (*suite).changeKey},
		{"a job that moved", (*suite).moved},
		{"an error of Do changes nothing", (*suite).doError},
		{"a panic in Do changes nothing", (*suite).doPanic},
		{"a change to what can't be a file", (*suite).changeRefused},
		{"no such job", (*suite).noJob},
		{"copies are the caller's own", (*suite).copies},
		{"history", (*suite).history},
		{"as it was", (*suite).asItWas},
		{"export", (*suite).export},
		{"a signature", (*suite).signature},
		{"leave", (*suite).leave},
		{"notes", (*suite).notes},
		{"the list", (*suite).list},
		{"its tanks", (*suite).cardTanks},
		{"search", (*suite).search},
		{"odd text", (*suite).oddText},
		{"times", (*suite).times},
		{"a context that ended", (*suite).cancelled},
		{"many takers", (*suite).takers},
		{"one key from many", (*suite).sameKey},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.test(&suite{T: t, store: open(t), ctx: t.Context()})
		})
	}
}

// suite is one test with a store of its own.
type suite struct {
	*testing.T
	store job.Store
	ctx   context.Context
}

//go:embed sample.json
var sample []byte

// Sample gives a job to start with; all in it is invented.
func Sample(tb testing.TB) *job.Job {
	tb.Helper()
	j, err := job.Read(bytes.NewReader(sample), "sample.json")
	if err != nil {
		tb.Fatal(err)
	}
	return j
}

// day is a moment with a fraction, outside of UTC.
var day = time.Date(2026, 11, 3, 9, 30, 0, 123456789, time.FixedZone("", 3600))

func minute(n int) time.Time { return day.Add(time.Duration(n) * time.Minute) }

// encoded gives a job's file.
func (s *suite) encoded(j *job.Job) string {
	s.Helper()
	data, err := j.Encode()
	if err != nil {
		s.Fatal(err)
	}
	return string(data)
}

// begin starts a job of a number.
func (s *suite) begin(number string, at time.Time) job.ID {
	s.Helper()
	j := Sample(s)
	j.Number = number
	return s.put(j, at)
}

func (s *suite) put(j *job.Job, at time.Time) job.ID {
	s.Helper()
	id, err := s.store.Start(s.ctx, "", j, at)
	if err != nil {
		s.Fatal(err)
	}
	return id
}

// get gives a job.
func (s *suite) get(id job.ID) *job.Kept {
	s.Helper()
	k, err := s.store.Job(s.ctx, id)
	if err != nil {
		s.Fatal(err)
	}
	return k
}

// must makes a change that is to succeed.
func (s *suite) must(id job.ID, c job.Change) *job.Kept {
	s.Helper()
	k, err := s.store.Change(s.ctx, id, c)
	if err != nil {
		s.Fatal(err)
	}
	return k
}

// take gives a change that adds a reading to the first tank.
func take(key string, ohm float64) job.Change {
	return job.Change{Key: key, At: day, By: "bench", Words: fmt.Sprintf("taken: 50 %%, %g Ω", ohm), Do: func(j *job.Job) error {
		mark := 50.0
		b := &j.Tanks[0].Bench
		b.Readings = append(b.Readings, job.Reading{MarkPct: &mark, Ohm: ohm, Sweep: "up"})
		return nil
	}}
}

// same fails unless a job is as it was.
func (s *suite) same(what string, id job.ID, was *job.Kept) {
	s.Helper()
	is := s.get(id)
	if is.Revision != was.Revision || !is.Changed.Equal(was.Changed) || is.Place != was.Place || s.encoded(is.Job) != s.encoded(was.Job) {
		s.Errorf("%s: the job was changed from revision %d to %d:\n%s", what, was.Revision, is.Revision, s.encoded(is.Job))
	}
	if list, err := s.store.History(s.ctx, id, 1000); err != nil || int64(len(list)) != was.Revision-1 {
		s.Errorf("%s: %d changes in the history, %v; want %d", what, len(list), err, was.Revision-1)
	}
}
