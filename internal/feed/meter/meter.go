package meter

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"math/rand/v2"
	"sync"
	"time"

	"gaugewright/internal/sitting"
)

// Options are for tests and for the workshop's log; the zero value is right.
type Options struct {
	Now  func() time.Time // time that samples bear; nil is time.Now
	Log  *slog.Logger     // nil logs nothing
	Dial func(context.Context, Setup) (io.ReadWriteCloser, error)
}

// Meter is one meter at the bench. Its methods may be called from anywhere, Run
// once at a time.
type Meter struct {
	setup Setup
	o     Options

	mu sync.Mutex
	id Identity

	each    func(sitting.Sample)
	last    sitting.Sample // that was handed on
	worked  bool           // the present connection has given something
	halfway bool           // the last connection ended within a line
	noQueue bool           // the meter doesn't answer SYST:ERR?
}

// New makes a meter of a setup, without connecting it. The error is that of
// [Setup.Check].
func New(setup Setup, o Options) (*Meter, error) {
	if err := setup.Check(); err != nil {
		return nil, err
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Dial == nil {
		o.Dial = dial
	}
	return &Meter{setup: setup, o: o}, nil
}

// Identity is who the meter said it is when it was last connected.
func (m *Meter) Identity() Identity {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.id
}

// Times between attempts to connect: common practice, no source.
const (
	firstWait = 500 * time.Millisecond
	mostWait  = 5 * time.Second
)

// Run connects the meter and hands on what it says, until ctx ends; that is
// the error it returns. It calls each from its own goroutine, one sample after
// another: every value, and every change of state once. A meter that can't be
// connected, is unplugged or says nothing for two seconds is Away at once, and
// stays so until it says something again; it is tried after half a second, then
// at doubled times up to five seconds, each shortened or lengthened at random
// by up to a fifth.
func (m *Meter) Run(ctx context.Context, each func(sitting.Sample)) error {
	m.each, m.last, m.worked, m.halfway, m.noQueue = each, sitting.Sample{}, false, false, false
	m.say(sitting.Opening, "is being connected")
	for wait := firstWait; ; {
		err := m.session(ctx)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		m.o.Log.Info("meter: not connected", "meter", m.setup.endpoint(), "err", err)
		if m.worked {
			wait = firstWait
		}
		t := time.NewTimer(wait - wait/5 + rand.N(2*wait/5))
		select {
		case <-t.C:
		case <-ctx.Done():
			t.Stop()
			return ctx.Err()
		}
		wait = min(2*wait, mostWait)
	}
}

// session is one connection from its making to its end. It hands on why it
// ended.
func (m *Meter) session(ctx context.Context) error {
	m.worked = false
	rw, err := connect(ctx, m.setup, m.o.Dial)
	if ctx.Err() != nil {
		if err == nil {
			rw.Close()
		}
		return ctx.Err()
	}
	if err != nil {
		m.say(sitting.Away, whyNot(m.setup, err))
		return err
	}
	l := newLink(rw)
	defer l.close()
	if m.setup.scpi() {
		err = m.converse(ctx, l)
	} else {
		err = m.listen(ctx, l)
	}
	var no misfit
	switch {
	case ctx.Err() != nil:
	case errors.As(err, &no):
		m.say(sitting.Unfit, no.words)
	default:
		m.say(sitting.Away, whyGone(err))
	}
	return err
}

// converse polls a SCPI meter until the connection ends.
func (m *Meter) converse(ctx context.Context, l *link) error {
	d := &dialogue{link: l, setup: m.setup, log: m.o.Log, noQueue: m.noQueue}
	id, err := d.begin(ctx)
	m.noQueue = d.noQueue
	if err != nil {
		return err
	}
	m.mu.Lock()
	m.id = id
	m.mu.Unlock()
	m.o.Log.Info("meter: connected", "meter", m.setup.endpoint(), "identity", id.String())
	for next := time.Now(); ; {
		a, err := d.value(ctx)
		if err == errSilent || err == errHalf {
			if m.last.State != sitting.Unfit { // at once, before it is asked why; but not in turns with the reason
				m.say(sitting.Away, whyGone(err))
			}
			if words := d.why(ctx); words != "" {
				err = misfit{words}
			}
		}
		if err != nil {
			if ctx.Err() != nil {
				d.part()
			}
			return err
		}
		m.hand(a)
		// A slow meter isn't hurried to catch up, and always has a moment in
		// which to show that it sends more than it was asked for.
		next = next.Add(m.setup.pace())
		if soonest := time.Now().Add(breath); next.Before(soonest) {
			next = soonest
		}
		stray, err := l.rest(ctx, time.Until(next))
		if err == nil && stray {
			err = d.resume(ctx)
			next = time.Now()
		}
		if err != nil {
			if ctx.Err() != nil {
				d.part()
			}
			return err
		}
	}
}

// hand passes an answer on.
func (m *Meter) hand(a answer) {
	m.worked = true
	if a.state != sitting.Reading {
		m.say(a.state, a.words)
		return
	}
	m.pass(sitting.Sample{State: sitting.Reading, Value: a.value})
}

// say passes a state on that is no reading, once: again only after another, or
// with other words.
func (m *Meter) say(state sitting.State, words string) {
	words = m.setup.who() + " " + words + "."
	if m.last.State == state && m.last.Words == words {
		return
	}
	m.pass(sitting.Sample{State: state, Words: words})
}

func (m *Meter) pass(s sitting.Sample) {
	s.At, s.Signal = m.o.Now(), m.setup.Signal
	m.last = s
	m.each(s)
}

// whyGone says for a person why a connection ended that had been made.
func whyGone(err error) string {
	switch {
	case errors.Is(err, errHalf):
		return "stopped in the middle of a value; look at its cable"
	case errors.Is(err, errBroken):
		return "was cut off in the middle of a value; look at its cable"
	case errors.Is(err, errLost):
		return "is cut off; look at its cable and its switch"
	case errors.Is(err, errMute):
		return "sends nothing; look at its cable and its switch, and whether it is set to send"
	}
	return "doesn't answer; look at its cable and its switch, and whether it is set to be asked by SCPI"
}
