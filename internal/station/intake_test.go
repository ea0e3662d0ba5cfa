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
	"testing"
	"testing/synctest"
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

func (o *outs) has() int { o.mu.Lock(); defer o.mu.Unlock(); return len(o.list) }

func (o *outs) take(list []watch.Reading) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.list = append(o.list, list...)
}

// TestIntake has many sources hand over at once: each is told in its own order,
// after its reading was kept, and what is shown is what was kept.
func TestIntake(t *testing.T) {
	t.Parallel()
	d, o := new(disk), new(outs)
	in := NewIntake(IntakeConfig{Keep: d, Show: o.take, Most: 100})
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
	for what, list := range map[string][]watch.Reading{"kept": d.kept, "shown": o.list} {
		next := map[string]float64{}
		for _, r := range list {
			if r.Value != next[r.Source] {
				t.Fatalf("source %s: %v was %s; want %v", r.Source, r.Value, what, next[r.Source])
			}
			next[r.Source]++
		}
	}
	if s := in.State(); s.Kept != uint64(len(d.kept)) || s.Waiting != 0 || s.Failing != nil || s.Commits != uint64(len(d.sizes)) {
		t.Errorf("%+v", s)
	}
}

// bubbled runs a test of an intake in time that passes only while all wait.
func bubbled(t *testing.T, c IntakeConfig, f func(t *testing.T, in *Intake)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		in := NewIntake(c)
		defer in.Close()
		f(t, in)
	})
}

// TestIntakeEvery: the first reading is committed at once, then what comes in ten
// seconds together; each is shown at once, and its sender told after the commit.
func TestIntakeEvery(t *testing.T) {
	d, o := new(disk), new(outs)
	var kept outs
	bubbled(t, IntakeConfig{Keep: d, Show: o.take, Kept: kept.take, Every: 10 * time.Second}, func(t *testing.T, in *Intake) {
		begun := time.Now()
		var told []string
		for i := range 25 { // one a second
			at := time.Now()
			in.Later(one(0, i), func(err error) {
				if err != nil {
					t.Error(err)
				}
				told = append(told, fmt.Sprint(at.Sub(begun), " at ", time.Since(begun)))
			})
			synctest.Wait()
			if o.has() != i+1 {
				t.Fatalf("%d are shown; want %d", o.has(), i+1)
			}
			if i == 0 {
				time.Sleep(500 * time.Millisecond) // so that none comes at the same time as a commit
			}
			time.Sleep(time.Second)
		}
		if fmt.Sprint(d.sizes) != "[1 9 10]" || len(told) != 20 || told[0] != "0s at 0s" || told[1] != "1.5s at 10s" || told[19] != "19.5s at 20s" {
			t.Errorf("commits of %v; told %q", d.sizes, told)
		}
		time.Sleep(time.Hour) // a quiet time
		if err := in.Take(t.Context(), one(0, 25)); err != nil || time.Since(begun) != time.Hour+25500*time.Millisecond {
			t.Errorf("%v after %v", err, time.Since(begun))
		}
		if kept.has() != 26 {
			t.Errorf("%d were told as kept", kept.has())
		}
	})
}

// TestIntakeSooner: where many wait, or a source does, the commit comes sooner.
func TestIntakeSooner(t *testing.T) {
	for name, c := range map[string]struct {
		most, n int
		hurry   bool
		want    time.Duration
	}{
		"few":                   {0, 100, false, 10 * time.Second},
		"many":                  {0, manyWait, false, 0},
		"half of the room":      {200, 100, false, 0},
		"a source waits":        {0, 100, true, time.Second},
		"and has brought a lot": {0, 500, true, 0},
	} {
		t.Run(name, func(t *testing.T) {
			bubbled(t, IntakeConfig{Keep: new(disk), Every: 10 * time.Second, Most: c.most}, func(t *testing.T, in *Intake) {
				if err := in.Take(t.Context(), one(0, 0)); err != nil {
					t.Fatal(err)
				}
				begun := time.Now()
				done := make(chan struct{})
				in.Later(make([]watch.Reading, c.n), func(error) { close(done) })
				if c.hurry {
					in.Hurry()
				}
				if <-done; time.Since(begun) != c.want {
					t.Errorf("it took %v; want %v", time.Since(begun), c.want)
				}
			})
		})
	}
}

// TestIntakeRoom: no more waits than may; who brings more waits for room, and for
// no longer than it says.
func TestIntakeRoom(t *testing.T) {
	d, o := new(disk), new(outs)
	bubbled(t, IntakeConfig{Keep: d, Show: o.take, Most: 10}, func(t *testing.T, in *Intake) {
		d.hold = make(chan struct{})
		told, failed := 0, 0
		for i := range 10 {
			in.Later(one(0, i), func(err error) {
				if err != nil {
					t.Error(err)
				}
				told++
			})
		}
		begun := time.Now()
		in.Later(one(0, 10), func(err error) {
			if err == ErrNoRoom {
				failed++
			}
		})
		if time.Since(begun) != roomWithin {
			t.Errorf("a flood is held up for %v; want %v", time.Since(begun), roomWithin)
		}
		short, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if err := in.Take(short, one(0, 11)); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("a flood: %v", err)
		}
		if s := in.State(); s.Waiting != 10 || told != 0 || failed != 1 || o.has() != 10 {
			t.Errorf("%+v, %d told, %d not taken, %d shown", s, told, failed, o.has())
		}
		close(d.hold)
		synctest.Wait()
		if told != 10 || d.has() != 10 {
			t.Errorf("%d told, %d kept", told, d.has())
		}
	})
}

