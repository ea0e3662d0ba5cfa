package sqlite

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/history"
	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

// shelf is the plainest file of readings: all of them in a slice.
type shelf struct {
	lines []lineKey
	kept  []shelved
}

type shelved struct {
	record
	line int
}

// keep keeps readings as the file is to, by the words of its description.
func (m *shelf) keep(list []watch.Reading) {
	for i := range list {
		key := lineKey{list[i].Tank, list[i].Source, list[i].Signal}
		at := slices.Index(m.lines, key)
		if at < 0 {
			at = len(m.lines)
			m.lines = append(m.lines, key)
		}
		k := shelved{rounded(&list[i]), at}
		if !slices.ContainsFunc(m.kept, func(o shelved) bool {
			a, b := o.reading(&key), k.reading(&key)
			return o.line == at && a.Time.Equal(b.Time) && a.Said == b.Said && math.Float64bits(a.Value) == math.Float64bits(b.Value)
		}) {
			m.kept = append(m.kept, k)
		}
	}
}

// each gives what Each is to give.
func (m *shelf) each(from, to time.Time, tank string) []watch.Reading {
	var list []shelved
	for _, k := range m.kept {
		at := time.UnixMilli(k.time)
		if (tank == "" || m.lines[k.line].tank == tank) && (from.IsZero() || !at.Before(from)) && (to.IsZero() || at.Before(to)) {
			list = append(list, k)
		}
	}
	slices.SortStableFunc(list, func(a, b shelved) int {
		return cmp.Or(cmp.Compare(a.time, b.time), cmp.Compare(a.line, b.line))
	})
	out := make([]watch.Reading, len(list))
	for i := range list {
		out[i] = list[i].reading(&m.lines[list[i].line])
	}
	return out
}

var (
	modelTime = rapid.Custom(func(t *rapid.T) time.Time {
		const begin = 1_790_000_000_000 // ms
		return time.UnixMilli(rapid.OneOf(
			rapid.Int64Range(begin, begin+200_000), rapid.Int64Range(begin, begin+50*86_400_000),
			rapid.SampledFrom([]int64{begin, begin + 1, begin + 1000}), rapid.Int64Range(-62135596800_000, 253402300799_000),
		).Draw(t, "ms"))
	})
	modelReading = rapid.Custom(func(t *rapid.T) watch.Reading {
		r := someReading.Draw(t, "reading")
		r.Tank, r.Source = rapid.SampledFrom([]string{"fresh", "grey"}).Draw(t, "tank"), rapid.SampledFrom([]string{"mqtt", "can/bay"}).Draw(t, "source")
		r.Time = modelTime.Draw(t, "time")
		r.Value = rapid.OneOf(rapid.Float64Range(0, 300), rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 0.05, 118.4, math.NaN(), math.Inf(-1), 1e300, 6.9e9})).Draw(t, "value")
		return r
	})
)

// TestReadingsModel does anything in any order with a file of readings and with the
// plainest one, and asks both the same: the readings, and roll-ups of them, which are
// worked out from the readings one by one.
func TestReadingsModel(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ctx := context.Background()
		dir := tempDir(t)
		now := time.UnixMilli(1_790_000_000_000)
		open := func() *Readings {
			s, err := OpenReadings(ctx, filepath.Join(dir, "watch.db"), Options{Now: func() time.Time { return now }})
			if err != nil {
				t.Fatal(err)
			}
			s.most = 40
			return s
		}
		s := open()
		defer func() { s.Close() }()
		var m shelf
		for range rapid.IntRange(1, 6).Draw(t, "steps") {
			var err error
			switch rapid.IntRange(0, 6).Draw(t, "step") {
			case 0, 1, 2:
				list := rapid.SliceOfN(modelReading, 0, 15).Draw(t, "readings")
				if len(m.kept) > 0 {
					for range rapid.IntRange(0, 4).Draw(t, "again") { // some come again
						k := rapid.SampledFrom(m.kept).Draw(t, "which")
						list = append(list, k.reading(&m.lines[k.line]))
					}
				}
				m.keep(list)
				err = s.Keep(list)
			case 3:
				now = now.Add(13 * time.Hour)
				err = s.Seal(ctx)
			case 4:
				s.keeping.Lock()
				err = s.seal(ctx, rapid.SampledFrom([]extent{oldestRow, everything}).Draw(t, "much"))
				s.keeping.Unlock()
			case 5:
				if err = s.Close(); err == nil {
					s = open()
				}
			case 6: // as after a failure that leaves open what is there
				s.sure = false
			}
			if err != nil {
				t.Fatal(err)
			}
			if rapid.Bool().Draw(t, "look") {
				if d := m.differs(t, s); d != "" {
					t.Fatal(d)
				}
			}
		}
		if d := m.differs(t, s); d != "" {
			t.Fatal(d)
		}
		if err := s.Sound(ctx); err != nil {
			t.Fatal(err)
		}
	})
}

