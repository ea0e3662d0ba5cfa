package sqlite

import (
	"context"
	"math"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// openedAt gives an open file of readings, and its clock.
func openedAt(t *testing.T, now time.Time) (*Readings, *time.Time) {
	t.Helper()
	s, err := OpenReadings(t.Context(), filepath.Join(t.TempDir(), "watch.db"), Options{Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s, &now
}

// TestReadingsOnce has readings come again: in the same list, at once, after they were
// sealed, and all of a week's days later, when they are looked for in chunks.
func TestReadingsOnce(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, now := openedAt(t, noonTime)
	week := make([]watch.Reading, 7*1440)
	for i := range week {
		at := noonTime.Add(time.Duration(i) * time.Minute)
		week[i] = watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Arrived: at, Value: 100 + float64(i%9)}
	}
	keep := func(list []watch.Reading) {
		t.Helper()
		if err := s.Keep(list); err != nil {
			t.Fatal(err)
		}
	}
	for i := 0; i < len(week); i += 720 {
		keep(append(week[i:i+720:i+720], week[i:i+30]...))
		keep(week[i : i+720])
		*now = now.Add(12 * time.Hour)
		if err := s.Seal(ctx); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Seal(ctx); err != nil {
		t.Fatal(err)
	}
	before, err := s.Readings(ctx, history.Line{Tank: "fresh", Source: "mqtt"}, history.Stretch{From: noonTime, To: noonTime.AddDate(0, 0, 7), Buckets: 100})
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(week); i += 60 {
		keep(week[i : i+60])
	}
	// What differs in anything that counts is another; in when it arrived, it is not.
	other := week[5000]
	other.Arrived = other.Arrived.Add(time.Hour)
	keep([]watch.Reading{other})
	if n, err := s.Count(ctx); err != nil || n != int64(len(week)) {
		t.Fatalf("%d readings, %v; want %d", n, err, len(week))
	}
	after, err := s.Readings(ctx, history.Line{Tank: "fresh", Source: "mqtt"}, history.Stretch{From: noonTime, To: noonTime.AddDate(0, 0, 7), Buckets: 100})
	if err != nil || len(after) != len(before) || len(after) < 50 {
		t.Fatalf("%d buckets, %v; want %d", len(after), err, len(before))
	}
	for i := range after {
		if after[i] != before[i] {
			t.Errorf("%+v; was %+v", after[i], before[i])
		}
	}
	second, value, said := week[5000], week[5000], week[5000]
	second.Time = second.Time.Add(time.Millisecond)
	value.Value += 0.1
	said.Said = watch.Broken
	keep([]watch.Reading{second, value, said, second})
	if n, err := s.Count(ctx); err != nil || n != int64(len(week))+3 {
		t.Fatalf("%d readings, %v; want %d", n, err, len(week)+3)
	}
	if err := s.Sound(ctx); err != nil {
		t.Error(err)
	}
}

// TestRounding holds what is kept to the steps that docs/history.md states.
func TestRounding(t *testing.T) {
	t.Parallel()
	at := func(text string) time.Time {
		v, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	noon := at("2026-11-03T12:00:00Z")
	for _, c := range []struct{ in, want watch.Reading }{
		{watch.Reading{Time: at("2026-11-03T12:00:00.1234999Z"), Value: 118.449}, watch.Reading{Time: at("2026-11-03T12:00:00.123Z"), Value: 118.4}},
		{watch.Reading{Time: at("2026-11-03T12:00:00.1235Z"), Value: 118.45}, watch.Reading{Time: at("2026-11-03T12:00:00.124Z"), Value: 118.5}},
		{watch.Reading{Time: at("1931-05-06T07:08:09.9996Z"), Value: -3.14159, Signal: watch.Volt}, watch.Reading{Time: at("1931-05-06T07:08:10Z"), Value: -3.142, Signal: watch.Volt}},
		{watch.Reading{Time: noon, Value: 4294967295.04, Signal: watch.Count}, watch.Reading{Time: noon, Value: 4294967295, Signal: watch.Count}},
		{watch.Reading{Time: noon, Value: 33.333, Signal: watch.Percent}, watch.Reading{Time: noon, Value: 33.33, Signal: watch.Percent}},
		{watch.Reading{Time: noon, Value: math.NaN()}, watch.Reading{Time: noon, Value: math.NaN()}},
		{watch.Reading{Time: noon, Value: math.Inf(-1)}, watch.Reading{Time: noon, Value: math.Inf(-1)}},
		{watch.Reading{Time: noon, Value: 1.23456789e10}, watch.Reading{Time: noon, Value: 1.23456789e10}},
		{watch.Reading{Time: noon, Value: 7, Said: watch.Broken}, watch.Reading{Time: noon, Said: watch.Broken}},
		{watch.Reading{Time: noon, Arrived: at("2026-11-03T12:00:07.9Z"), Clock: watch.ArrivalClock}, watch.Reading{Time: noon, Arrived: at("2026-11-03T12:00:07Z"), Clock: watch.ArrivalClock}},
		{watch.Reading{Time: noon, Arrived: at("2026-11-03T11:59:59.9Z")}, watch.Reading{Time: noon, Arrived: at("2026-11-03T11:59:59Z")}},
		{watch.Reading{Time: time.Date(-400, 1, 1, 0, 0, 0, 0, time.UTC)}, watch.Reading{Time: at("0001-01-01T00:00:00Z")}},
		{watch.Reading{Time: time.Date(20000, 1, 1, 0, 0, 0, 0, time.UTC)}, watch.Reading{Time: at("9999-12-31T23:59:59.999Z")}},
		{watch.Reading{Time: noon, Tilt: &watch.Tilt{Pitch: 0.12344, Roll: -0.00006}}, watch.Reading{Time: noon, Tilt: &watch.Tilt{Pitch: 0.1234, Roll: -0.0001}}},
		{watch.Reading{Time: noon, Tilt: &watch.Tilt{Pitch: quantity.Radian(math.NaN())}}, watch.Reading{Time: noon}},
	} {
		k := rounded(&c.in)
		got := k.reading(&lineKey{signal: c.in.Signal})
		if d := differs([]watch.Reading{got}, []watch.Reading{c.want}); d != "" {
			t.Error(d)
		}
		if again := rounded(&got); again != k {
			t.Errorf("rounded again: %+v; was %+v", again, k)
		}
	}
}

// TestReadingsPruned lets go by age and by size.
func TestReadingsPruned(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, now := openedAt(t, noonTime)
	const perDay = 2160
	day := func(d int) []watch.Reading {
		list := make([]watch.Reading, perDay)
		for i := range list {
			at := noonTime.AddDate(0, 0, d).Add(time.Duration(i) * 40 * time.Second)
			list[i] = watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Value: 100 + float64(i%9)}
		}
		return list
	}
	for d := range 20 {
		if err := s.Keep(day(d)); err != nil {
			t.Fatal(err)
		}
		*now = noonTime.AddDate(0, 0, d+1)
		if err := s.Seal(ctx); err != nil {
			t.Fatal(err)
		}
	}
	of := history.Line{Tank: "fresh", Source: "mqtt"}
	count := func(by int) (n int64) {
		t.Helper()
		list, err := s.Readings(ctx, of, history.Stretch{From: noonTime.Add(-12 * time.Hour), To: noonTime.Add(20*24*time.Hour + 12*time.Hour), Buckets: by})
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range list {
			n += b.N
		}
		return n
	}
	const all = 20 * perDay
	p, err := s.Prune(ctx, Retention{Before: noonTime.AddDate(0, 0, 10)})
	if err != nil {
		t.Fatal(err)
	}
	left, err := s.Count(ctx)
	if err != nil || left+p.Readings != all || left < 10*perDay || left > 12*perDay || p.Until.IsZero() || p.Bytes <= 0 {
		t.Errorf("%d readings are left, %v; %+v", left, err, p)
	}
	if n := count(21); n != all {
		t.Errorf("by the day there are %d readings; want %d", n, all)
	}
	if n := count(700); n != all {
		t.Errorf("by the hour there are %d readings; want %d", n, all)
	}
	// They aren't taken again.
	if err := s.Keep(day(3)); err != nil {
		t.Fatal(err)
	}
	if n := count(21); n != all {
		t.Errorf("after what was gone came again there are %d by the day", n)
	}
	p, err = s.Prune(ctx, Retention{Most: p.Bytes - 8<<10})
	if err != nil {
		t.Fatal(err)
	}
	if now, err := s.Count(ctx); err != nil || now != left-p.Readings || p.Readings == 0 {
		t.Errorf("%d readings are left of %d, %v; %+v", now, left, err, p)
	}
	if p, err = s.Prune(ctx, Retention{Most: 1}); err != nil || !p.Minutes {
		t.Errorf("%+v, %v", p, err)
	}
	if n := count(700); n != all {
		t.Errorf("by the hour there are %d readings; want %d", n, all)
	}
	if first, err := s.Since(ctx, "fresh"); err != nil || !first.Equal(noonTime) {
		t.Errorf("since %v, %v", first, err)
	}
	// The clock was wrong by years while something was let go of; then it is right.
	*now = noonTime.AddDate(40, 0, 0)
	if err := s.Keep(day(20)); err != nil {
		t.Fatal(err)
	}
	if err := s.Seal(ctx); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Prune(ctx, Retention{Before: now.AddDate(-1, 0, 0)}); err != nil {
		t.Fatal(err)
	}
	*now = noonTime.AddDate(0, 0, 22)
	if err := s.Keep(day(21)); err != nil {
		t.Fatal(err)
	}
	if n, err := s.Count(ctx); err != nil || n < perDay {
		t.Errorf("%d readings, %v", n, err)
	}
	if err := s.Sound(ctx); err != nil {
		t.Error(err)
	}
}

// TestLevelsKept rolls levels up in the file as they would be in one go.
func TestLevelsKept(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, _ := openedAt(t, noonTime)
	if until, err := s.LevelsUntil(ctx, "fresh"); err != nil || !until.IsZero() {
		t.Errorf("%v, %v", until, err)
	}
	var all history.LevelRolls
	for i := range 3 * 24 * 60 * 2 { // three days, two levels a minute
		at := noonTime.Add(time.Duration(i) * 30 * time.Second)
		l := watch.Level{Time: at, Shown: i%10 != 0, Share: quantity.Share(float64(i%7000) / 7000), Status: watch.Status(i % 97 / 96)}
		l.Low, l.High = l.Share-0.01, l.Share+0.01
		all.Add(l)
		if i%500 == 499 {
			if err := s.KeepLevels(ctx, "fresh", all.Take(at), at); err != nil {
				t.Fatal(err)
			}
		}
		if i == 3000 { // between two keepings
			if until, err := s.LevelsUntil(ctx, "fresh"); err != nil || !until.Equal(noonTime.Add(2999*30*time.Second)) {
				t.Errorf("%v, %v", until, err)
			}
		}
	}
	end := noonTime.AddDate(0, 0, 3)
	if err := s.KeepLevels(ctx, "fresh", all.Take(end.Add(time.Hour)), end); err != nil {
		t.Fatal(err)
	}
	for _, buckets := range []int{3, 90, 4000, 10000} {
		list, err := s.Levels(ctx, "fresh", history.Stretch{From: noonTime, To: end, Buckets: buckets})
		if err != nil {
			t.Fatal(err)
		}
		var n, without int64
		var sum float64
		for _, b := range list {
			n, without, sum = n+b.N, without+b.Without, sum+float64(b.Mean)*float64(b.N)
			if b.N > 0 && (b.Min > b.Mean || b.Mean > b.Max || b.Low > b.Mean || b.High < b.Mean) {
				t.Fatalf("%+v", b)
			}
		}
		if n != 8640*9/10 || without != 864 || math.Abs(sum/float64(n)-0.42) > 0.1 {
			t.Errorf("in %d: %d and %d, mean %v", buckets, n, without, sum/float64(n))
		}
	}
	if list, err := s.Levels(ctx, "none", history.Stretch{From: noonTime, To: end, Buckets: 5}); err != nil || len(list) > 0 {
		t.Errorf("%v, %v", list, err)
	}
}

// TestEventsKept keeps events once, and gives the latest first.
func TestEventsKept(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, _ := openedAt(t, noonTime)
	list := []history.Event{
		{Time: noonTime, Kind: history.Began, Level: -1},
		{Time: noonTime.Add(time.Second), Tank: "fresh", Kind: history.FaultBegan, Fault: watch.BrokenWire, Status: watch.Failure, Level: 0.25},
		{Time: noonTime.Add(2 * time.Second), Tank: "fresh", Kind: history.FaultEnded, Fault: watch.BrokenWire, Level: -1},
		{Time: noonTime.Add(3 * time.Second), Kind: history.DiskFailed, Level: -1, Text: "The disk is full."},
	}
	for range 2 {
		if err := s.KeepEvents(ctx, list); err != nil {
			t.Fatal(err)
		}
	}
	check := func(tank string, from, to time.Time, most int, want ...int) {
		t.Helper()
		got, err := s.Events(ctx, tank, from, to, most)
		if err != nil || len(got) != len(want) {
			t.Fatalf("%+v, %v; want %v", got, err, want)
		}
		for i := range got {
			if got[i] != list[want[i]] {
				t.Errorf("%+v; want %+v", got[i], list[want[i]])
			}
		}
	}
	check("", time.Time{}, time.Time{}, 10, 3, 2, 1, 0)
	check("", time.Time{}, time.Time{}, 2, 3, 2)
	check("fresh", time.Time{}, time.Time{}, 10, 2, 1)
	check("", noonTime.Add(time.Second), noonTime.Add(3*time.Second), 10, 2, 1)
	check("grey", time.Time{}, time.Time{}, 10)
}

// TestReadingsTwoWriters has a file open twice, as two programs have it: each knows what
// the other kept before it keeps anything itself.
func TestReadingsTwoWriters(t *testing.T) {
	t.Parallel()
	one, _ := openedAt(t, noonTime)
	two, err := OpenReadings(t.Context(), one.Path(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer two.Close()
	list := someReadings(5_000)
	var m shelf
	for i := 0; i < len(list); i += 500 {
		writer, other := one, two
		if i/500%2 == 1 {
			writer, other = two, one
		}
		if err := writer.Keep(list[i : i+500]); err != nil {
			t.Fatal(err)
		}
		if i%2500 == 0 {
			if err := other.Keep(list[max(0, i-300) : i+500]); err != nil {
				t.Fatal(err)
			}
			if err := writer.Seal(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
	}
	m.keep(list)
	for _, s := range []*Readings{one, two} {
		if err := s.Keep(list[:1]); err != nil { // it is there; but now this one knows
			t.Fatal(err)
		}
		m.check(t, s)
	}
}
