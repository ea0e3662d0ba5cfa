package api

import (
	"context"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/history"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Watch is what programs may ask of a watch. It may be asked by many at once.
type Watch interface {
	// Tanks says what each tank is; always the same, in one order.
	Tanks() []TankAbout
	// Levels gives the level of each tank at a moment, in the order of Tanks. One of
	// which nothing came yet has the zero Time.
	Levels(now time.Time) []watch.Level
	// Counts says what came in for each tank, in the order of Tanks.
	Counts() []watch.Counts
	// Feeds says how each way stands by which readings come in.
	Feeds() []FeedState
	// Changed gives a channel that is closed when next a level, a feed or the
	// standing changes.
	Changed() <-chan struct{}
	// Past answers for what was; nil where nothing is kept.
	Past() history.Past
	// Flows answers for what came in and went out; nil where that isn't followed.
	Flows() Flows
	// Standing says how the watch itself stands.
	Standing() WatchState
	// Alarms holds the alarms; nil where there are none.
	Alarms() alarm.Board
}

// Taker takes readings that a program posts.
type Taker interface {
	// Post keeps the readings of a payload, as feed.Decode reads it, and says how many
	// they are. It returns when they are on disk. An error that the program may know
	// of is a [*Refusal].
	Post(ctx context.Context, tank string, payload []byte) (int, error)
}

// TankAbout is what doesn't change of a tank that is watched.
type TankAbout struct {
	Name      string // in the watch
	Label     string // for people; "": its name
	Contents  job.Contents
	Sentence  string              // says what 100 % means; "" where that isn't known
	Permitted quantity.Share      // where the permitted fill stands on the scale; 0: it isn't known, or is all of it
	Capacity  quantity.CubicMetre // of 100 % of the scale; 0: it isn't known
	Cautions  []string

	Job, JobTank string // "" where it is known by its end values alone
}

// FeedState is how one feed stands.
type FeedState struct {
	Name    string
	Up      bool
	Where   string
	Since   time.Time // connected or lost since then; zero: it has neither been up nor down
	Why     string    // why it was lost, where it isn't up
	Again   time.Time // when it will be tried again; zero: that isn't known
	Taken   uint64
	Refused []Tally
}

// Tally is how often something was, by the words for it.
type Tally struct {
	Why string
	N   uint64
}

// WatchState is how a watch itself stands, apart from any tank.
type WatchState struct {
	Started time.Time
	Failing string    // why readings can't be kept, "" where they are
	Since   time.Time // since when they can't
	Waiting int       // readings that wait to be kept
	Kept    uint64    // readings on disk
	Failed  uint64    // commits that failed; their readings weren't acknowledged
	Lost    []Tally   // what was lost for want of room
	Notes   []string  // what else people should know, in a sentence each
	Bytes   int64     // of the file of readings and what belongs to it; below 0: not known
	Commits Commits   // how long it took to keep readings
}

// CommitBounds are the upper bounds, in seconds, below which [Commits] counts.
var CommitBounds = []float64{0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10}

// Commits are how many commits there were and how long they took.
type Commits struct {
	N     uint64
	Sum   time.Duration
	Below []uint64 // for each of CommitBounds how many took at most that long; nil: none did
}

// Add counts one that took so long.
func (c *Commits) Add(took time.Duration) {
	if c.Below == nil {
		c.Below = make([]uint64, len(CommitBounds))
	}
	c.N++
	c.Sum += took
	for i, bound := range CommitBounds {
		if took.Seconds() <= bound {
			c.Below[i]++
		}
	}
}
