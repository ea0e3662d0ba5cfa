package station

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// times is a clock that is set by hand, and the time that passes.
type times struct {
	mu     sync.Mutex
	wall   time.Time
	passed time.Duration
}

func (c *times) now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.wall }

func (c *times) since() time.Duration { c.mu.Lock(); defer c.mu.Unlock(); return c.passed }

// pass has time pass; set has the clock set besides.
func (c *times) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.wall, c.passed = c.wall.Add(d), c.passed+d
}
func (c *times) set(by time.Duration) { c.mu.Lock(); defer c.mu.Unlock(); c.wall = c.wall.Add(by) }

// still makes a station that isn't started, so that a test does everything in turn.
func still(t *testing.T, path string, c *times, through func(Keeper) Keeper) *Station {
	t.Helper()
	config, err := Read(path, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(t.Context(), config, Options{Now: c.now, Passed: c.since, Zone: time.UTC, through: through})
	if err != nil {
		t.Fatal(err)
	}
	s.clock = newClock(s.o.Now, s.o.Passed)
	return s
}

// cut ends a station as a power cut does: nothing more is written.
func (s *Station) cut(t *testing.T) {
	t.Helper()
	s.intake.Close()
	if err := s.store.Close(); err != nil {
		t.Fatal(err)
	}
}

func (s *Station) taken1(t *testing.T, list ...watch.Reading) {
	t.Helper()
	if err := s.intake.Take(t.Context(), list); err != nil {
		t.Fatal(err)
	}
	waits(t, "the readings to be shown", func() bool {
		s.intake.show.mu.Lock()
		defer s.intake.show.mu.Unlock()
		return len(s.intake.show.list) == 0 && !s.intake.show.busy
	})
}

const alone = "commit_every = \"1ms\"\n" + small

var morning = time.Date(2026, 11, 3, 8, 0, 0, 0, time.UTC)

// ohmAt is a level that falls slowly, with an open wire for two minutes.
func ohmAt(i int) float64 {
	if i >= 500 && i < 512 {
		return 99999
	}
	return 160 - float64(i)/20
}

func timed(i int) watch.Reading {
	at := morning.Add(time.Duration(i) * 10 * time.Second)
	return watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Arrived: at.Add(20 * time.Millisecond), Value: ohmAt(i)}
}

