package feedtest

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// fake stands in for a test, to see what it would be told.
type fake struct {
	testing.TB
	said []string
}

func (f *fake) Helper()        {}
func (f *fake) Cleanup(func()) {}
func (f *fake) Error(args ...any) {
	f.said = append(f.said, fmt.Sprint(args...))
}
func (f *fake) Errorf(format string, args ...any) {
	f.said = append(f.said, fmt.Sprintf(format, args...))
}
func (f *fake) Fatal(args ...any) {
	f.Error(args...)
	runtime.Goexit()
}
func (f *fake) Fatalf(format string, args ...any) {
	f.Errorf(format, args...)
	runtime.Goexit()
}

// told runs f as a test function would be run.
func told(f func(testing.TB)) []string {
	stand, done := &fake{}, make(chan struct{})
	go func() {
		defer close(done)
		f(stand)
	}()
	<-done
	return stand.said
}

// What a test relies on to fail does fail.
func TestTapeFails(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &Tape{Say: func(r watch.Reading) string { return r.Tank }}
		s.Refused("bay", "too long", []byte("x"))
		if err := s.Take(t.Context(), []watch.Reading{{Tank: "fresh"}}); err != nil {
			t.Fatal(err)
		}
		for want, f := range map[string]func(testing.TB){
			`"too long" counted 1 times, expected 2`: func(t testing.TB) { s.Count(t, "too long", 2) },
			`"empty" counted 0 times, expected 1`:    func(t testing.TB) { s.Counted(t, map[string]int{"too long": 1, "empty": 1}) },
			"refused besides: map[too long:1]":       func(t testing.TB) { s.Counted(t, nil) },
			"readings\nfresh\nexpected\ngrey":        func(t testing.TB) { s.All(t, "grey") },
			"no flood after 8s":                      func(t testing.TB) { s.Wait(t, "flood", func() bool { return len(s.Readings) > 1 }) },
			"it broke":                               func(t testing.TB) { s.Run(t, ends{err: errors.New("it broke")})() },
			"ends took 2s to end":                    func(t testing.TB) { s.Run(t, ends{after: 2 * time.Second})() },
			"ends doesn't end":                       func(t testing.TB) { s.Run(t, ends{after: 6 * time.Second})() },
		} {
			if got := told(f); len(got) != 1 || !strings.Contains(got[0], want) {
				t.Errorf("%q; expected %q", got, want)
			}
		}
		if got := told(func(t testing.TB) {
			s.Count(t, "too long", 1)
			s.Counted(t, map[string]int{"too long": 1})
			s.All(t, "fresh")
			s.Run(t, ends{})()
		}); got != nil {
			t.Errorf("%q", got)
		}
		time.Sleep(time.Minute) // for the one that took too long
	})
}

// ends is a feed that ends some time after its context.
type ends struct {
	after time.Duration
	err   error
}

func (ends) Name() string { return "ends" }
func (e ends) Run(ctx context.Context, _ feed.Sink, _ feed.Teller) error {
	<-ctx.Done()
	time.Sleep(e.after)
	return e.err
}

func TestTape(t *testing.T) {
	s := &Tape{Full: 1}
	var errs []error
	for range 2 {
		s.Later([]watch.Reading{{Tank: "fresh"}, {Tank: "grey"}}, func(err error) { errs = append(errs, err) })
	}
	if errs[0] == nil || errs[1] != nil || s.Len() != 2 || s.Batches != 1 || s.Last()["grey"].Tank != "grey" {
		t.Errorf("%v; %+v", errs, s.Readings)
	}
	s.Full = Always
	for range 3 {
		if s.Take(t.Context(), nil) == nil {
			t.Error("a full tape takes readings")
		}
	}
	s.Offer("bay", []watch.Reading{{}, {}})
	s.Offer("bay", nil)
	if s.Lacked["bay"] != 2 || s.Len() != 2 {
		t.Errorf("%v lacked, %d kept", s.Lacked, s.Len())
	}
	s.Up("can0")
	s.Down(errors.New("gone"), time.Second)
	if got := s.Heard(); !slices.Equal(got, []string{"up can0", "down gone"}) || s.Ups != 1 || len(s.Downs) != 1 || s.Lost == nil {
		t.Errorf("%q, %+v", got, s.Downs)
	}
	if s.Knows(Unknown) || !s.Knows("fresh") {
		t.Error("knows the wrong tanks")
	}
	if s.Tanks = []string{"grey"}; s.Knows("fresh") || !s.Knows("grey") {
		t.Error("knows other tanks than its own")
	}
}
