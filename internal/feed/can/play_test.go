package can

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

func played(t *testing.T, text, log string) *player {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bus.log")
	if err := os.WriteFile(path, []byte(log), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := New("can/boat", config(t, fmt.Sprintf("log = %q\n", path)+text))
	if err != nil {
		t.Fatal(err)
	}
	return f.(*player)
}

const fresh = "[[read]]\ntank = 'fresh'\npgn = 127505\ninstance = 0\nfluid = 'water'\n"

func TestPlay(t *testing.T) {
	const log = `(1436509052.249713) can0 19F21123#103E49DC050000FF
(1436509052.300000) can1 19F21123#10EE48DC050000FF
what
(1436509052.400000) can0 18FEFC23#FFBBFFFFFFFFFFFF
(1436509054.749713) can0 19F21123#10EE48DC050000FF R
can0 19F21123#10EE48DC050000FF
(0.5) can0 19F21123#10EE48DC050000FF
(4436509052.3) can0 19F21123#10EE48DC050000FF
(1436509053.5)  can0  19F21123   [8]  10 FF 7F FF FF FF FF FF
(1436509055.0) can0 20000008#0000000000000000
`
	p, s := played(t, "interface = 'can0'\n"+fresh, log), newTape()
	if err := p.Run(t.Context(), s, s); err != nil {
		t.Fatal(err)
	}
	s.All(t, "fresh can/boat 75%, fresh can/boat 74.68%, fresh can/boat none")
	for i, want := range []string{"2015-07-10T06:17:32.249713Z", "2015-07-10T06:17:34.749713Z", "2015-07-10T06:17:33.5Z"} {
		if r := s.Readings[i]; r.Time.Format(time.RFC3339Nano) != want || r.Clock != watch.SourceClock || !r.Arrived.IsZero() {
			t.Errorf("%+v, expected %s", r, want)
		}
	}
	s.Counted(t, map[string]int{
		"line without a frame":                                    1,
		"line without a time; record with candump -L":             1,
		"a clock that was never set":                              1,
		"a time that is yet to come":                              1,
		"bus error: a damaged frame":                              1,
		"level that no tank is configured for: spn 96, source 35": 1,
	})
	if s.Batches != 1 || strings.Join(s.Told, "; ") != "up "+p.config.Log {
		t.Errorf("%d batches, told %q", s.Batches, s.Told)
	}
	// The same again on the other bus, and on both.
	for bus, want := range map[string]int{"can1": 1, "": 4} {
		p, s := played(t, fmt.Sprintf("interface = %q\n", bus)+fresh, log), newTape()
		if err := p.Run(t.Context(), s, s); err != nil || len(s.Readings) != want {
			t.Errorf("%q: %d readings, %v; expected %d", bus, len(s.Readings), err, want)
		}
	}
}

func TestPlayBegins(t *testing.T) {
	p, s := played(t, "interface = 'can0'\nbegins = 2026-05-03T12:00:00Z\n"+fresh, "(000.100000)  can1  123   [0]\n(002.600000)  can0  19F21123   [8]  10 3E 49 DC 05 00 00 FF\n"), newTape()
	if err := p.Run(t.Context(), s, s); err != nil || len(s.Readings) != 1 {
		t.Fatalf("%v, %v", err, s.Readings)
	}
	if want := noon.Add(2250 * time.Millisecond); !s.Readings[0].Time.Equal(want) {
		t.Errorf("%v, expected %v", s.Readings[0].Time, want)
	}
}

// Played at a speed, each line waits for its time; a long gap is shortened, and a
// clock that goes back waits for nothing.
func TestPlaySpeed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		time.Sleep(time.Until(noon)) // which is after the log; it begins in 2000
		line := func(at float64) string { return fmt.Sprintf("(%f) can0 19F21123#103E49DC050000FF\n", 1436509052+at) }
		p := played(t, "speed = 2\n"+fresh, line(0)+line(10)+line(5)+line(7)+line(100_000)+line(100_001))
		s := newTape()
		done := make(chan error, 1)
		start := time.Now()
		go func() { done <- p.Run(t.Context(), s, s) }()
		for _, c := range []struct {
			after time.Duration
			want  int
		}{{0, 1}, {4900 * time.Millisecond, 1}, {5900 * time.Millisecond, 3}, {6100 * time.Millisecond, 4}, {65900 * time.Millisecond, 4}, {66200 * time.Millisecond, 5}} {
			time.Sleep(time.Until(start.Add(c.after)))
			synctest.Wait()
			// What has been taken is handed over before each pause, and so is the last.
			if got := s.Len(); got != c.want {
				t.Errorf("%d readings after %v, expected %d", got, c.after, c.want)
			}
		}
		if err := <-done; err != nil || len(s.Readings) != 6 || time.Since(start) != 66500*time.Millisecond {
			t.Errorf("%v; %d readings in %v", err, len(s.Readings), time.Since(start))
		}
	})
}

// A recording waits while nothing can be kept, and loses nothing.
func TestPlayDiskFull(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		time.Sleep(time.Until(noon)) // which is after the log; it begins in 2000
		var log strings.Builder
		for n := range 1200 {
			fmt.Fprintf(&log, "(%d.5) can0 19F21123#10%02X49DC050000FF\n", 1436509052+n, n&0x7F)
		}
		p, s := played(t, fresh, log.String()), newTape()
		s.Full = 2
		if err := p.Run(t.Context(), s, s); err != nil || len(s.Readings) != 1200 || s.Batches != 3 {
			t.Errorf("%v; %d readings in %d batches", err, len(s.Readings), s.Batches)
		}
		for i := 1; i < len(s.Readings); i++ {
			if s.Readings[i].Time.Sub(s.Readings[i-1].Time) != time.Second {
				t.Fatalf("reading %d is at %v after %v", i, s.Readings[i].Time, s.Readings[i-1].Time)
			}
		}
		want := "up LOG; down no room on the disk; down no room on the disk; up LOG"
		if got := strings.ReplaceAll(strings.Join(s.Told, "; "), p.config.Log, "LOG"); got != want {
			t.Errorf("told %q, expected %q", got, want)
		}
		s = newTape()
		s.Full = feedtest.Always
		ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
		defer cancel()
		if err := p.Run(ctx, s, s); err != nil || len(s.Readings) != 0 {
			t.Errorf("%v; %d readings", err, len(s.Readings))
		}
	})
}

func TestNoLog(t *testing.T) {
	f, err := New("can/boat", config(t, "log = '/no/such.log'\n"+fresh))
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Run(t.Context(), newTape(), newTape()); err == nil || !strings.Contains(err.Error(), "can/boat: log: open /no/such.log: no such file") {
		t.Error(err)
	}
	f, _ = New("can/boat", config(t, fmt.Sprintf("log = %q\n", t.TempDir())+fresh))
	if err := f.Run(t.Context(), newTape(), newTape()); err == nil || !strings.Contains(err.Error(), "is a directory") {
		t.Error(err)
	}
}
