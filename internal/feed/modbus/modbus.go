package modbus

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/port"
)

// wire is an open connection: a [net.Conn] or a [port.Port].
type wire interface {
	Read([]byte) (int, error)
	Write([]byte) (int, error)
	SetDeadline(time.Time) error
	Close() error
}

// Feed polls one device, or one line with several units on it.
type Feed struct {
	name           string
	place          place
	every, timeout time.Duration
	items          []item
	dial           func(context.Context) (wire, error)
}

// New makes a feed of the table [modbus.NAME]. The error names the key, what it
// has, and what was expected.
func New(name string, c Config) (feed.Feed, error) {
	table := "modbus." + name
	f := &Feed{name: "modbus/" + name}
	var key string
	var err error
	if f.place, key, err = c.place(); err != nil {
		return nil, fmt.Errorf("%s.%s: %w", table, key, err)
	}
	if f.every, f.timeout, key, err = c.times(); err != nil {
		return nil, fmt.Errorf("%s.%s: %w", table, key, err)
	}
	if len(c.Read) == 0 || len(c.Read) > mostReads {
		return nil, fmt.Errorf("%s.read: there are %d; expected 1 to %d tables [[%s.read]] that say which register is whose", table, len(c.Read), mostReads, table)
	}
	highest := 247
	if !f.place.rtu() {
		highest = 255
	}
	for n, r := range c.Read {
		i, key, err := c.item(r, highest)
		if err == nil && slices.ContainsFunc(f.items, func(other item) bool { return other.tank == i.tank }) {
			key, err = "tank", fmt.Errorf("%q is there twice; a second source of a tank is a table [modbus.…] of its own", i.tank)
		}
		if err != nil {
			return nil, fmt.Errorf("%s.read, the %d. table, %s: %w", table, n+1, key, err)
		}
		f.items = append(f.items, i)
	}
	f.dial = f.connect
	return f, nil
}

// Name is "modbus/NAME".
func (f *Feed) Name() string { return f.name }

// Run polls until the context ends. A tank that nobody watches is an error.
func (f *Feed) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	for _, i := range f.items {
		if !to.Knows(i.tank) {
			return fmt.Errorf("%s: no tank %q is watched; write its table [tank.%s], or look at the spelling", f.name, i.tank, i.tank)
		}
	}
	feed.Again(ctx, tell, func(ctx context.Context) error { return f.poll(ctx, to, tell) })
	return nil
}

func (f *Feed) connect(ctx context.Context) (wire, error) {
	if f.place.scheme == "rtu" {
		p, err := port.Open(ctx, f.place.serial)
		if err != nil {
			return nil, err
		}
		return p, nil
	}
	d := net.Dialer{
		Timeout:         max(f.timeout, 2*time.Second),
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 15 * time.Second, Interval: 5 * time.Second, Count: 3},
	}
	return d.DialContext(ctx, "tcp", f.place.host)
}

// poll asks a connection round after round, on the beat: a round that takes
// longer than the beat leaves out those that have passed. It returns when the
// connection is lost, or a whole round has gone without an answer.
func (f *Feed) poll(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	t, err := f.open(ctx, to)
	if err != nil {
		return err
	}
	defer func() { t.close() }()
	requests := plan(f.items)
	up := false
	timer := time.NewTimer(0)
	defer timer.Stop()
	next := time.Now()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-timer.C:
		}
		r := round{talk: t, to: to, source: f.name}
		requests, err = r.ask(requests)
		if up && !r.answered && errors.Is(err, errLost) && ctx.Err() == nil {
			// Many devices end a connection that was idle for a while, and take
			// the next one at once.
			t.close()
			if t, err = f.open(ctx, to); err != nil {
				return err
			}
			r = round{talk: t, to: to, source: f.name}
			requests, err = r.ask(requests)
		}
		if !up && r.answered {
			up = true
			tell.Up(f.place.String())
		}
		to.Offer(f.name, r.readings)
		if err != nil {
			return err
		}
		next = next.Add(f.every)
		if late := time.Since(next); late > 0 {
			next = next.Add((late/f.every + 1) * f.every)
		}
		timer.Reset(time.Until(next))
	}
}

// open makes a connection that ends with the context.
func (f *Feed) open(ctx context.Context, to feed.Sink) (*talk, error) {
	w, err := f.dial(ctx)
	if err != nil {
		return nil, err
	}
	t := &talk{wire: w, place: f.place, timeout: f.timeout, refused: func(why string, sample []byte) { to.Refused(f.name, why, bytes.Clone(sample)) }}
	t.stop = context.AfterFunc(ctx, func() { w.Close() })
	return t, nil
}
