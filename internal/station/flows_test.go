package station

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/api"
	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// followed is a configuration of a tank of 100 L.
const followedTank = `commit_every = "1ms"
warm = "1h"
[tank.fresh]
lower = 10
upper = 180
capacity = "100L"
contents = "water"
[http]
`

// days makes readings of a tank that is used in the evenings and filled every second
// noon, a reading a minute, invented, with how much of it is used a day. Nothing comes for
// two hours of the second night.
func days(n int) (list []watch.Reading, refills int, drawn float64) {
	random := rand.New(rand.NewPCG(3, 0))
	level := 0.6
	for i := range n * 1440 {
		day, minute := i/1440, (i+morning.Hour()*60)%1440
		switch {
		case minute >= 18*60 && minute < 21*60 && random.IntN(10) == 0:
			level -= 0.15 / 18 // a tap is opened and closed again
			drawn += 0.15 / 18
		case day%2 == 1 && minute >= 720 && minute < 728:
			level = min(0.95, level+0.3/8)
			if minute == 720 {
				refills++
			}
		}
		if day == 1 && minute > 2*60 && minute < 4*60 {
			continue
		}
		at := morning.Add(time.Duration(i) * time.Minute)
		list = append(list, watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Arrived: at.Add(20 * time.Millisecond), Value: quantized(10 + 170*(level+0.0005*random.NormFloat64()))})
	}
	return list, refills, drawn / float64(n)
}

func quantized(ohm float64) float64 { return math.Round(100*ohm) / 100 }

