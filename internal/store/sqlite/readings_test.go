package sqlite_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/peer"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

func openedReadings(tb testing.TB, path string) *sqlite.Readings {
	tb.Helper()
	s, err := sqlite.OpenReadings(context.Background(), path, sqlite.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := s.Close(); err != nil {
			tb.Error(err)
		}
	})
	return s
}

var noon = time.Date(2026, 11, 3, 12, 0, 0, 0, time.UTC)

// measured gives n readings, one a second, of three tanks in turn.
func measured(n int) []watch.Reading {
	list := make([]watch.Reading, n)
	for i := range list {
		at := noon.Add(time.Duration(i) * time.Second)
		list[i] = watch.Reading{
			Tank: []string{"fresh", "grey", "gas"}[i%3], Source: "mqtt", Time: at, Arrived: at.Add(2 * time.Second), Value: 100 + float64(i)/10,
		}
	}
	return list
}

func all(tb testing.TB, s *sqlite.Readings) []watch.Reading {
	tb.Helper()
	list, err := s.Recent(context.Background(), time.Time{})
	if err != nil {
		tb.Fatal(err)
	}
	return list
}

func sameReading(a, b watch.Reading) bool {
	tilts := a.Tilt == nil && b.Tilt == nil || a.Tilt != nil && b.Tilt != nil && *a.Tilt == *b.Tilt
	times := a.Time.Equal(b.Time) && a.Arrived.Equal(b.Arrived)
	values := math.Float64bits(a.Value) == math.Float64bits(b.Value)
	a.Tilt, a.Time, a.Arrived, a.Value, b.Value = b.Tilt, b.Time, b.Arrived, 0, 0
	return tilts && times && values && a == b
}

func sameReadings(tb testing.TB, got, want []watch.Reading) {
	tb.Helper()
	if len(got) != len(want) {
		tb.Fatalf("%d readings; want %d", len(got), len(want))
	}
	for i := range got {
		if !sameReading(got[i], want[i]) {
			tb.Fatalf("reading %d:\ngot  %+v\nwant %+v", i, got[i], want[i])
		}
	}
}

