package can

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// player plays a recorded log.
type player struct {
	name     string
	config   Config
	listener *listener

	first time.Time       // of the log's first line
	last  time.Time       // of the line before
	due   time.Time       // when the line is to be played
	batch []watch.Reading // not handed over yet
	ahead feed.Handover
}

// Bounds of playing.
const (
	longestGap = time.Minute // that is waited for
	mostAtOnce = 500         // readings that are handed over together
)

// Name is as it was given.
func (p *player) Name() string { return p.name }

// Run plays the log once, and returns at its end.
func (p *player) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	if err := p.listener.missing(to); err != nil {
		return err
	}
	file, err := os.Open(p.config.Log)
	if err != nil {
		return fmt.Errorf("%s: log: %w; expected a file that candump has recorded", p.name, err)
	}
	defer file.Close()
	tell.Up(p.config.Log)
	if err := p.play(ctx, file, to, tell); err != nil {
		return fmt.Errorf("%s: %s: %w", p.name, p.config.Log, err)
	}
	_ = p.ahead.Rest(ctx, to, p.told(tell)) // it ends with the context
	return nil
}

func (p *player) play(ctx context.Context, from io.Reader, to feed.Sink, tell feed.Teller) error {
	log := NewLogReader(from)
	p.first, p.last, p.due, p.batch = time.Time{}, time.Time{}, time.Now(), p.batch[:0]
	for ctx.Err() == nil {
		e, err := log.Next()
		var bad *LineError
		switch {
		case errors.As(err, &bad):
			to.Refused(p.name, bad.Err.Error(), bad.Text)
			continue
		case errors.Is(err, io.EOF):
			p.hand(ctx, to, tell)
			return nil
		case err != nil:
			p.hand(ctx, to, tell)
			return err
		}
		if p.first.IsZero() {
			p.first = e.Time
		}
		if p.config.Interface != "" && e.Interface != p.config.Interface {
			continue
		}
		p.pace(ctx, e.Time, to, tell)
		if !concerns(&e.Frame) {
			continue
		}
		had := len(p.batch)
		p.batch = p.listener.take(p.batch, &e.Frame, watch.Reading{Time: e.Time}, to)
		if len(p.batch) == had {
			continue
		}
		_, text := log.Line()
		p.dated(p.batch[had:], e.Time, func(why string) {
			p.batch = p.batch[:had]
			to.Refused(p.name, why, text)
		})
		if len(p.batch) >= mostAtOnce {
			p.hand(ctx, to, tell)
		}
	}
	return nil
}

// dated puts the time of their line to readings, or says why it can't be.
func (p *player) dated(list []watch.Reading, at time.Time, refuse func(why string)) {
	if at.IsZero() {
		refuse("line without a time; record with candump -L")
		return
	}
	if !p.config.Begins.IsZero() {
		at = p.config.Begins.Add(at.Sub(p.first))
	}
	at, clock, why := feed.When(time.Now(), at)
	if clock != watch.SourceClock {
		refuse(why)
		return
	}
	for i := range list {
		list[i].Time, list[i].Clock = at, clock
	}
}

// pace waits until a line is to be played.
func (p *player) pace(ctx context.Context, at time.Time, to feed.Sink, tell feed.Teller) {
	if at.IsZero() {
		return
	}
	if p.last.IsZero() {
		p.last = at
	}
	gap := at.Sub(p.last)
	p.last = at
	if p.config.Speed == 0 || gap <= 0 {
		return
	}
	p.due = p.due.Add(time.Duration(min(float64(gap)/p.config.Speed, float64(longestGap))))
	if wait := time.Until(p.due); wait > time.Millisecond {
		p.hand(ctx, to, tell)
		rest(ctx, time.Until(p.due))
	}
}

// hand hands the readings over: a recording can wait, and needn't.
func (p *player) hand(ctx context.Context, to feed.Sink, tell feed.Teller) {
	_ = p.ahead.Hand(ctx, to, p.told(tell), p.batch) // it ends with the context
	p.batch = nil                                    // the sink keeps it
}

// told tells how a try to hand over again has gone.
func (p *player) told(tell feed.Teller) func(err error, again time.Duration) {
	return func(err error, again time.Duration) {
		if err != nil {
			tell.Down(err, again)
		} else {
			tell.Up(p.config.Log)
		}
	}
}

// rest waits, or until the context ends.
func rest(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}
