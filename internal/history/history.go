package history

import (
	"context"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Line is one run of readings: a tank's, from one source, of one signal.
type Line struct {
	Tank, Source string
	Signal       watch.Signal
}

// Bucket is what the readings of a line came to in a stretch of time.
type Bucket struct {
	From           time.Time // the stretch begins; it ends where the next one may begin
	N              int64     // readings with a value
	Min, Mean, Max float64   // in the signal's unit, rounded as readings are kept
}

// LevelBucket is what the levels of a tank came to in a stretch of time.
type LevelBucket struct {
	From time.Time
	N    int64 // levels that were shown
	// Of those: on the tank's scale, 0..1, to 0.0001.
	Min, Mean, Max quantity.Share
	// Low and High are the means of the ends of their 95 % intervals.
	Low, High quantity.Share
	// Without is for how many readings no level could be shown.
	Without int64
	// Worst is the worst status of the stretch.
	Worst watch.Status
}

// Stretch is the time that is asked for, in how many buckets at the most: 1 to
// 10,000. Buckets are of equal length, begin at a multiple of it in UTC, and are
// whole seconds long. Those with nothing in them are left out.
type Stretch struct {
	From, To time.Time // up to but without To
	Buckets  int
}

// Past answers for what was. It may be asked by many at once.
type Past interface {
	// Lines gives the runs of readings that there are of a tank.
	Lines(ctx context.Context, tank string) ([]Line, error)
	// Readings gives a line's readings, rolled up.
	Readings(ctx context.Context, l Line, s Stretch) ([]Bucket, error)
	// Levels gives a tank's levels, rolled up.
	Levels(ctx context.Context, tank string, s Stretch) ([]LevelBucket, error)
	// Events gives what happened from one time up to but without another, the latest
	// first and most of them at the most: to a tank, or to all and the watch itself
	// where tank is "".
	Events(ctx context.Context, tank string, from, to time.Time, most int) ([]Event, error)
	// Since gives the time of the first reading that is kept of a tank; zero where
	// there is none.
	Since(ctx context.Context, tank string) (time.Time, error)
}