// told gives what a station tells of a tank.
func told1(t *testing.T, s *Station) []flow.Event {
	t.Helper()
	list, err := s.Flows().Flows(t.Context(), "fresh", time.Time{}, time.Time{}, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// A watch that is cut off again and again tells of each refill once, as one without cuts
// does; also where it was cut off between the writing of the levels and that of what
// came in and went out. What is known of the use is the same.
func TestFlowsCutOff(t *testing.T) {
	list, refills, use := days(6)
	run := func(cuts bool) ([]flow.Event, *Station) {
		path, c := write(t, followedTank), &times{wall: morning}
		s := still(t, path, c, nil)
		random := rand.New(rand.NewPCG(7, 0))
		for i := 0; i < len(list); {
			some := min(60+random.IntN(700), len(list)-i)
			s.taken1(t, list[i:i+some]...)
			i += some
			c.pass(list[i-1].Time.Sub(c.now()))
			what := random.IntN(3)
			var err error
			switch what {
			case 0:
				err = s.seal(t.Context())
			case 1:
				err = s.sealLevels(t.Context(), s.tanks["fresh"])
			}
			if err != nil {
				t.Fatal(err)
			}
			if cuts {
				s.cut(t)
				s = still(t, path, c, nil)
			}
		}
		return told1(t, s), s
	}
	whole, w := run(false)
	cut, s := run(true)
	defer w.cut(t)
	defer s.cut(t)
	// A watch that begins again gives levels that differ a little, so that a spell of use
	// may be told as two, or not at all where it is one of many alike; none is told twice.
	apart := func(list []flow.Event) (others []flow.Event, sum float64) {
		later := time.Unix(1<<40, 0)
		for _, e := range list {
			if e.Kind != flow.Use {
				others = append(others, e)
				continue
			}
			if e.End.After(later) {
				t.Errorf("spells of use overlap: %+v", e)
			}
			later = e.Start
			sum += e.Amount
		}
		return others, sum
	}
	whole, sum := apart(whole)
	cut, cutSum := apart(cut)
	if math.Abs(cutSum/sum-1) > 0.25 || sum < 0.5*6*use || sum > 6*use {
		t.Errorf("spells of use come to %.3f, with cuts %.3f; %.3f was used", sum, cutSum, 6*use)
	}
	count := func(list []flow.Event) (n int) {
		for _, e := range list {
			if e.Kind == flow.Refill {
				n++
			}
		}
		return n
	}
	if count(whole) != refills || count(cut) != refills {
		t.Errorf("%d and with cuts %d refills, expected %d:\n%+v\n%+v", count(whole), count(cut), refills, whole, cut)
	}
	if len(whole) != len(cut) {
		t.Fatalf("%d things are told, with cuts %d", len(whole), len(cut))
	}
	for i, e := range whole {
		if o := cut[i]; o.Kind != e.Kind || o.Start.Sub(e.Start).Abs() > 5*time.Minute || math.Abs(o.Amount-e.Amount) > 0.01 {
			t.Errorf("%+v\nwith cuts\n%+v", e, o)
		}
	}
	a, b := w.Flows().Outlooks(w.o.Now())[0], s.Flows().Outlooks(s.o.Now())[0]
	if !a.Rate.Known || !b.Rate.Known || math.Abs(a.Rate.Mid/b.Rate.Mid-1) > 0.05 || math.Abs(a.Rate.Mid/use-1) > 0.1 {
		t.Errorf("the use is %+v, with cuts %+v; expected %.3f a day", a.Rate, b.Rate, use)
	}
	if u := s.Flows().Uses()[0]; math.Abs(float64(u.Full)-0.1) > 1e-9 || len(u.Days) < 5 {
		t.Errorf("%+v", u)
	}
}

// Where what was known can't be taken up, the last readings tell it again: nothing is
// told twice.
func TestFlowsDamaged(t *testing.T) {
	path, c := write(t, followedTank), &times{wall: morning}
	s := still(t, path, c, nil)
	list, refills, _ := days(6)
	s.taken1(t, list...)
	c.pass(list[len(list)-1].Time.Sub(c.now()))
	if err := s.seal(t.Context()); err != nil {
		t.Fatal(err)
	}
	before := told1(t, s)
	if err := s.store.KeepFlows(t.Context(), "fresh", sqlite.Followed{State: []byte("nothing that can be read"), Until: c.now()}, nil, nil); err != nil {
		t.Fatal(err)
	}
	s.cut(t)
	for range 2 {
		s = still(t, path, c, nil)
		after := told1(t, s)
		if len(before) != len(after) || refills == 0 {
			t.Errorf("%d were told, now %d:\n%+v\n%+v", len(before), len(after), before, after)
		}
		if err := s.finish(); err != nil {
			t.Fatal(err)
		}
		s.cut(t)
	}
}

// What was told and turned out not to be is gone from the store as well; what is older
// than may change stays though the tracker doesn't tell it any more.
func TestFlowsChanges(t *testing.T) {
	at := morning
	e := func(days int, open bool) flow.Event {
		e := flow.Event{Kind: flow.Leak, Start: at.AddDate(0, 0, -days), End: at.AddDate(0, 0, -days).Add(time.Hour), P: 0.9}
		if open {
			e.End = time.Time{}
		}
		return e
	}
	recent, old, open, young := e(1, false), e(30, false), e(20, true), e(2, false)
	f := newFollows(flow.Config{}, time.UTC)
	for _, x := range []flow.Event{recent, old, open, young} {
		f.kept[keyOf(x)] = x
	}
	changedYoung := young
	changedYoung.P = 0.99
	fresh := e(0, true)
	changed, gone := f.changes([]flow.Event{changedYoung, fresh}, at)
	if len(changed) != 2 || changed[0].P != 0.99 || !changed[1].Start.Equal(fresh.Start) {
		t.Errorf("changed: %+v", changed)
	}
	starts := map[time.Time]bool{}
	for _, x := range gone {
		starts[x.Start] = true
	}
	if len(gone) != 2 || !starts[recent.Start] || !starts[open.Start] {
		t.Errorf("gone: %+v", gone)
	}
}

// Spells of use that the tracker doesn't tell any more for want of room stay, and one that
// turned out not to be is gone; none is written at once, as other events are.
func TestUsesChange(t *testing.T) {
	use := func(hours int) flow.Event {
		at := morning.Add(-time.Duration(hours) * time.Hour)
		return flow.Event{Kind: flow.Use, Start: at, End: at.Add(10 * time.Minute), Found: at.Add(30 * time.Minute), Amount: 0.05, P: 0.95}
	}
	f := newFollows(flow.Config{}, time.UTC)
	var told []flow.Event
	for h := 60; h > 0; h-- {
		f.kept[keyOf(use(h))] = use(h)
		if h <= 40 && h != 20 {
			told = append(told, use(h))
		}
	}
	changed, gone := f.changes(told, morning)
	if len(changed) != 0 || len(gone) != 1 || !gone[0].Start.Equal(use(20).Start) || pressing(gone) {
		t.Errorf("changed %d, gone %+v; expected the one of 20 hours ago to be gone, without haste", len(changed), gone)
	}
	if !pressing([]flow.Event{use(1), {Kind: flow.Refill}}) {
		t.Error("a refill isn't written at once")
	}
	s := still(t, write(t, followedTank), &times{wall: morning}, nil)
	defer s.cut(t)
	list, _, _ := days(4)
	s.taken1(t, list...)
	for kinds, want := range map[flow.Kind]bool{flow.Use: true, flow.Refill: true, flow.Stuck: false} {
		some, err := s.Flows().Flows(t.Context(), "fresh", time.Time{}, time.Time{}, 1000, kinds)
		if err != nil || len(some) > 0 != want {
			t.Errorf("%d of %s, %v", len(some), kinds, err)
		}
		for _, e := range some {
			if e.Kind != kinds {
				t.Errorf("%s among those of %s", e.Kind, kinds)
			}
		}
	}
}

// A following that breaks down takes nothing else with it: the levels go on, and it is
// begun anew an hour later.
func TestFollowingBreaksDown(t *testing.T) {
	path, c := write(t, followedTank), &times{wall: morning}
	s := still(t, path, c, nil)
	defer s.cut(t)
	tank := s.tanks["fresh"]
	config := tank.follows.config
	broken := config
	broken.Content = func(float64) float64 { panic("a joint has come loose") }
	tank.follows.tracker = flow.New(broken)
	list, _, _ := days(1)
	s.taken1(t, list...)
	if tank.level.Time.IsZero() || !tank.level.Shown || !tank.level.Time.Equal(list[len(list)-1].Time) {
		t.Errorf("the level is %+v", tank.level)
	}
	found := false
	for _, n := range s.Standing().Notes {
		found = found || strings.Contains(n, "followed anew")
	}
	if !found {
		t.Errorf("it isn't told: %q", s.Standing().Notes)
	}
	if a := s.Flows().Outlooks(c.now()); len(a) != 1 {
		t.Errorf("%+v", a)
	}
}

// outbox keeps what was published last at each topic.
type outbox map[string]string

func (o outbox) Publish(topic string, payload []byte, retain bool) error {
	if !retain {
		return fmt.Errorf("%s isn't retained", topic)
	}
	o[topic] = string(payload)
	return nil
}

// How long a tank lasts and what came in last are published: at most once a minute, and
// only where it has changed.
func TestFlowsPublished(t *testing.T) {
	path, c := write(t, followedTank), &times{wall: morning}
	s := still(t, path, c, nil)
	defer s.cut(t)
	out := outbox{}
	s.out = append(s.out, out)
	tank := s.tanks["fresh"]
	s.publishFlows(tank)
	if len(out) != 0 {
		t.Errorf("before any reading: %v", out)
	}
	list, _, use := days(6)
	s.taken1(t, list...)
	c.pass(list[len(list)-1].Time.Sub(c.now()))
	s.publishFlows(tank)
	var o api.Outlook
	if err := json.Unmarshal([]byte(out["fresh/outlook"]), &o); err != nil || o.UseL == nil || math.Abs(*o.UseL/100/use-1) > 0.1 || o.LeftMidH == nil || o.Sentence == "" || o.Calculated == "" {
		t.Errorf("%v: %s", err, out["fresh/outlook"])
	}
	var e api.Flow
	if err := json.Unmarshal([]byte(out["fresh/flow"]), &e); err != nil || e.Tank != "fresh" || e.AmountL == nil || e.P < 0.5 {
		t.Errorf("%v: %s", err, out["fresh/flow"])
	}
	clear(out)
	c.pass(30 * time.Second)
	s.publishFlows(tank)
	c.pass(31 * time.Second)
	s.publishFlows(tank)
	if len(out) != 0 {
		t.Errorf("nothing has changed, and it is published: %v", out)
	}
	// An event that is no more is taken back.
	tank.follows.tracker = flow.New(tank.follows.config)
	c.pass(2 * time.Minute)
	s.publishFlows(tank)
	if text, sent := out["fresh/flow"]; !sent || text != "" {
		t.Errorf("%q, %v", text, sent)
	}
}

// What the configuration says of loads and hours is taken, and what can't be is refused
// by its key.
func TestFollowingConfig(t *testing.T) {
	tank := "[tank.fresh]\nlower = 10\nupper = 180\ncapacity = \"100L\"\n"
	c, err := Read(write(t, tank+"largest_load = \"0.5L/h\"\noff = [\"22:00-06:00\", \"12:00-13:00\"]\n"), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	_, a, err := c.built("fresh", c.Tank["fresh"])
	if err != nil || math.Abs(a.Follows.Steady-0.005) > 1e-12 || len(a.Follows.Off) != 2 || a.Follows.Off[0].From != 22*time.Hour || a.Full != 0.1 || a.FullMass != 0 {
		t.Errorf("%+v, %v", a.Follows, err)
	}
	c, err = Read(write(t, tank+"largest_load = \"none\"\noff = \"22:00-06:00\"\n"), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, a, err = c.built("fresh", c.Tank["fresh"]); err != nil || a.Follows.Steady >= 0 || len(a.Follows.Off) != 1 {
		t.Errorf("%+v, %v", a.Follows, err)
	}
	for text, want := range map[string]string{
		`largest_load = "much"`:     "largest_load",
		`largest_load = "40g/h"`:    "no known weight",
		`off = "22-6"`:              "22:00-06:00",
		`off = 22`:                  "hours of the day",
		`off = ["22:00-06:00", ""]`: "hours of the day",
	} {
		c, err := Read(write(t, tank+text+"\n"), nil, nil)
		if err == nil {
			err = c.Try()
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// Who asks for a tank that isn't there is told of nothing.
func TestFlowsOfNoTank(t *testing.T) {
	s := still(t, write(t, followedTank), &times{wall: morning}, nil)
	defer s.cut(t)
	if list, err := s.Flows().Flows(context.Background(), "nowhere", time.Time{}, time.Time{}, 10); err != nil || len(list) != 0 {
		t.Errorf("%v, %v", list, err)
	}
}

// Where dockets have taught that the levels are others, by the step nothing came in or
// went out; after a restart neither.
func TestFlowsCorrected(t *testing.T) {
	path, c := write(t, followedTank), &times{wall: morning}
	s := still(t, path, c, nil)
	list, _, _ := days(2)
	still := list[:0]
	for _, r := range list {
		r.Value = 95
		still = append(still, r)
	}
	half := len(still) / 2
	s.taken1(t, still[:half]...)
	correction := docket.Correction{N: 3, Levels: make([]float64, 101), U: make([]float64, 101), Capacity: 1.1}
	for i := range correction.Levels {
		correction.Levels[i] = 0.1 + 0.9*float64(i)/100
	}
	if err := s.book.apply(s.tanks["fresh"], &correction); err != nil {
		t.Fatal(err)
	}
	s.taken1(t, still[half:]...)
	if got := told1(t, s); len(got) != 0 {
		t.Errorf("%+v", got)
	}
	if u := s.Flows().Uses()[0]; math.Abs(float64(u.Full)-0.11) > 1e-9 {
		t.Errorf("the full scale holds %g m³, expected 0.11", float64(u.Full))
	}
	c.pass(still[len(still)-1].Time.Sub(c.now()))
	if err := s.seal(t.Context()); err != nil {
		t.Fatal(err)
	}
	s.cut(t)
	if had, err := sqliteFollowed(t, path); err != nil || had.Curve == 0 || had.Curve != curveOf(&correction) {
		t.Errorf("%d, %v", had.Curve, err)
	}
}

func sqliteFollowed(t *testing.T, path string) (sqlite.Followed, error) {
	c, err := Read(path, nil, nil)
	if err != nil {
		return sqlite.Followed{}, err
	}
	r, err := sqlite.OpenReadings(t.Context(), c.path(c.Data), sqlite.Options{})
	if err != nil {
		return sqlite.Followed{}, err
	}
	defer r.Close()
	return r.Followed(t.Context(), "fresh")
}