// differs says where a file differs from a shelf, "" where it doesn't.
func (m *shelf) differs(t *rapid.T, s *Readings) string {
	ctx := context.Background()
	from, to, tank := time.Time{}, time.Time{}, ""
	if rapid.Bool().Draw(t, "part") {
		from, to, tank = modelTime.Draw(t, "from"), modelTime.Draw(t, "to"), rapid.SampledFrom([]string{"fresh", "grey", "none", ""}).Draw(t, "of")
	}
	var got []watch.Reading
	if err := s.Each(ctx, from, to, tank, func(r watch.Reading) error { got = append(got, r); return nil }); err != nil {
		return err.Error()
	}
	if d := differs(got, m.each(from, to, tank)); d != "" {
		return d
	}
	if n, err := s.Count(ctx); err != nil || n != int64(len(m.kept)) {
		return fmt.Sprintf("%d readings, %v; want %d", n, err, len(m.kept))
	}
	if len(m.lines) == 0 {
		return ""
	}
	key := rapid.SampledFrom(m.lines).Draw(t, "line")
	of := history.Line{Tank: key.tank, Source: key.source, Signal: key.signal}
	stretch := history.Stretch{From: modelTime.Draw(t, "begin"), To: modelTime.Draw(t, "end"), Buckets: rapid.IntRange(1, 2000).Draw(t, "buckets")}
	if !stretch.From.Before(stretch.To) {
		stretch.From, stretch.To = stretch.To, stretch.From.Add(time.Second)
	}
	if stretch.Check() != nil {
		return ""
	}
	return m.differsIn(s, of, key, stretch)
}

// differsIn compares a line's buckets with those worked out reading by reading, from
// every step that they can be made of.
func (m *shelf) differsIn(s *Readings, of history.Line, key lineKey, stretch history.Stretch) string {
	buckets, err := s.Readings(context.Background(), of, stretch)
	if err != nil {
		return err.Error()
	}
	g := stretch.Grid()
	want := map[int]series.Roll{}
	for _, k := range m.kept {
		if at := g.Place(time.UnixMilli(k.time)); at >= 0 && m.lines[k.line] == key && k.what&(saidBits|exact) == 0 {
			r := want[at]
			r.Add(k.value)
			want[at] = r
		}
	}
	if len(buckets) != len(want) {
		return fmt.Sprintf("%d buckets of %+v; want %d", len(buckets), stretch, len(want))
	}
	for _, b := range buckets {
		w := want[g.Place(b.From)]
		steps := [...]float64{10, 1000, 10, 100}[key.signal]
		if b.N != w.N || b.Min != float64(w.Min)/steps || b.Max != float64(w.Max)/steps || b.Mean != float64(w.Sum)/float64(w.N)/steps {
			return fmt.Sprintf("bucket %+v; want %+v", b, w)
		}
	}
	for step := -1; step < rollStep(g); step++ {
		rolls, err := s.rolls(context.Background(), of, g, step)
		if err != nil {
			return err.Error()
		}
		for i, r := range rolls {
			if r != want[i] {
				return fmt.Sprintf("by step %d, bucket %d: %+v; want %+v", step, i, r, want[i])
			}
		}
	}
	return ""
}

// tempDir is a folder that is gone after one try.
func tempDir(t *rapid.T) string {
	dir, err := os.MkdirTemp("", "readings")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}