// A watch that is cut off again and again, with readings that come once more after
// each, has the levels of each minute that one without cuts has: none lost, none
// twice. What happened is told once.
func TestCutOff(t *testing.T) {
	path := write(t, alone)
	c := &times{wall: morning}
	config, err := Read(path, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	w, _, err := config.built("fresh", config.Tank["fresh"])
	if err != nil {
		t.Fatal(err)
	}
	const n = 1080 // three hours
	var whole history.LevelRolls
	for i := range n {
		whole.Add(w.Take(timed(i)))
	}
	s := still(t, path, c, nil)
	for i, cuts := 0, 1; i < n; {
		some := min(17+i%31, n-i)
		var list []watch.Reading
		for j := range some {
			list = append(list, timed(i+j))
		}
		s.taken1(t, list...)
		i += some
		c.pass(time.Duration(some) * 10 * time.Second)
		if i%3 == 0 {
			if err := s.seal(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.writeEvents(t.Context()); err != nil {
			t.Fatal(err)
		}
		if i > 100*cuts {
			cuts++
			s.cut(t)
			s = still(t, path, c, nil)
			says := fmt.Sprintf("What was acknowledged is there, the last reading of %s; %d readings weren't packed yet.", timed(i-1).Time.Format("2 January 2006 at 15:04:05"), i)
			if n := s.Standing().Notes; len(n) != 1 || !strings.HasPrefix(n[0], "The watch that was started on ") || !strings.HasSuffix(n[0], says) {
				t.Errorf("%q; want %q", n, says)
			}
			i = max(0, i-30) // what wasn't acknowledged comes again, and more
			c.pass(-300 * time.Second)
		}
	}
	stretch := history.Stretch{From: morning, To: morning.Add(4 * time.Hour), Buckets: 240}
	got, err := s.Past().Levels(t.Context(), "fresh", stretch)
	if err != nil {
		t.Fatal(err)
	}
	want := stretch.Grid().Levels(whole.Peek())
	if len(got) != len(want) {
		t.Fatalf("%d minutes; want %d", len(got), len(want))
	}
	for i := range got {
		if !got[i].From.Equal(want[i].From) || got[i].N+got[i].Without != want[i].N+want[i].Without || math.Abs(float64(got[i].Mean-want[i].Mean)) > 0.003 {
			t.Errorf("%+v; want %+v", got[i], want[i])
		}
	}
	events, err := s.Past().Events(t.Context(), "fresh", time.Time{}, time.Time{}, 100)
	if err != nil {
		t.Fatal(err)
	}
	if len(events) != 2 || events[1].Kind != history.FaultBegan || events[1].Fault != watch.BrokenWire || !events[1].Time.Equal(timed(500).Time) || math.Abs(events[1].Level-0.74) > 0.05 ||
		events[0].Kind != history.FaultEnded || events[0].Fault != watch.BrokenWire {
		t.Errorf("%+v", events)
	}
	all, err := s.Past().Events(t.Context(), "", time.Time{}, time.Time{}, 1000)
	if err != nil {
		t.Fatal(err)
	}
	count := map[history.Kind]int{}
	for _, e := range all {
		count[e.Kind]++
	}
	if count[history.Cut] < 5 || count[history.Began] != count[history.Cut]+1 {
		t.Errorf("%v", count)
	}
	// Stopped in order, it says nothing of a cut, and its last minute is there too.
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	s = still(t, path, c, nil)
	defer s.cut(t)
	again, err := s.Past().Levels(t.Context(), "fresh", stretch)
	if err != nil || len(again) != len(want) {
		t.Errorf("%d minutes after a restart, %v; want %d", len(again), err, len(want))
	}
	all, err = s.Past().Events(t.Context(), "", time.Time{}, time.Time{}, 2)
	if err != nil || len(all) != 2 || all[0].Kind != history.Began && all[1].Kind != history.Began {
		t.Errorf("%+v, %v", all, err)
	}
	for _, e := range all {
		if e.Kind == history.Cut {
			t.Errorf("stopped in order, and it says %+v", e)
		}
	}
	if at, err := s.Past().Since(t.Context(), "fresh"); err != nil || !at.Equal(morning) {
		t.Errorf("since %v, %v", at, err)
	}
	if lines, err := s.Past().Lines(t.Context(), "fresh"); err != nil || len(lines) != 1 {
		t.Errorf("%+v, %v", lines, err)
	}
}

// What a watch says that is there after a cut, with nothing and with little.
func TestCutOffSays(t *testing.T) {
	path := write(t, alone)
	c := &times{wall: morning}
	s := still(t, path, c, nil)
	for i, ends := range []string{
		"by force. No reading had been acknowledged.",
		"What was acknowledged is there, the last reading of 3 November 2026 at 08:00:00; 1 reading wasn't packed yet.",
		"What was acknowledged is there, the last reading of 3 November 2026 at 08:00:00; all of it is packed.",
	} {
		if err := s.writeEvents(t.Context()); err != nil {
			t.Fatal(err)
		}
		s.cut(t)
		c.pass(time.Minute)
		s = still(t, path, c, nil)
		if n := s.Standing().Notes; len(n) != 1 || !strings.HasSuffix(n[0], ends) {
			t.Errorf("%q; want %q", n, ends)
		}
		if i == 0 {
			s.taken1(t, timed(0))
		}
		if i == 1 {
			c.pass(13 * time.Hour)
			if err := s.seal(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
	}
	s.cut(t)
}

// The clock is set back and forward while readings come that bear the time of their
// arrival: it is told, and the very next reading counts.
func TestClockSet(t *testing.T) {
	for name, by := range map[string]time.Duration{
		"an hour back": -time.Hour, "a minute back": -time.Minute, "years forward": 6 * 365 * 24 * time.Hour, "an hour forward": time.Hour,
	} {
		t.Run(name, func(t *testing.T) {
			c := &times{wall: morning}
			s := still(t, write(t, alone), c, nil)
			defer s.cut(t)
			take := func() {
				c.pass(4 * time.Second)
				s.taken1(t, watch.Reading{Tank: "fresh", Source: "lines/bay", Time: c.now(), Arrived: c.now(), Clock: watch.ArrivalClock, Value: 95})
			}
			for range 40 {
				take()
			}
			s.minds(t.Context())
			if len(s.Standing().Notes) != 0 {
				t.Fatalf("nothing was set, and it says %q", s.Standing().Notes)
			}
			c.set(by)
			take() // before it is noticed
			s.minds(t.Context())
			take()
			l := s.Levels(c.now())[0]
			if !l.Shown || l.Fault != watch.NoFault || !l.Time.Equal(c.now()) || l.Age != 0 || math.Abs(float64(l.Share)-0.5) > 0.01 {
				t.Errorf("it says %+v at %v", l.Publish(), c.now())
			}
			if n := s.Standing().Notes; len(n) != 1 || !strings.HasPrefix(n[0], "This machine's clock ") {
				t.Errorf("%q", n)
			}
			events, err := s.Past().Events(t.Context(), "", time.Time{}, time.Time{}, 10)
			if err != nil || len(events) != 2 || events[0].Kind != history.ClockMoved && events[1].Kind != history.ClockMoved {
				t.Errorf("%+v, %v", events, err)
			}
			// The levels are rolled up again from here on.
			for range 40 {
				take()
			}
			if err := s.seal(t.Context()); err != nil {
				t.Fatal(err)
			}
			got, err := s.Past().Levels(t.Context(), "fresh", history.Stretch{From: c.now().Add(-90 * time.Second), To: c.now(), Buckets: 10})
			if err != nil || len(got) < 2 {
				t.Errorf("%+v, %v", got, err)
			}
		})
	}
}

// A clock that is before the last reading when the watch starts is told, and the
// readings that come count after three.
func TestClockBeforeTheLastReading(t *testing.T) {
	path := write(t, alone)
	c := &times{wall: morning}
	s := still(t, path, c, nil)
	for i := range 50 {
		s.taken1(t, timed(i))
	}
	s.cut(t)
	c.set(-24 * time.Hour)
	s = still(t, path, c, nil)
	defer s.cut(t)
	if n := s.Standing().Notes; len(n) != 1 || !strings.Contains(n[0], "the clock may be wrong, or was") {
		t.Errorf("%q", n)
	}
	for range 10 {
		c.pass(time.Second)
		s.taken1(t, watch.Reading{Tank: "fresh", Source: "mqtt", Time: c.now(), Arrived: c.now(), Clock: watch.ArrivalClock, Value: 95})
	}
	if l := s.Levels(c.now())[0]; !l.Time.Equal(c.now()) || !l.Shown {
		t.Errorf("it says %+v", l.Publish())
	}
}

// failing keeps readings unless it is told to fail.
type failing struct {
	Keeper
	mu  sync.Mutex
	err error
}

func (f *failing) Keep(list []watch.Reading) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.err != nil {
		return f.err
	}
	return f.Keeper.Keep(list)
}

func (f *failing) fails(err error) { f.mu.Lock(); defer f.mu.Unlock(); f.err = err }

// A full disk: nothing is acknowledged, the level goes on, the standing says why;
// with room again all of it is kept by itself, and what comes again counts once.
func TestDiskFull(t *testing.T) {
	c := &times{wall: morning}
	f := &failing{}
	s := still(t, write(t, alone), c, func(k Keeper) Keeper { f.Keeper = k; return f })
	s.intake.c.Retry = time.Millisecond
	defer s.cut(t)
	s.taken1(t, timed(0))
	f.fails(errors.New("no room on the disk"))
	acked := make(chan error, 100)
	for i := 1; i < 20; i++ {
		s.intake.Later([]watch.Reading{timed(i)}, func(err error) { acked <- err })
		s.intake.Later([]watch.Reading{timed(i)}, func(err error) { acked <- err }) // sent again
	}
	waits(t, "the standing to say so", func() bool { return s.Standing().Failing == "no room on the disk" })
	waits(t, "the level", func() bool { return s.Levels(timed(19).Time)[0].Time.Equal(timed(19).Time) })
	if len(acked) != 0 || s.Standing().Waiting == 0 || s.Standing().Since.IsZero() {
		t.Errorf("%d acknowledged, %+v", len(acked), s.Standing())
	}
	if n := s.Counts()[0]; n.Taken != 20 || n.Doubled != 19 {
		t.Errorf("%+v", n)
	}
	f.fails(nil)
	for range 38 {
		if err := <-acked; err != nil {
			t.Error(err)
		}
	}
	if s.Standing().Failing != "" {
		t.Errorf("%+v", s.Standing())
	}
	if n, err := s.store.Count(t.Context()); err != nil || n != 20 {
		t.Errorf("%d kept, %v", n, err)
	}
	events, err := s.Past().Events(t.Context(), "", time.Time{}, time.Time{}, 10)
	count := map[history.Kind]int{}
	for _, e := range events {
		count[e.Kind]++
	}
	if err != nil || count[history.DiskFailed] != 1 || count[history.DiskWorks] != 1 {
		t.Errorf("%+v, %v", events, err)
	}
}

// A part that breaks down is told and begun again.
func TestPartBreaksDown(t *testing.T) {
	c := &times{wall: morning}
	s := still(t, write(t, alone), c, nil)
	defer s.cut(t)
	s.pace.again = time.Millisecond
	ctx, end := context.WithCancel(t.Context())
	defer end()
	runs := make(chan int, 10)
	n := 0
	s.keepGoing(ctx, "The sorting", func(ctx context.Context) error {
		if n++; n < 3 {
			panic("out of paper")
		}
		runs <- n
		<-ctx.Done()
		return nil
	})
	if got := <-runs; got != 3 {
		t.Errorf("%d runs", got)
	}
	if notes := s.Standing().Notes; len(notes) == 0 || !strings.HasPrefix(notes[0], "The sorting broke down and was begun again: out of paper") {
		t.Errorf("%q", notes)
	}
	end()
	s.running.Wait()
	// So is the watch of a tank that breaks down over a reading.
	tank := s.tanks["fresh"]
	tank.watch = nil
	s.taken1(t, timed(0))
	s.taken1(t, timed(1))
	if s.Counts()[0].Taken != 1 {
		t.Errorf("%+v", s.Counts()[0])
	}
}

// Backups are made, checked, named by their time, and the oldest go.
func TestBackups(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "stick")
	c := &times{wall: morning}
	s := still(t, write(t, alone+"[backup]\nfolder = \""+folder+"\"\nkeep = 3\nevery = \"1h\"\n"), c, nil)
	defer s.cut(t)
	s.taken1(t, timed(0))
	for range 5 {
		path, err := s.backUp(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		s.backedUp(path, nil)
		c.pass(time.Hour)
	}
	list, err := s.backupsThere()
	if err != nil || len(list) != 3 || filepath.Base(list[0]) != "watch-20261103-100000.db" {
		t.Errorf("%q, %v", list, err)
	}
	s.backedUp("", errors.New("no room"))
	s.backedUp("", errors.New("no room at all"))
	if n := s.Standing().Notes; len(n) != 1 || !strings.Contains(n[0], "No backup could be made on 3 November 2026 at 13:00:00: no room at all.") {
		t.Errorf("%q", n)
	}
	s.backedUp(list[0], nil)
	if n := s.Standing().Notes; len(n) != 0 {
		t.Errorf("%q", n)
	}
}

// A clock that is years ahead has nothing let go of for its age, until it has been
// right for a day, as far as anyone can tell.
func TestClockAheadKeepsReadings(t *testing.T) {
	path := write(t, "keep_for = \"30d\"\n"+alone)
	c := &times{wall: morning}
	s := still(t, path, c, nil)
	defer s.cut(t)
	s.taken1(t, timed(0), timed(1))
	kept := func() int64 {
		s.minds(t.Context())
		if err := s.seal(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := s.prune(t.Context()); err != nil {
			t.Fatal(err)
		}
		n, err := s.store.Count(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	c.set(3 * 365 * 24 * time.Hour)
	if n := kept(); n != 2 {
		t.Errorf("%d of 2 readings are left right after the clock was set forward", n)
	}
	c.pass(23 * time.Hour)
	if n := kept(); n != 2 {
		t.Errorf("%d of 2 readings are left a little later", n)
	}
	c.pass(2 * time.Hour)
	if n := kept(); n != 0 {
		t.Errorf("%d readings are left of a time that is long over", n)
	}
}
