package station

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"sync/atomic"
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
	// Show gets readings as soon as they come in, before they are kept: those that
	// came while it was at work together, by their times. It is called by one
	// goroutine. The slice is good until it returns.
	Show func([]watch.Reading)
	// Kept gets readings once they are kept, a commit at a time. The slice is good
	// until it returns.
	Kept func([]watch.Reading)
	// Stands is called when the disk fails and when it works again: after how many
	// readings, and why it fails, nil where it works.
	Stands func(waiting int, err error)
	Log    *slog.Logger

	Most  int           // readings that may wait to be kept; 0: 65,536
	Every time.Duration // the least time between two commits; 0: none
	Retry time.Duration // between one try and the next while the disk fails, at first; 0: a second
}

const (
	// usualMost readings are some 10 MB.
	usualMost = 1 << 16
	// manyWait is how many readings are committed at once, however recent the last
	// commit is: a commit of many costs little more than one of few.
	manyWait = 4096
	// commitMost is how many readings there are in a commit, at the most.
	commitMost = 4 * manyWait
	// hurriedPart is by how much sooner a commit comes that a source waits for, and
	// hurriedMany of how many readings one comes at once then.
	hurriedPart = 10
	hurriedMany = 128
	// hurriedMost is how long a commit is away at the most that a source waits for.
	hurriedMost = 5 * time.Second
	// roomWithin is how long whoever hands over waits for room.
	roomWithin = 5 * time.Second
	// longestRetry is the longest pause between two tries, in Retry.
	longestRetry = 10
)

// Errors that readings get which aren't taken in. None of them was shown.
var (
	ErrStopped = errors.New("the watch is being stopped; the reading wasn't kept")
	ErrNoRoom  = errors.New("too many readings wait to be kept; this one wasn't taken in")
)

// Intake is where all feeds hand their readings over: a [feed.Sink]. They are
// shown at once, and kept with the next commit; only then is their sender told.
// While the disk fails they wait, and nobody is told anything.
type Intake struct {
	c        IntakeConfig
	refusals refusals
	beat     atomic.Int64 // when the committing goroutine last went round, ns since it began
	begun    time.Time

	mu      sync.Mutex
	queue   queue
	room    chan struct{} // closed when there may be room
	closed  bool
	hurried bool // a source waits
	soon    bool // commits come at once, as it is about to end
	state   IntakeState
	lost    map[string]uint64
	wake    chan struct{}
	stopped chan struct{} // closed when the last commit is done

	show   shower
	clocks clocks
	batch  []watch.Reading // of the committing goroutine
}

var _ interface {
	feed.Sink
	feed.Hurrier
} = (*Intake)(nil)

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
		c: c, refusals: refusals{log: c.Log, now: time.Now}, begun: time.Now(), room: make(chan struct{}), lost: map[string]uint64{},
		wake: make(chan struct{}, 1), stopped: make(chan struct{}),
	}
	in.show.begin(c.Show, c.Most)
	go in.commits()
	return in
}

// Take keeps readings, sooner than usual, and waits until they are; see [feed.Sink]. Where the
// context ends before, those that aren't being written are taken back, so that
// they aren't kept twice when they are sent again.
func (in *Intake) Take(ctx context.Context, readings []watch.Reading) error {
	kept := make(chan error, 1)
	number, err := in.add(ctx, readings, true, func(err error) { kept <- err })
	if err != nil {
		return err
	}
	select {
	case err := <-kept:
		return err
	case <-ctx.Done():
		in.mu.Lock()
		in.queue.drop(number)
		in.mu.Unlock()
		return ctx.Err()
	}
}

// Later has readings kept; see [feed.Sink].
func (in *Intake) Later(readings []watch.Reading, done func(error)) {
	if _, err := in.add(context.Background(), readings, false, done); err != nil {
		done(err)
	}
}

