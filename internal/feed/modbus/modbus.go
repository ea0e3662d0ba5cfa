package modbus

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/port"
	"gaugewright/internal/watch"
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

	waiting []watch.Reading // that couldn't be kept yet
}

// mostWaiting is how many readings are held while they can't be kept; the
// oldest go first.
const mostWaiting = 1000

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
	w, err := f.dial(ctx)
	if err != nil {
		return err
	}
	stop := context.AfterFunc(ctx, func() { w.Close() })
	defer func() {
		if stop() {
			w.Close()
		}
	}()
	t := &talk{wire: w, place: f.place, timeout: f.timeout, refused: func(why string, sample []byte) { to.Refused(f.name, why, bytes.Clone(sample)) }}
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
		if !up && r.answered {
			up = true
			tell.Up(f.place.String())
		}
		f.keep(ctx, to, r.readings)
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

// keep hands readings over. Those that can't be kept are held and offered again
// with the next round.
func (f *Feed) keep(ctx context.Context, to feed.Sink, readings []watch.Reading) {
	all := append(f.waiting, readings...)
	f.waiting = nil
	if len(all) == 0 || to.Take(ctx, all) == nil {
		return
	}
	if n := len(all) - mostWaiting; n > 0 {
		for range n {
			to.Refused(f.name, "couldn't be kept", nil)
		}
		all = all[n:]
	}
	f.waiting = all
}

// round is one time through all the requests.
type round struct {
	talk     *talk
	to       feed.Sink
	source   string
	readings []watch.Reading
	answered bool
	silent   [256]bool // units that haven't answered in this round
}

// ask asks every request and gives what to ask the next time: where a device
// refuses registers asked for together, each is asked for by itself from then
// on. An error means that the connection is of no more use.
func (r *round) ask(requests []request) (next []request, err error) {
	var why error
	for n := 0; n < len(requests); n++ {
		q := requests[n]
		if r.silent[q.unit] {
			next = append(next, q)
			continue
		}
		data, err := r.talk.ask(q)
		now := time.Now()
		var refusal exception
		var bad badFrame
		switch {
		case err == nil:
			r.take(q, data, now)
		case errors.As(err, &refusal):
			if (refusal == 2 || refusal == 3) && len(q.items) > 1 {
				requests = append(append(requests[:n:n], q.split()...), requests[n+1:]...)
				n--
				continue
			}
			r.refuse(q, refusal, now)
		default:
			why = fmt.Errorf("unit %d: %w", q.unit, err)
			switch {
			case errors.As(err, &bad):
				r.to.Refused(r.source, bad.why, bytes.Clone(bad.what))
			case errors.Is(err, errNoAnswer):
				r.to.Refused(r.source, errNoAnswer.Error(), fmt.Appendf(nil, "unit %d", q.unit))
			default:
				return append(next, requests[n:]...), why
			}
			if bad.why != "" && !r.talk.place.rtu() {
				return append(next, requests[n:]...), why
			}
			if r.talk.secondChance(q.unit) {
				n--
				continue
			}
			r.silent[q.unit] = true
			next = append(next, q)
			continue
		}
		r.answered = true
		r.talk.answering[q.unit] = true
		next = append(next, q)
	}
	if !r.answered {
		return next, why
	}
	return next, nil
}

func (r *round) take(q request, data []byte, now time.Time) {
	for _, i := range q.items {
		b := q.registers(i, data)
		v, said, why := i.meaning.value(b)
		if why != "" {
			r.to.Refused(r.source, why, fmt.Appendf(nil, "%s: % x", i.tank, b))
		}
		r.read(i, v, said, now)
	}
}

// refuse counts an exception. The tank has no value then, unless the device
// only asks for patience or wasn't reached.
func (r *round) refuse(q request, e exception, now time.Time) {
	for _, i := range q.items {
		r.to.Refused(r.source, e.Error(), fmt.Appendf(nil, "%s: exception %d; %s", i.tank, byte(e), e.remedy()))
		if !e.passing() {
			r.read(i, 0, watch.Unavailable, now)
		}
	}
}

func (r *round) read(i item, v float64, said watch.Said, now time.Time) {
	r.readings = append(r.readings, watch.Reading{Tank: i.tank, Source: r.source, Time: now, Arrived: now, Clock: watch.ArrivalClock, Signal: i.meaning.signal, Said: said, Value: v})
}
