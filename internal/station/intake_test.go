package station

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// disk keeps readings in memory, and waits or fails where it is told to.
type disk struct {
	mu    sync.Mutex
	kept  []watch.Reading
	sizes []int
	fail  error
	hold  chan struct{} // where there is one, each commit takes from it
}

func (d *disk) Keep(list []watch.Reading) error {
	d.mu.Lock()
	hold := d.hold
	d.mu.Unlock()
	if hold != nil {
		<-hold
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.fail != nil {
		return d.fail
	}
	d.kept = append(d.kept, list...)
	d.sizes = append(d.sizes, len(list))
	return nil
}

func (d *disk) failing(err error) { d.mu.Lock(); defer d.mu.Unlock(); d.fail = err }

func (d *disk) has() int { d.mu.Lock(); defer d.mu.Unlock(); return len(d.kept) }

func one(source int, value int) []watch.Reading {
	return []watch.Reading{{Tank: "fresh", Source: fmt.Sprint(source), Value: float64(value)}}
}

// outs gathers what is handed on.
type outs struct {
	mu   sync.Mutex
	list []watch.Reading
}

func (o *outs) take(list []watch.Reading) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.list = append(o.list, list...)
}

// TestIntake has many sources hand over at once: each is told in its own order,
// after its reading was kept, and what is handed on is what was kept, as it was.
func TestIntake(t *testing.T) {
	t.Parallel()
	d, o := new(disk), new(outs)
	in := NewIntake(IntakeConfig{Keep: d, Out: o.take, Most: 100})
	const sources, each = 20, 500
	var wg sync.WaitGroup
	for s := range sources {
		wg.Go(func() {
			next := 0
			var done sync.WaitGroup
			done.Add(each)
			for i := range each {
				in.Later(one(s, i), func(err error) {
					if err != nil || i != next {
						t.Errorf("source %d: %d was told, %v; want %d", s, i, err, next)
					}
					next++
					if d.has() == 0 {
						t.Error("told before anything was kept")
					}
					done.Done()
				})
			}
			done.Wait()
			if err := in.Take(t.Context(), one(s, each)); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	in.Close()
	if len(d.kept) != sources*(each+1) || len(o.list) != len(d.kept) {
		t.Fatalf("%d kept, %d handed on; want %d", len(d.kept), len(o.list), sources*(each+1))
	}
	next := map[string]float64{}
	for i, r := range d.kept {
		if o.list[i] != r {
			t.Fatalf("%d: %+v was handed on; kept was %+v", i, o.list[i], r)
		}
		if r.Value != next[r.Source] {
			t.Fatalf("source %s: %v was kept; want %v", r.Source, r.Value, next[r.Source])
		}
		next[r.Source]++
	}
	if s := in.State(); s.Kept != uint64(len(d.kept)) || s.Waiting != 0 || s.Failing != nil || s.Commits != uint64(len(d.sizes)) {
		t.Errorf("%+v", s)
	}
}

// TestIntakeGroups: what comes while the disk is busy is one commit, nobody is
// told before, and no more waits than may.
func TestIntakeGroups(t *testing.T) {
	t.Parallel()
	d := &disk{hold: make(chan struct{})}
	in := NewIntake(IntakeConfig{Keep: d, Most: 10})
	var told atomic.Int32
	later := func(n int) {
		in.Later(one(0, n), func(err error) {
			if err != nil {
				t.Error(err)
			}
			told.Add(1)
		})
	}
	later(0)
	waits(t, "the first commit", func() bool { return in.State().Waiting == 0 })
	for i := range 10 {
		later(1 + i)
	}
	if s := in.State(); s.Waiting != 10 || told.Load() != 0 {
		t.Errorf("%+v, %d told", s, told.Load())
	}
	flood := make(chan struct{})
	go func() { later(11); close(flood) }()
	short, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if err := in.Take(short, one(0, 99)); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a flood: %v", err)
	}
	select {
	case <-flood:
		t.Error("more waits than may")
	default:
	}
	d.hold <- struct{}{}
	waits(t, "the first", func() bool { return told.Load() == 1 })
	<-flood
	d.hold <- struct{}{}
	waits(t, "the next ten", func() bool { return told.Load() == 11 })
	close(d.hold)
	in.Close()
	if fmt.Sprint(d.sizes) != "[1 10 1]" || told.Load() != 12 {
		t.Errorf("commits of %v, %d told", d.sizes, told.Load())
	}
}

func waits(t *testing.T, what string, f func() bool) {
	t.Helper()
	for end := time.Now().Add(5 * time.Second); !f(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited for %s in vain", what)
		}
	}
}

// TestIntakeFails has the disk fail and recover: none is kept and all are told,
// the state says so, and it goes on by itself.
func TestIntakeFails(t *testing.T) {
	t.Parallel()
	d, o := new(disk), new(outs)
	var log bytes.Buffer
	in := NewIntake(IntakeConfig{Keep: d, Out: o.take, Retry: 50 * time.Millisecond, Log: slog.New(slog.NewTextHandler(&log, nil))})
	if err := in.Take(t.Context(), one(0, 1)); err != nil {
		t.Fatal(err)
	}
	full := errors.New("no room")
	d.failing(full)
	begun := time.Now()
	for range 3 {
		if err := in.Take(t.Context(), one(0, 2)); err != full {
			t.Errorf("%v; want %v", err, full)
		}
	}
	if took := time.Since(begun); took < 100*time.Millisecond {
		t.Errorf("three tries took %v; want two pauses of 50 ms", took)
	}
	if s := in.State(); s.Failing != full || s.Since.IsZero() || s.Kept != 1 || s.Failed != 3 {
		t.Errorf("%+v", s)
	}
	d.failing(nil)
	if err := in.Take(t.Context(), one(0, 3)); err != nil {
		t.Error(err)
	}
	if s := in.State(); s.Failing != nil || !s.Since.IsZero() || s.Kept != 2 {
		t.Errorf("%+v", s)
	}
	in.Close()
	if len(o.list) != 2 || o.list[1].Value != 3 {
		t.Errorf("handed on: %+v", o.list)
	}
	if n := strings.Count(log.String(), "\n"); n != 2 || !strings.Contains(log.String(), "no room") {
		t.Errorf("the log:\n%s", log.String())
	}
}

func TestIntakeCloses(t *testing.T) {
	t.Parallel()
	d, o := new(disk), new(outs)
	in := NewIntake(IntakeConfig{Keep: d, Out: o.take, Least: time.Hour})
	if err := in.Take(t.Context(), one(0, 0)); err != nil {
		t.Fatal(err)
	}
	kept := make(chan error, 1)
	in.Later(one(0, 1), func(err error) { kept <- err }) // waits for an hour
	in.Close()
	in.Close()
	if err := <-kept; err != nil || d.has() != 2 || len(o.list) != 2 {
		t.Errorf("%v, %d kept, %d handed on", err, d.has(), len(o.list))
	}
	if err := in.Take(t.Context(), one(0, 2)); err != ErrStopped {
		t.Errorf("after the end: %v", err)
	}
	in.Later(one(0, 2), func(err error) { kept <- err })
	if err := <-kept; err != ErrStopped {
		t.Errorf("after the end: %v", err)
	}
}

// TestOrder puts lists in order by another sort, which is stable too.
func TestOrder(t *testing.T) {
	t.Parallel()
	var o order
	for n := range 200 {
		list := make([]watch.Reading, n)
		for i := range list {
			list[i] = watch.Reading{Time: time.Unix(1.7e9, int64(rand.IntN(1+n/2))), Value: float64(i)}
		}
		want := slices.Clone(list)
		sort.SliceStable(want, func(i, j int) bool { return want[i].Time.Before(want[j].Time) })
		if got := o.put(list); !slices.Equal(got, want) {
			t.Fatalf("got  %v\nwant %v", got, want)
		}
	}
}

func TestRefused(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	now := time.Unix(1.7e9, 0)
	r := refusals{log: slog.New(slog.NewTextHandler(&log, nil)), now: func() time.Time { return now }}
	big := bytes.Repeat([]byte{0xff}, 10_000)
	for range 1000 {
		r.add("mqtt", "not a number", big)
	}
	if n := strings.Count(log.String(), "\n"); n != 1 || log.Len() > 600 {
		t.Errorf("%d lines:\n%s", n, log.String())
	}
	now = now.Add(refusedEvery)
	r.add("mqtt", "not a number", []byte("x"))
	if !strings.Contains(log.String(), `"since the last line"=1000`) {
		t.Errorf("the log:\n%s", log.String())
	}
	for i := range 2000 {
		r.add(fmt.Sprint("source ", i), "too long", nil)
	}
	list := r.list()
	var n uint64
	for _, k := range list {
		n += k.N
	}
	if len(list) != refusedKinds+1 || n != 3001 || list[1].N != 1001 || list[1].Source != "mqtt" || list[1].Last != now || list[0].Source != "others" {
		t.Errorf("%d kinds, %d in all, %+v", len(list), n, list[:3])
	}
}

// BenchmarkOrder has readings as a thousand clients send them, twenty at a time.
func BenchmarkOrder(b *testing.B) {
	list := make([]watch.Reading, 5000)
	for i := range list {
		list[i].Time = time.Unix(1.7e9, int64(i/20*1e6/50+i%20*1e6))
	}
	var o order
	for b.Loop() {
		o.put(list)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(list)), "ns/reading")
}

func BenchmarkIntake(b *testing.B) {
	in := NewIntake(IntakeConfig{Keep: new(nowhere)})
	defer in.Close()
	b.ReportAllocs()
	b.RunParallel(func(pb *testing.PB) {
		r := one(0, 0)
		done := func(error) {}
		for pb.Next() {
			in.Later(r, done)
		}
	})
}

type nowhere struct{}

func (nowhere) Keep([]watch.Reading) error { return nil }