// Offer has readings kept that nobody can be asked for again; see [feed.Sink].
func (in *Intake) Offer(source string, readings []watch.Reading) {
	if len(readings) == 0 {
		return
	}
	readings = in.righted(readings)
	in.mu.Lock()
	if in.closed {
		in.loses(source, len(readings))
		in.mu.Unlock()
		return
	}
	for in.queue.offered > 0 && in.queue.offered+len(readings) > in.c.Most/4 {
		from, n := in.queue.dropOffered()
		if n == 0 {
			break // all of them are being written
		}
		in.loses(from, n)
	}
	if in.queue.readings+len(readings) > in.c.Most {
		in.loses(source, len(readings))
	} else {
		in.queue.add(call{readings: readings, source: source})
		in.stir()
	}
	in.mu.Unlock()
	in.show.put(readings)
}

// righted gives readings with the times of those put right whose source's clock is behind.
func (in *Intake) righted(readings []watch.Reading) []watch.Reading {
	righted, sources := in.clocks.right(readings)
	for _, source := range sources {
		in.refusals.add(source, behindClock, nil)
	}
	return righted
}

// loses counts what is lost. The lock is held.
func (in *Intake) loses(source string, n int) {
	if _, known := in.lost[source]; !known && len(in.lost) >= mostSources {
		source = "others"
	}
	in.lost[source] += uint64(n)
}

// Hurry says that a source can't send any more before it is acknowledged; see
// [feed.Hurrier].
func (in *Intake) Hurry() {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.hurried = true; in.queue.calls() > 0 {
		in.stir()
	}
}

// Soon has everything committed at once from now on: the watch is about to end,
// and those who wait for an acknowledgement hold it up.
func (in *Intake) Soon() {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.soon = true
	in.stir()
}

// add puts readings among those that wait, once there is room, and has them
// shown.
func (in *Intake) add(ctx context.Context, readings []watch.Reading, hurry bool, done func(error)) (number uint64, err error) {
	readings = in.righted(readings)
	in.mu.Lock()
	if !in.closed && in.full(len(readings)) {
		err = in.await(ctx, len(readings)) // with the lock, but while it waits
	}
	switch {
	case in.closed:
		err = ErrStopped
	case err == nil:
		number = in.queue.add(call{readings: readings, done: done})
		in.hurried = in.hurried || hurry
		in.stir()
	}
	in.mu.Unlock()
	if err == nil {
		in.show.put(readings)
	}
	return number, err
}

// full says whether so many more have no room. The lock is held.
func (in *Intake) full(n int) bool {
	return in.queue.calls() > 0 && (in.queue.readings+n > in.c.Most || in.queue.calls() >= in.c.Most)
}

// await waits for room.
func (in *Intake) await(ctx context.Context, n int) error {
	timer := time.NewTimer(roomWithin)
	defer timer.Stop()
	for !in.closed && in.full(n) {
		room := in.room
		in.mu.Unlock()
		var err error
		select {
		case <-room:
		case <-ctx.Done():
			err = ctx.Err()
		case <-timer.C:
			err = ErrNoRoom
		}
		in.mu.Lock()
		if err != nil {
			return err
		}
	}
	return nil
}

// stir wakes the committing goroutine where it may have to do something sooner
// than it thinks. The lock is held.
func (in *Intake) stir() {
	if in.queue.calls() <= 1 || in.queue.readings >= in.many() || in.hurried || in.soon || in.closed {
		select {
		case in.wake <- struct{}{}:
		default: // it is awake
		}
	}
}

// many is how many readings are committed at once.
func (in *Intake) many() int { return max(1, min(manyWait, in.c.Most/2)) }

// Knows says whether a tank is watched.
func (in *Intake) Knows(tank string) bool { return in.c.Knows == nil || in.c.Knows(tank) }

// Refused counts what is no reading; see [feed.Sink].
func (in *Intake) Refused(source, why string, sample []byte) { in.refusals.add(source, why, sample) }

// Refusals gives what was refused, the most frequent first.
func (in *Intake) Refusals() []Refusals { return in.refusals.list() }

// Close keeps what waits, has it shown, and ends the intake. What can't be kept
// then is told its senders, or counted as lost. Closing it again does nothing.
func (in *Intake) Close() {
	in.mu.Lock()
	in.closed = true
	in.stir()
	in.mu.Unlock()
	<-in.stopped
	in.show.end()
}