// TestIntakeTakenBack: who doesn't wait any longer may send the same again, and it
// is kept once.
func TestIntakeTakenBack(t *testing.T) {
	d := new(disk)
	bubbled(t, IntakeConfig{Keep: d, Every: time.Minute}, func(t *testing.T, in *Intake) {
		if err := in.Take(t.Context(), one(0, 0)); err != nil {
			t.Fatal(err)
		}
		for range 3 {
			short, cancel := context.WithTimeout(t.Context(), time.Second)
			if err := in.Take(short, one(0, 1)); !errors.Is(err, context.DeadlineExceeded) {
				t.Error(err)
			}
			cancel()
		}
		if err := in.Take(t.Context(), one(0, 1)); err != nil || d.has() != 2 || in.State().Waiting != 0 {
			t.Errorf("%v, %d kept, %+v", err, d.has(), in.State())
		}
	})
}

// TestIntakeOffers: what nobody waits for is shown, whatever the disk does; and
// where there is no room the oldest is lost by name.
func TestIntakeOffers(t *testing.T) {
	d, o := new(disk), new(outs)
	d.failing(errors.New("no room"))
	bubbled(t, IntakeConfig{Keep: d, Show: o.take, Most: 400}, func(t *testing.T, in *Intake) {
		in.Later(one(1, 0), func(error) {})
		for i := range 300 {
			in.Offer("modbus/bay", one(0, i))
			time.Sleep(time.Second)
		}
		if s := in.State(); s.Waiting != 101 || s.Failing == nil || o.has() != 301 {
			t.Errorf("%+v, %d shown", s, o.has())
		}
		if l := in.Lost(); len(l) != 1 || l[0].N != 200 || l[0].Why != "readings of modbus/bay that couldn't be kept on disk" {
			t.Errorf("%+v", l)
		}
		d.failing(nil)
		time.Sleep(longestRetry * time.Second)
		if d.has() != 101 || d.kept[1].Value != 200 || d.kept[100].Value != 299 || in.State().Waiting != 0 {
			t.Errorf("%d kept, %+v", d.has(), in.State())
		}
	})
	in := NewIntake(IntakeConfig{Keep: d})
	in.Close()
	in.Offer("late", one(0, 0))
	if l := in.Lost(); len(l) != 1 || l[0].N != 1 {
		t.Errorf("after the end: %+v", l)
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

// TestIntakeFails has the disk fail and recover: nobody is told anything
// meanwhile, the state says so, and it goes on by itself with nothing lost and
// nothing twice.
func TestIntakeFails(t *testing.T) {
	d, o := new(disk), new(outs)
	var log bytes.Buffer
	var stands []error
	c := IntakeConfig{Keep: d, Show: o.take, Log: slog.New(slog.NewTextHandler(&log, nil)), Stands: func(_ int, err error) { stands = append(stands, err) }}
	bubbled(t, c, func(t *testing.T, in *Intake) {
		if err := in.Take(t.Context(), one(0, 1)); err != nil {
			t.Fatal(err)
		}
		full := errors.New("no room")
		d.failing(full)
		told := 0
		for i := range 3 {
			in.Later(one(0, 2+i), func(err error) {
				if err != nil {
					t.Error(err)
				}
				told++
			})
		}
		begun := time.Now()
		time.Sleep(time.Hour)
		if s := in.State(); s.Failing != full || time.Since(s.Since) < time.Hour || s.Kept != 1 || s.Waiting != 3 || told != 0 || o.has() != 4 {
			t.Errorf("%+v, %d told, %d shown", s, told, o.has())
		}
		// A second at first, then ever longer up to ten.
		if n := in.State().Failed; n < 350 || n > 370 {
			t.Errorf("%d tries in an hour", n)
		}
		d.failing(nil)
		time.Sleep(longestRetry * time.Second)
		if s := in.State(); s.Failing != nil || !s.Since.IsZero() || s.Kept != 4 || told != 3 || o.has() != 4 {
			t.Errorf("%+v, %d told, %d shown after %v", s, told, o.has(), time.Since(begun))
		}
	})
	if n := strings.Count(log.String(), "\n"); n != 2 || !strings.Contains(log.String(), "no room") || len(stands) != 2 || stands[0] == nil || stands[1] != nil {
		t.Errorf("the log:\n%s%v", log.String(), stands)
	}
}

func TestIntakeCloses(t *testing.T) {
	t.Parallel()
	d, o := new(disk), new(outs)
	in := NewIntake(IntakeConfig{Keep: d, Show: o.take, Every: time.Hour})
	if err := in.Take(t.Context(), one(0, 0)); err != nil {
		t.Fatal(err)
	}
	kept := make(chan error, 1)
	in.Later(one(0, 1), func(err error) { kept <- err }) // waits for an hour
	in.Close()
	in.Close()
	if err := <-kept; err != nil || d.has() != 2 || len(o.list) != 2 {
		t.Errorf("%v, %d kept, %d shown", err, d.has(), len(o.list))
	}
	if err := in.Take(t.Context(), one(0, 2)); err != ErrStopped {
		t.Errorf("after the end: %v", err)
	}
	in.Later(one(0, 2), func(err error) { kept <- err })
	if err := <-kept; err != ErrStopped {
		t.Errorf("after the end: %v", err)
	}
	in = NewIntake(IntakeConfig{Keep: d, Every: time.Hour})
	if err := in.Take(t.Context(), one(0, 0)); err != nil {
		t.Fatal(err)
	}
	in.Soon()
	if err := in.Take(t.Context(), one(0, 1)); err != nil {
		t.Error(err)
	}
	full := errors.New("no room")
	d.failing(full)
	in.Later(one(0, 2), func(err error) { kept <- err })
	in.Offer("modbus/bay", one(0, 3))
	in.Close()
	if err := <-kept; err != full || len(in.Lost()) != 1 {
		t.Errorf("the end with a full disk: %v, %+v", err, in.Lost())
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
