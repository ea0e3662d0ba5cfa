package file

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// Config is one recorded history to be played.
type Config struct {
	// Path is the CSV file; see docs/replay.md for what it holds.
	Path string `toml:"path"`
	// Tank is the tank whose readings it has, by its name in the watch.
	Tank string `toml:"tank"`
	// Of is whose rows are taken, where the file has a column tank; those of the
	// tank that is named first unless given.
	Of string `toml:"of"`
	// Column is the one with what was read ("ohm", "volt", "count",
	// "level_pct"), where the file has several.
	Column string `toml:"column"`
	// Speed is how much faster than it was recorded it is played, 0.001 to a
	// million; 1 unless given. Times between readings are divided by it, so that
	// each reading bears the time at which it is handed over.
	Speed float64 `toml:"speed"`
	// Again begins anew at the end, for as long as the watch runs.
	Again bool `toml:"again"`
	// Longest is the longest time, as played, that nothing is handed over: longer
	// gaps of the recording are cut to it. 0: they are kept as they are.
	Longest feed.Duration `toml:"longest_gap"`
}

// Player plays one history.
type Player struct {
	name   string
	config Config
	now    func() time.Time
	wait   func(ctx context.Context, until time.Time) error
	ahead  feed.Handover
}

// New makes the feed of a history. The error says which key has what, and what
// was expected.
func New(name string, c Config) (feed.Feed, error) {
	if c.Speed == 0 {
		c.Speed = 1
	}
	switch {
	case c.Path == "":
		return nil, errors.New(`path isn't given; expected the CSV file to play, such as path = "lastweek.csv"`)
	case c.Tank == "":
		return nil, errors.New(`tank isn't given; expected the name of the tank that the readings are of, such as tank = "fresh"`)
	case !(c.Speed >= 0.001 && c.Speed <= 1e6):
		return nil, fmt.Errorf("speed is %g; expected 0.001 to 1000000, such as 60 for a minute in a second", c.Speed)
	}
	if info, err := os.Stat(c.Path); err != nil {
		return nil, fmt.Errorf("path: %w", err)
	} else if info.IsDir() {
		return nil, fmt.Errorf("path %s is a directory; expected a CSV file", c.Path)
	}
	return &Player{name: "file/" + name, config: c, now: time.Now, wait: wait}, nil
}

// Name gives "file/" and the name it was made with.
func (p *Player) Name() string { return p.name }

// Run plays the history until it or the context ends. It returns an error where
// the file can't be used.
func (p *Player) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	for {
		if err := p.play(ctx, to, tell); err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return err
		}
		if !p.config.Again || ctx.Err() != nil {
			break
		}
	}
	_ = p.ahead.Rest(ctx, to, p.told(tell)) // where it ends before, so does the watch
	<-ctx.Done()                            // a feed ends with the watch
	return nil
}

// most is how many readings are handed over at once: as many as a watch takes from
// others in one message.
const most = 1000

func (p *Player) play(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	f, err := os.Open(p.config.Path)
	if err != nil {
		return err
	}
	defer f.Close() // only read from
	h, err := recording.NewHistory(f, p.config.Path, recording.Options{Column: p.config.Column, Tank: p.config.Of})
	if err != nil {
		return err
	}
	tell.Up(p.config.Path)
	at := p.now() // of the reading handed over next
	var before int64
	var batch []watch.Reading
	for n := 0; ; n++ {
		row, err := h.Next()
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		ended := err != nil
		if !ended {
			if n > 0 {
				at = at.Add(p.gap(row.Time - before))
			}
			before = row.Time
		}
		// What is due is handed over together; the rest waits for its time.
		if len(batch) > 0 && (ended || len(batch) == most || at.After(p.now())) {
			if err := p.ahead.Hand(ctx, to, p.told(tell), batch); err != nil {
				return err
			}
			batch = nil
		}
		if ended {
			break
		}
		if err := p.wait(ctx, at); err != nil {
			return err
		}
		r := h.Reading(row, p.config.Tank)
		r.Time, r.Arrived, r.Source = at.UTC(), at.UTC(), p.name
		batch = append(batch, r)
	}
	p.refused(h, to)
	tell.Down(fmt.Errorf("the recording %s has ended", p.config.Path), 0)
	return nil
}

// gap is the time between two readings as it is played.
func (p *Player) gap(ns int64) time.Duration {
	d := time.Duration(float64(ns) / p.config.Speed)
	if longest := time.Duration(p.config.Longest); longest > 0 {
		d = min(d, longest)
	}
	return d
}

// told tells how a try to hand over again has gone.
func (p *Player) told(tell feed.Teller) func(err error, again time.Duration) {
	return func(err error, again time.Duration) {
		if err != nil {
			tell.Down(err, again)
		} else {
			tell.Up(p.config.Path)
		}
	}
}

// refused counts what of the file was no reading, once for each kind.
func (p *Player) refused(h *recording.History, to feed.Sink) {
	bad, _ := h.Unusable()
	for _, c := range bad {
		for range c.N {
			to.Refused(p.name, c.Why, []byte(c.Text))
		}
	}
	aside, _ := h.Aside()
	for _, c := range aside {
		for range c.N {
			to.Refused(p.name, c.Why, nil)
		}
	}
}

// wait waits until a time.
func wait(ctx context.Context, until time.Time) error {
	d := time.Until(until)
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
