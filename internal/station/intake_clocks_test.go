package station

import (
	"math/rand/v2"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// came is one call: when it arrived, and how long before that its newest reading says it was.
type came struct {
	at, lag time.Duration
	n       int // readings in it, a second apart
}

// steadily makes calls, each so long after the one before, from a lag on that changes by so
// much with each.
func steadily(from time.Duration, n int, every, lag, by time.Duration) (list []came) {
	for i := range n {
		list = append(list, came{from + time.Duration(i)*every, lag + time.Duration(i)*by, 1})
	}
	return list
}

// A source whose clock is behind is one whose readings come in order, one by one, and trail
// their arrival by a steady time. What an outage held back isn't, nor what is gathered.
func TestClocksThatAreBehind(t *testing.T) {
	const s, m, h = time.Second, time.Minute, time.Hour
	after := func(lists ...[]came) (all []came) {
		for _, l := range lists {
			all = append(all, l...)
		}
		return all
	}
	right := steadily(0, 60, 10*s, s, 0) // ten minutes
	jittered := steadily(10*m, 60, 10*s, h, 0)
	r := rand.New(rand.NewPCG(1, 2))
	for i := range jittered {
		jittered[i].lag += time.Duration(r.IntN(2500)) * time.Millisecond
	}
	batches := steadily(10*m, 12, 10*s, h, 0)
	for i := range batches {
		batches[i].n = 10
	}
	twoDevices := after(right)
	for i := range 60 {
		at := 10*m + time.Duration(i)*10*s
		twoDevices = append(twoDevices, came{at, s, 1}, came{at + 5*s, h, 1})
	}
	for name, c := range map[string]struct {
		calls  []came
		within time.Duration // of the first that trails; 0: nothing is put right
		off    time.Duration // how far from its arrival the last one is then
	}{
		"set back by an hour":               {after(right, steadily(10*m, 30, 10*s, h, 0)), 40 * s, 0},
		"set back, uneven":                  {after(right, jittered), 40 * s, 3 * s},
		"set back, ten in each call":        {after(right, batches), 40 * s, 0},
		"set back, a reading a second":      {after(right, steadily(10*m, 200, s, h, 0)), 40 * s, 0},
		"set back by seven minutes":         {after(right, steadily(10*m, 30, 10*s, 7*m, 0)), 40 * s, 0},
		"behind from the start on":          {steadily(0, 30, 10*s, h, 0), 130 * s, 0},
		"slower and slower":                 {after(right, steadily(10*m, 2000, 10*s, h, 50*time.Millisecond)), 40 * s, time.Minute},
		"right again":                       {after(right, steadily(10*m, 30, 10*s, h, 0), steadily(15*m, 30, 10*s, s, 0)), 40 * s, s},
		"a clock that stood while off":      {after(right, steadily(3*h, 60, 10*s, 3*h-10*m+2*s, 0)), 130 * s, 0},
		"behind, off for a night, the same": {after(right, steadily(10*m, 30, 10*s, h, 0), steadily(10*h, 3, 10*s, h, 0)), 40 * s, 0},
		"a minute and a half late":          {after(right, steadily(10*m, 60, 10*s, 90*s, 0)), 0, 90 * s},
		"held back, all at once":            {after(right, steadily(2*h, 600, 10*time.Millisecond, 110*m, -10*s)), 0, 0},
		"held back, twice as fast":          {after(right, steadily(2*h, 600, 5*s, 110*m, -5*s)), 0, 0},
		"held back, a fifth faster":         {after(right, steadily(2*h, 300, 10*s, 110*m, -2*s)), 0, 0},
		"what is new amid what is old":      {twoDevices, 0, 0},
		"gathered by the hour":              {after(right, steadily(h, 24, h, h, 0)), 0, h},
		"always an hour late, by the hour":  {steadily(0, 24, h, 2*h, 0), 0, 2 * h},
	} {
		var k clocks
		day := time.Date(2026, 10, 25, 0, 0, 0, 0, time.UTC)
		var found, first time.Duration
		var last time.Duration
		for _, call := range c.calls {
			at := day.Add(call.at)
			var list []watch.Reading
			for i := max(1, call.n) - 1; i >= 0; i-- {
				list = append(list, watch.Reading{Source: "mqtt", Tank: "fresh", Arrived: at, Time: at.Add(-call.lag - time.Duration(i)*s)})
			}
			was := list[len(list)-1]
			got, _ := k.right(list)
			if list[len(list)-1] != was {
				t.Fatalf("%s: the list itself was changed", name)
			}
			newest := got[len(got)-1]
			last = at.Sub(newest.Time)
			if last < 0 {
				t.Errorf("%s: a reading is %s from a time to come", name, -last)
			}
			if call.lag > 2*m && first == 0 {
				first = call.at
			}
			if newest.Behind > 0 {
				if found == 0 {
					found = call.at - first + 1
				}
				if newest.Clock != watch.ArrivalClock {
					t.Errorf("%s: it isn't said that the time goes by the arrival", name)
				}
				for i := range got[1:] {
					if call.n > 1 && got[i+1].Time.Sub(got[i].Time) != s {
						t.Errorf("%s: two of a call are %s apart; expected a second", name, got[i+1].Time.Sub(got[i].Time))
					}
				}
			}
		}
		switch {
		case c.within == 0 && found != 0:
			t.Errorf("%s: put right %s after the first that trailed; expected never", name, found)
		case c.within > 0 && (found == 0 || found > c.within+1):
			t.Errorf("%s: put right after %s; expected within %s", name, found, c.within)
		case c.within > 0 && (last > c.off+behindKept || c.off < time.Minute && last > c.off+time.Millisecond):
			t.Errorf("%s: the last one is %s old; expected %s", name, last, c.off)
		}
	}
}

// A tank whose source's clock was set back by an hour has a level, which says that the clock
// is wrong, and stands among what is kept at the time at which it was so. One whose readings
// were held back for an hour is as old as they are.
func TestLevelOfAClockThatIsBehind(t *testing.T) {
	for name, behind := range map[string]bool{"set back": true, "held back": false} {
		t.Run(name, func(t *testing.T) {
			now := time.Date(2026, 10, 25, 0, 0, 0, 0, time.UTC)
			s := startedFrom(t, write(t, "commit_every = \"1ms\"\n"+gasTank), Options{Now: func() time.Time { return now }})
			send := func(at, arrived time.Time, ohm float64) {
				t.Helper()
				r := watch.Reading{Tank: "gas", Source: "mqtt", Time: at, Arrived: arrived, Value: ohm}
				s.intake.Later([]watch.Reading{r}, func(err error) {
					if err != nil {
						t.Error(err)
					}
				})
			}
			at := now.Add(-2 * time.Hour)
			for range 60 {
				send(at, at, 100)
				at = at.Add(10 * time.Second)
			}
			if !behind {
				for range 60 {
					send(at, now, 100) // at once
					at = at.Add(10 * time.Second)
				}
				if err := s.Backfill(t.Context(), []watch.Reading{{Tank: "gas", Source: "mqtt", Time: at, Arrived: now, Value: 100}}); err != nil {
					t.Fatal(err)
				}
				if l := s.Levels(now)[0]; l.Shown || l.Age < time.Hour {
					t.Errorf("shown %v, of an age of %s; expected none, of more than an hour", l.Shown, l.Age)
				}
				return
			}
			for ; at.Before(now); at = at.Add(10 * time.Second) {
				send(at.Add(-time.Hour), at, 40)
			}
			var l watch.Level
			for end := time.Now().Add(10 * time.Second); time.Now().Before(end) && l.Age != 10*time.Second; time.Sleep(time.Millisecond) {
				l = s.Levels(now)[0]
			}
			if !l.Shown || l.Share < 0.1 || l.Share > 0.3 || l.Status != watch.Maintenance || l.Fault != watch.ClockOff || l.Clock != watch.ArrivalClock {
				t.Fatalf("shown %v, %.2f, %s, %s, by the clock of the %s, %s old; expected 0.18 and that the source's clock is wrong", l.Shown, float64(l.Share), l.Status, l.Fault, l.Clock, l.Age)
			}
			if since := l.Since.Sub(now.Add(-110 * time.Minute)); since < 0 || since > time.Minute {
				t.Errorf("it is wrong since %s; expected within a minute of when it was set back", l.Since)
			}
			if err := s.Backfill(t.Context(), nil); err != nil {
				t.Fatal(err)
			}
			kept := 0
			if err := s.store.Each(t.Context(), now.Add(-time.Hour), now, "gas", func(r watch.Reading) error {
				if kept++; r.Clock != watch.ArrivalClock {
					t.Errorf("%s is kept as by its source's clock", r.Time)
				}
				return nil
			}); err != nil || kept != 360 {
				t.Errorf("of the last hour %d readings are kept, %v; expected 360", kept, err)
			}
		})
	}
}
