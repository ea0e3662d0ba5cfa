package file

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

// player makes a feed whose clock goes only where it waits.
func player(t *testing.T, text string, c Config) (*Player, *time.Time) {
	t.Helper()
	c.Path = filepath.Join(t.TempDir(), "history.csv")
	if err := os.WriteFile(c.Path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if c.Tank == "" {
		c.Tank = "fresh"
	}
	f, err := New("week", c)
	if err != nil {
		t.Fatal(err)
	}
	p := f.(*Player)
	clock := time.Date(2026, 11, 3, 9, 0, 0, 0, time.UTC)
	p.now = func() time.Time { return clock }
	p.wait = func(ctx context.Context, until time.Time) error {
		if until.After(clock) {
			clock = until
		}
		return ctx.Err()
	}
	return p, &clock
}

const four = "time,ohm,source\n2026-03-01T08:00:00Z,10,bay\n2026-03-01T08:00:20Z,30,bay\n2026-03-01T08:00:10Z,20,bay\nrubbish\n1970-01-01T00:00:00Z,9,bay\n2026-03-01T09:00:10Z,,bay\n"

func TestPlays(t *testing.T) { synctest.Test(t, plays) }

func plays(t *testing.T) {
	p, clock := player(t, four, Config{Speed: 10, Longest: feed.Duration(time.Minute)})
	begun := *clock
	s := &feedtest.Tape{Full: 1}
	if err := p.play(context.Background(), s, s); err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range s.Readings {
		if r.Tank != "fresh" || r.Source != "file/week" || r.Clock != watch.SourceClock || r.Arrived.IsZero() {
			t.Errorf("%+v", r)
		}
		got = append(got, fmt.Sprintf("%s=%g/%d", r.Time.Sub(begun), r.Value, r.Said))
	}
	// The last is an hour later: six minutes as played, cut to one.
	if want := "0s=10/0 1s=20/0 2s=30/0 1m2s=NaN/1"; strings.Join(got, " ") != want {
		t.Errorf("%s, want %s", strings.Join(got, " "), want)
	}
	if s.Counts["a time that can't be read"] != 1 || s.Counts["a clock that was never set"] != 1 {
		t.Errorf("refused %v", s.Counts)
	}
	if s.Ups != 2 || len(s.Downs) != 2 { // the disk, and the end
		t.Errorf("told %q", s.Told)
	}
}

// A feed ends with its context, at once, and not with an error.
func TestEnds(t *testing.T) {
	p, _ := player(t, four, Config{Again: true, Speed: 1e6})
	p.wait, p.now = wait, time.Now
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	s := &feedtest.Tape{}
	ended := make(chan error, 1)
	go func() { ended <- p.Run(ctx, s, s) }()
	select {
	case err := <-ended:
		if err != nil || len(s.Readings) < 5 {
			t.Errorf("%d readings, %v", len(s.Readings), err)
		}
	case <-time.After(time.Minute):
		t.Fatal("it goes on")
	}
	for i := 1; i < len(s.Readings); i++ {
		if s.Readings[i].Time.Before(s.Readings[i-1].Time) {
			t.Fatalf("reading %d goes back", i)
		}
	}
	if !math.IsNaN(s.Readings[3].Value) {
		t.Errorf("%+v", s.Readings[3])
	}
}

func TestNewRefuses(t *testing.T) {
	file := filepath.Join(t.TempDir(), "h.csv")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		config Config
		says   string
	}{
		{Config{Tank: "fresh"}, "path isn't given"},
		{Config{Path: file}, "tank isn't given"},
		{Config{Path: file, Tank: "fresh", Speed: -1}, "speed is -1"},
		{Config{Path: file, Tank: "fresh", Speed: math.NaN()}, "speed is NaN"},
		{Config{Path: file + ".no", Tank: "fresh"}, "no such file"},
		{Config{Path: filepath.Dir(file), Tank: "fresh"}, "directory"},
	} {
		if _, err := New("x", test.config); err == nil || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%+v: %v", test.config, err)
		}
	}
}

// A file that can't be used ends the feed with its reason.
func TestUnusableFile(t *testing.T) {
	p, _ := player(t, "when,what\n1,2\n", Config{})
	if err := p.Run(context.Background(), &feedtest.Tape{}, &feedtest.Tape{}); err == nil || !strings.Contains(err.Error(), "no time column") {
		t.Errorf("%v", err)
	}
}
