package station

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// Keeper keeps readings on disk, all of a list or none.
type Keeper interface {
	Keep([]watch.Reading) error
}

// IntakeConfig is what an [Intake] needs. The zero value of a field from Most on
// is its usual value.
type IntakeConfig struct {
	Keep  Keeper
	Knows func(tank string) bool
	// Out gets readings after they were kept: commit by commit as they were, and
	// those of one commit by their times. It is called by one goroutine. The slice
	// is good until it returns.
	Out func([]watch.Reading)
	Log *slog.Logger

	Most  int           // readings that may wait to be kept; 0: 65,536
	Least time.Duration // between one commit and the next; 0: none
	Retry time.Duration // between one try and the next while the disk fails; 0: a second
}

// usualMost readings are some 7 MB.
const usualMost = 1 << 16

// ErrStopped is what readings get that come after the intake was closed.
var ErrStopped = errors.New("the watch is being stopped; the reading wasn't kept")

// Intake is where all feeds hand their readings over: a [feed.Sink]. One
// goroutine keeps them: whatever came while the disk was busy is the next commit,
// so that a commit of one reading and one of thousands take nearly as long.
type Intake struct {
	c        IntakeConfig
	refusals refusals

	mu      sync.Mutex
	next    *batch        // what waits
	room    chan struct{} // closed when what waits has been taken
	closed  bool
	state   IntakeState
	spare   []*batch
	wake    chan struct{}
	out     chan *batch
	closing chan struct{}
	stopped chan struct{}
}

var _ feed.Sink = (*Intake)(nil)

// batch is what is kept in one commit.
type batch struct {
	readings []watch.Reading
	calls    []func(error)
}

// NewIntake starts an intake, which works until it is closed.
func NewIntake(c IntakeConfig) *Intake {
	if c.Most <= 0 {
		c.Most = usualMost
	}
	if c.Retry <= 0 {
		c.Retry = time.Second
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	in := &Intake{
		c: c, refusals: refusals{log: c.Log, now: time.Now}, next: new(batch), room: make(chan struct{}),
		wake: make(chan struct{}, 1), out: make(chan *batch, 1), closing: make(chan struct{}), stopped: make(chan struct{}),
	}
	go in.commit()
	go in.handOn()
	return in
}

// Take keeps readings and waits until they are kept; see [feed.Sink]. Where the
// context ends before, they may be kept all the same.
func (in *Intake) Take(ctx context.Context, readings []watch.Reading) error {
	kept := make(chan error, 1)
	if err := in.add(ctx, readings, func(err error) { kept <- err }); err != nil {
		return err
	}
	select {
	case err := <-kept:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Later has readings kept; see [feed.Sink].
func (in *Intake) Later(readings []watch.Reading, done func(error)) {
	if err := in.add(context.Background(), readings, done); err != nil {
		go done(err)
	}
}

// add puts readings among those that wait, once there is room.
func (in *Intake) add(ctx context.Context, readings []watch.Reading, done func(error)) error {
	in.mu.Lock()
	for !in.closed && len(in.next.calls) > 0 && (len(in.next.readings)+len(readings) > in.c.Most || len(in.next.calls) >= in.c.Most) {
		room := in.room
		in.mu.Unlock()
		select {
		case <-room:
		case <-ctx.Done():
			return ctx.Err()
		}
		in.mu.Lock()
	}
	if in.closed {
		in.mu.Unlock()
		return ErrStopped
	}
	in.next.readings = append(in.next.readings, readings...)
	in.next.calls = append(in.next.calls, done)
	if len(in.next.calls) == 1 {
		select {
		case in.wake <- struct{}{}:
		default: // it is awake
		}
	}
	in.mu.Unlock()
	return nil
}

// commit keeps what waits, until the intake is closed and nothing waits.
func (in *Intake) commit() {
	defer close(in.out)
	var last time.Time
	pause := in.c.Least
	for range in.wake {
		if wait := pause - time.Since(last); wait > 0 {
			select {
			case <-time.After(wait):
			case <-in.closing:
			}
		}
		b := in.take()
		if b == nil {
			continue
		}
		var err error
		if len(b.readings) > 0 {
			last = time.Now()
			err = in.c.Keep.Keep(b.readings)
			if pause = in.c.Least; err != nil {
				pause = max(in.c.Least, in.c.Retry)
			}
			in.note(len(b.readings), err)
		}
		for _, done := range b.calls {
			done(err)
		}
		if err != nil {
			in.giveBack(b)
			continue
		}
		in.out <- b
	}
}

// take takes what waits.
func (in *Intake) take() *batch {
	in.mu.Lock()
	defer in.mu.Unlock()
	if len(in.next.calls) == 0 {
		return nil
	}
	b := in.next
	if n := len(in.spare); n > 0 {
		in.next, in.spare = in.spare[n-1], in.spare[:n-1]
	} else {
		in.next = new(batch)
	}
	close(in.room)
	in.room = make(chan struct{})
	return b
}

func (in *Intake) giveBack(b *batch) {
	clear(b.readings)
	clear(b.calls)
	b.readings, b.calls = b.readings[:0], b.calls[:0]
	in.mu.Lock()
	defer in.mu.Unlock()
	in.spare = append(in.spare, b)
}

// handOn hands on what was kept.
func (in *Intake) handOn() {
	defer close(in.stopped)
	var o order
	for b := range in.out {
		if len(b.readings) > 0 && in.c.Out != nil {
			in.c.Out(o.put(b.readings))
		}
		in.giveBack(b)
	}
}

// Knows says whether a tank is watched.
func (in *Intake) Knows(tank string) bool { return in.c.Knows == nil || in.c.Knows(tank) }

// Refused counts what is no reading; see [feed.Sink].
func (in *Intake) Refused(source, why string, sample []byte) { in.refusals.add(source, why, sample) }

// Refusals gives what was refused, the most frequent first.
func (in *Intake) Refusals() []Refusals { return in.refusals.list() }

// Close keeps what waits, hands it on, and ends the intake. Closing it again
// does nothing.
func (in *Intake) Close() {
	in.mu.Lock()
	if !in.closed {
		in.closed = true
		close(in.room)
		in.room = make(chan struct{})
		close(in.wake)
		close(in.closing)
	}
	in.mu.Unlock()
	<-in.stopped
}
