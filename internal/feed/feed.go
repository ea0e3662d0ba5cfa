package feed

import (
	"context"
	"time"

	"gaugewright/internal/watch"
)

// Sink is where a feed hands its readings over. They are watched at once, and kept
// on disk with the next commit, which may be some seconds away: who waits for it
// should have many readings on their way, or say that it waits (see [Hurrier]).
type Sink interface {
	// Take keeps the readings on disk, sooner than usual, as somebody waits for it.
	// They are when it returns nil; otherwise the source should be asked to send them
	// again. The slice is the sink's from then on.
	Take(ctx context.Context, readings []watch.Reading) error

	// Later is Take for those who can't wait: done is called once, and calls come in
	// the order in which readings were handed over. Where readings aren't taken in at
	// all it is called with an error before Later returns. It returns at once unless too much is waiting, and then waits (which is how
	// a flood is slowed down at its source) for some seconds. With an error none of
	// the readings counts. The slice is the sink's from then on.
	Later(readings []watch.Reading, done func(error))

	// Offer is for readings of a source that can't be asked again, such as a device
	// that is polled. It never waits for the disk. What can't be kept there for long
	// is lost, the oldest first, and counted under the source's name.
	Offer(source string, readings []watch.Reading)

	// Refused counts what a source sent that is no reading, under a few plain
	// words: "not a number", "too long", "no tank of that name". The sample is
	// logged, cut short, now and then.
	Refused(source, why string, sample []byte)

	// Knows says whether a tank of this name is watched.
	Knows(tank string) bool
}

// Hurrier is a [Sink] that can be told that a source waits for an acknowledgement
// and can't send any more before it has one.
type Hurrier interface {
	// Hurry has what waits committed sooner than usual.
	Hurry()
}

// Hurry tells a sink that a source waits, where the sink cares.
func Hurry(to Sink) {
	if h, ok := to.(Hurrier); ok {
		h.Hurry()
	}
}

// Feed is one way by which readings come in.
type Feed interface {
	// Name is unique among the feeds of a watch: "mqtt", "modbus/bay".
	Name() string
	// Run brings readings until the context ends. Lost connections are its own
	// business (see [Again]); it returns an error only where it can never work as
	// configured.
	Run(ctx context.Context, to Sink, tell Teller) error
}

// Teller is told how a feed's connection stands. It may be used by many at once.
type Teller interface {
	Up(where string)                     // connected: "127.0.0.1:502"
	Down(err error, again time.Duration) // lost or refused; it will be tried again after that long
}
