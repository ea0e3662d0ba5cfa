package history

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

// levels draws some levels within some minutes.
func levels(t *rapid.T) []watch.Level {
	return rapid.SliceOf(rapid.Custom(func(t *rapid.T) watch.Level {
		share := quantity.Share(rapid.Float64Range(-0.1, 1.1).Draw(t, "share"))
		return watch.Level{
			Time:  start.Add(time.Duration(rapid.IntRange(-200, 200).Draw(t, "s")) * time.Second),
			Shown: rapid.Bool().Draw(t, "shown"), Share: share, Low: share - 0.05, High: share + 0.05,
			Status: rapid.SampledFrom([]watch.Status{watch.Good, watch.Failure, watch.Check, watch.OutOfSpec, watch.Maintenance}).Draw(t, "status"),
		}
	})).Draw(t, "levels")
}

// TestRollsOfLevels: nothing is lost or counted twice, whatever the order in which
// levels come and minutes are taken, and coarser rolls hold the same sums.
func TestRollsOfLevels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := levels(t)
		var one, other LevelRolls
		var expect LevelRoll
		for i, l := range all {
			one.Add(l)
			other.Add(all[len(all)-1-i])
			expect.Merge(rollOf(l))
		}
		if !slices.Equal(one.Peek(), other.Peek()) {
			t.Fatalf("%v in turn, %v backwards", one.Peek(), other.Peek())
		}
		before := start.Add(time.Duration(rapid.IntRange(-300, 300).Draw(t, "before")) * time.Second)
		taken := one.Take(before)
		for _, r := range taken {
			if r.From.Add(time.Minute).After(before) {
				t.Fatalf("the minute of %s is taken at %s", r.From, before)
			}
		}
		for _, r := range one.Peek() {
			if !r.From.Add(time.Minute).After(before) {
				t.Fatalf("the minute of %s is left at %s", r.From, before)
			}
		}
		both := append(taken, one.Peek()...)
		if !slices.Equal(both, other.Peek()) || one.Lost() != 0 {
			t.Fatalf("%v, expected %v", both, other.Peek())
		}
		for _, to := range []Resolution{Minute, Hour, Day} {
			coarser := Coarser(both, to)
			var sum LevelRoll
			for i, r := range coarser {
				if floor(r.From.Unix(), int64(to)) != r.From.Unix() || i > 0 && !r.From.After(coarser[i-1].From) {
					t.Fatalf("a roll of %d s at %s", to, r.From)
				}
				sum.Merge(r)
			}
			if sum.From = expect.From; sum != expect {
				t.Fatalf("in rolls of %d s: %v, expected %v", to, sum, expect)
			}
		}
		b := PackLevels(nil, both)
		got, rest, err := UnpackLevels(nil, append(b, 1))
		if err != nil || len(rest) != 1 || !slices.Equal(got, both) {
			t.Fatalf("%v come back as %v: %v", both, got, err)
		}
	})
}

// TestRollsAreBounded: a store that takes nothing for days costs the oldest minutes,
// by name.
func TestRollsAreBounded(t *testing.T) {
	var r LevelRolls
	const more = 100
	for i := range MostMinutes + more {
		for range 2 {
			r.Add(watch.Level{Time: start.Add(time.Duration(i) * time.Minute), Shown: true, Share: 0.5})
		}
	}
	if n := len(r.Peek()); n != MostMinutes || r.Lost() != 2*more || cap(r.rolls) > 2*MostMinutes {
		t.Errorf("%d minutes in room for %d, %d lost; expected %d and %d", n, cap(r.rolls), r.Lost(), MostMinutes, 2*more)
	}
	if from := r.Take(start.Add(200 * time.Minute))[0].From; from.Sub(start.Truncate(time.Minute)) != more*time.Minute {
		t.Errorf("the oldest is of %s", from)
	}
}

func TestLevelBuckets(t *testing.T) {
	var r LevelRolls
	for _, l := range []watch.Level{
		{Time: start, Shown: true, Share: 0.5, Low: 0.4, High: 0.6},
		{Time: start.Add(time.Second), Shown: true, Share: 0.6, Low: 0.5, High: 0.8, Status: watch.Maintenance},
		{Time: start.Add(time.Hour), Status: watch.Failure},
		{Status: watch.Check, Fault: watch.Unsettled}, // no reading yet
	} {
		r.Add(l)
	}
	g := Stretch{From: start, To: start.Add(2 * time.Hour), Buckets: 3}.Grid()
	expect := []LevelBucket{
		{From: start.Truncate(time.Hour), N: 2, Min: 0.5, Mean: 0.55, Max: 0.6, Low: 0.45, High: 0.7, Worst: watch.Maintenance},
		{From: start.Truncate(time.Hour).Add(time.Hour), Without: 1, Worst: watch.Failure},
	}
	if got := g.Levels(r.Peek()); !slices.Equal(got, expect) {
		t.Errorf("%+v, expected %+v", got, expect)
	}
}

// TestWorseIsAnOrder: of any two the same one is the worse, whichever comes first,
// and a failure is the worst.
func TestWorseIsAnOrder(t *testing.T) {
	all := []watch.Status{watch.Good, watch.Maintenance, watch.OutOfSpec, watch.Check, watch.Failure}
	for i, a := range all {
		for j, b := range all {
			if got := Worse(a, b); got != all[max(i, j)] {
				t.Errorf("the worse of %s and %s is %s", a, b, got)
			}
		}
	}
}

// day of a tank's minutes, with the noise of a level that is known to a point or so.
func dayOfLevels() []LevelRoll {
	draw := rand.New(rand.NewPCG(3, 0))
	var r LevelRolls
	for i := range 8640 {
		share := quantity.Share(0.7 - float64(i)/50_000 + 0.0005*draw.NormFloat64())
		r.Add(watch.Level{Time: start.Add(time.Duration(i) * 10 * time.Second), Shown: true, Share: share, Low: share - 0.012, High: share + 0.012})
	}
	return r.Take(start.Add(25 * time.Hour))
}

func TestADayOfLevelsIsSmall(t *testing.T) {
	rolls := dayOfLevels()
	if n := float64(len(PackLevels(nil, rolls))) / float64(len(rolls)); n > 4 {
		t.Errorf("a minute's levels take %.2f bytes, expected 4 at the most", n)
	} else {
		t.Logf("%.2f bytes", n)
	}
}

func FuzzUnpackLevels(f *testing.F) {
	f.Add(PackLevels(nil, dayOfLevels()[:30]))
	f.Add(PackLevels(nil, nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		got, _, err := UnpackLevels(nil, b)
		if err != nil && (err != series.ErrDamaged || len(got) > 0) {
			t.Fatalf("%v, %d rolls", err, len(got))
		}
	})
}

func BenchmarkLevelRolls(b *testing.B) {
	var r LevelRolls
	l := watch.Level{Time: start, Shown: true, Share: 0.5, Low: 0.4, High: 0.6}
	for b.Loop() {
		l.Time = l.Time.Add(time.Second)
		r.Add(l)
	}
}

func BenchmarkUnpackLevels(b *testing.B) {
	packed := PackLevels(nil, dayOfLevels())
	var rolls []LevelRoll
	for b.Loop() {
		var err error
		if rolls, _, err = UnpackLevels(rolls[:0], packed); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(rolls)), "ns/roll")
}