func TestReadingsEach(t *testing.T) {
	t.Parallel()
	s := openedReadings(t, filepath.Join(t.TempDir(), "watch.db"))
	list := measured(10_000) // more than a row
	for rest := list; len(rest) > 0; {
		n := min(len(rest), 1+rand.IntN(5000))
		if n%7 == 0 {
			n = 1 // and many that are small
		}
		if err := s.Keep(rest[:n]); err != nil {
			t.Fatal(err)
		}
		if rest = rest[n:]; len(rest) < 6000 { // lines of more than a chunk are sealed, others not
			if err := s.Seal(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
	}
	for i := range 200 {
		late := list[i]
		late.Source = "late"
		if err := s.Keep([]watch.Reading{late}); err != nil {
			t.Fatal(err)
		}
		list = append(list, late)
	}
	slices.SortStableFunc(list, func(a, b watch.Reading) int { return a.Time.Compare(b.Time) })
	from, to := noon.Add(50*time.Second), noon.Add(9000*time.Second)
	for _, c := range []struct {
		from, to time.Time
		tank     string
	}{{}, {from, to, ""}, {from, time.Time{}, "grey"}, {time.Time{}, to, "gas"}, {to, from, ""}, {from, from.Add(time.Nanosecond), ""}, {tank: "none"}} {
		var got, want []watch.Reading
		for _, r := range list {
			if (c.tank == "" || r.Tank == c.tank) && (c.from.IsZero() || !r.Time.Before(c.from)) && (c.to.IsZero() || r.Time.Before(c.to)) {
				want = append(want, r)
			}
		}
		if err := s.Each(t.Context(), c.from, c.to, c.tank, func(r watch.Reading) error { got = append(got, r); return nil }); err != nil {
			t.Fatal(err)
		}
		sameReadings(t, got, want)
	}
	mine := errors.New("enough")
	n := 0
	if err := s.Each(t.Context(), from, to, "", func(watch.Reading) error { n++; return mine }); err != mine || n != 1 {
		t.Errorf("after %d: %v", n, err)
	}
}

// keeper keeps readings for ever and prints the number of each list that was
// kept.
func keeper(path string) error {
	s, err := sqlite.OpenReadings(context.Background(), path, sqlite.Options{})
	if err != nil {
		return err
	}
	begun := time.Now()
	for n := 0; ; n++ {
		list := measured(1 + n%50)
		for i := range list {
			list[i].Source = fmt.Sprint(begun.UnixNano(), "-", n)
			list[i].Value = float64(len(list))
		}
		if err := s.Keep(list); err != nil {
			return err
		}
		fmt.Println(list[0].Source)
	}
}

// TestReadingsKilled kills a process that keeps readings, again and again. Each
// list that it told of is there, whole and once, and so is any other. (What a
// power cut leaves rests on SQLite's full synchronisation, and isn't tested by
// this.)
func TestReadingsKilled(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "watch.db")
	const kills = 10
	var told []string
	for range kills {
		cmd := child(t, "keeper", path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for first := true; lines.Scan(); first = false {
			if told = append(told, lines.Text()); first {
				time.AfterFunc(time.Duration(rand.IntN(80_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
			}
		}
		_ = cmd.Wait() // it was killed
	}
	s := openedReadings(t, path)
	if err := s.Sound(t.Context()); err != nil {
		t.Fatal(err)
	}
	there, whole := map[string]int{}, map[string]int{}
	for _, r := range all(t, s) {
		there[r.Source]++
		whole[r.Source] = int(r.Value)
	}
	for name, n := range there {
		if n != whole[name] {
			t.Errorf("%d readings of %s; want %d", n, name, whole[name])
		}
	}
	for _, name := range told {
		if there[name] == 0 {
			t.Errorf("what was told as kept isn't there: %q", name)
		}
	}
	if len(told) < kills || len(there) > len(told)+kills {
		t.Errorf("%d lists were told, %d are there, after %d kills", len(told), len(there), kills)
	}
	t.Logf("%d lists, %d told, %d kills", len(there), len(told), kills)
}

// TestReadingsPython has Python's SQLite and struct read what isn't sealed by what the
// hot row's description says.
func TestReadingsPython(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "watch.db")
	s := openedReadings(t, path)
	list := measured(100)
	list[3].Tilt = &watch.Tilt{Pitch: 0.25, Roll: -0.5}
	list[4].Arrived = list[4].Time
	list[5].Arrived = time.Time{}
	list[6].Signal, list[6].Said, list[6].Clock, list[6].Value = watch.Percent, watch.Broken, watch.ArrivalClock, 0
	list[7].Value = 1e300
	if err := s.Keep(list); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Integrity   string
		Application int64
		Readings    [][]any
	}
	peer.Python(t, []string{"sqlite3"}, `
import json, sqlite3, struct, sys
db = sqlite3.connect(json.load(sys.stdin)["Path"])
one = lambda q: db.execute(q).fetchone()[0]
lines = {n: rest for n, *rest in db.execute("SELECT number, tank, source, signal FROM line")}
out = []
for n, b in db.execute("SELECT number, body FROM hot ORDER BY number"):
    i = 1
    assert b[0] == 2
    def u():
        global i
        v = s = 0
        while True:
            c = b[i]; i += 1
            v |= (c & 127) << s; s += 7
            if c < 128: return v
    def z():
        v = u()
        return v >> 1 ^ -(v & 1)
    def byte():
        global i
        i += 1
        return b[i - 1]
    begin = z()
    while i < len(b) - 4:
        tank, source, signal = lines[u()]
        count = u()
        what = byte()
        what = [byte() for _ in range(count)] if what & 64 else [what] * count
        times, step = [begin + z()], 0
        for _ in range(count - 1):
            step += z(); times.append(times[-1] + step)
        value, values = 0, []
        for w in what:
            if w & 32:
                values.append(struct.unpack_from("<d", b, i)[0]); i += 8
            elif w & 3 == 0:
                value += z(); values.append(value / [10, 1000, 10, 100][signal])
            else:
                values.append(0)
        lags = [None] * count
        if any(w & 8 for w in what):
            each = byte()
            lag = None if each else z()
            lags = [(z() if each else lag) if w & 8 else None for w in what]
        tilts = [[z() / 1e4, z() / 1e4] if w & 16 else None for w in what]
        for w, t, v, lag, tilt in zip(what, times, values, lags, tilts):
            out.append([tank, source, signal, w & 3, w >> 2 & 1, t, lag, v, tilt])
    assert i == len(b) - 4
out.sort(key=lambda r: r[5])
print(json.dumps({"Integrity": one("PRAGMA integrity_check"), "Application": one("PRAGMA application_id"), "Readings": out}))
`, map[string]any{"Path": path}, &got)
	if got.Integrity != "ok" || got.Application != 0x47675774 || len(got.Readings) != len(list) {
		t.Fatalf("%s, %#x, %d readings", got.Integrity, got.Application, len(got.Readings))
	}
	for i, r := range list {
		lag, tilt := "<nil>", "<nil>"
		if !r.Arrived.IsZero() {
			lag = fmt.Sprint(int64(r.Arrived.Sub(r.Time).Seconds()))
		}
		if r.Tilt != nil {
			tilt = fmt.Sprint([]float64{float64(r.Tilt.Pitch), float64(r.Tilt.Roll)})
		}
		want := fmt.Sprint(r.Tank, " ", r.Source, " ", int(r.Signal), " ", int(r.Said), " ", int(r.Clock), " ", float64(r.Time.UnixMilli()), " ", lag, " ", r.Value, " ", tilt)
		if have := strings.Trim(fmt.Sprint(got.Readings[i]), "[]"); strings.Trim(want, "[]") != have {
			t.Errorf("reading %d: %s; want %s", i, have, want)
		}
	}
}

func TestOpenReadingsRefuses(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	jobs := filepath.Join(dir, "jobs.db")
	filled(t, jobs, 1)
	newer := filepath.Join(dir, "newer.db")
	if s, err := sqlite.OpenReadings(t.Context(), newer, sqlite.Options{}); err != nil || s.Close() != nil {
		t.Fatal(err)
	}
	altered(t, newer, "PRAGMA user_version = 99")
	for path, want := range map[string]string{dir: "watch.db", jobs: "another program", newer: "newer version", "": "the file of readings has no name"} {
		s, err := sqlite.OpenReadings(t.Context(), path, sqlite.Options{})
		if err == nil {
			s.Close()
		}
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "file of readings") {
			t.Errorf("%s: %v; want %q", path, err, want)
		}
	}
	refused(t, newer, "another program")
}

// TestReadingsDamaged changes one bit of a chunk.
func TestReadingsDamaged(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "watch.db")
	s := openedReadings(t, path)
	list := measured(15_000)
	if err := s.Keep(list); err != nil {
		t.Fatal(err)
	}
	if err := s.Seal(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var body []byte
	if err := db.QueryRow("SELECT body FROM chunk WHERE number = 1").Scan(&body); err != nil {
		t.Fatal(err)
	}
	body[len(body)/2] ^= 1
	if _, err := db.Exec("UPDATE chunk SET body = ?", body); err == nil {
		t.Error("a row was changed")
	}
	if _, err := db.Exec("DROP TRIGGER chunk_not_updated"); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("UPDATE chunk SET body = ? WHERE number = 1", body); err != nil {
		t.Fatal(err)
	}
	s = openedReadings(t, path)
	if _, err := s.Recent(t.Context(), time.Time{}); err == nil || !strings.Contains(err.Error(), "damaged (chunk 1: its checksum") {
		t.Errorf("%v", err)
	}
	if err := s.Sound(t.Context()); err == nil {
		t.Error("a damaged file is called sound")
	}
	// A reading that may be in it is kept rather than refused.
	if err := s.Keep(list[:1]); err != nil {
		t.Error(err)
	}
}

func BenchmarkKeep(b *testing.B) {
	for _, n := range []int{1, 100, 4000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s := openedReadings(b, filepath.Join(b.TempDir(), "watch.db"))
			list := measured(n)
			b.ReportAllocs()
			for b.Loop() {
				for i := range list {
					list[i].Time = list[i].Time.Add(time.Duration(n) * time.Second)
				}
				if err := s.Keep(list); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/reading")
		})
	}
}
