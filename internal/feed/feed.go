package feed

import (
	"context"
	"time"

	"gaugewright/internal/watch"
)

// Sink is where a feed hands its readings over.
type Sink interface {
	// Take keeps the readings on disk and then watches them. They are on disk
	// when it returns nil; otherwise none of them is, and the source should be
	// asked to send them again.
	Take(ctx context.Context, readings []watch.Reading) error

	// Later is Take for those who can't wait: done is called once, from another
	// goroutine, and calls come in the order in which readings were handed over.
	// It returns at once unless too much is waiting, and then waits (which is how
	// a flood is slowed down at its source). The slice is the sink's from then on.
	Later(readings []watch.Reading, done func(error))

	// Refused counts what a source sent that is no reading, under a few plain
	// words: "not a number", "too long", "no tank of that name". The sample is
	// logged, cut short, now and then.
	Refused(source, why string, sample []byte)

	// Knows says whether a tank of this name is watched.
	Knows(tank string) bool
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
