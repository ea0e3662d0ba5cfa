package outlook

import "time"

// Coverage is that of every interval here: it holds the truth in nine of ten cases.
const Coverage = 0.90

// Farthest is how far the outlook reaches.
const Farthest = 400 * 24 * time.Hour

// Config is what is known of the people. The zero value is usual.
type Config struct {
	Zone *time.Location // whose days and hours; nil: UTC
	// Prior is the use that is expected before anything was seen, in parts of the full
	// scale a day, and PriorSpread how uncertain that is, as the standard deviation of
	// its logarithm; both 0: not known.
	Prior, PriorSpread float64
	// Fills says that what is drawn comes in: a tank of waste water, which lasts until
	// it is full.
	Fills bool
}

// Drawn is what was drawn in a stretch of time, with refills, drains and leaks taken
// out of it.
type Drawn struct {
	From, To time.Time
	Amount   float64 // in parts of the full scale; may be a little below 0, by its doubt
	U        float64 // its standard uncertainty
}

// Rate is a rate of use per day with its 90 % interval, in parts of the full scale.
// Known is false where nothing can be said yet; the figures are 0 then.
type Rate struct {
	Known          bool
	Low, Mid, High float64
}

// Standing is where a tank stands.
type Standing struct {
	Now      time.Time
	Level, U float64 // what is in it and its standard uncertainty, in parts of the full scale
	To       float64 // to what level it can be drawn, 0 where the scale's end is that; for a tank that fills up, the level at which it is full, usually 1
	Shown    bool    // that level can be believed
	Leak     float64 // what leaks besides the use, in parts of the full scale an hour; 0: nothing
	LeakU    float64 // its standard uncertainty; 0: an eighth of it
}

// Left is how long it lasts, with its 90 % interval. An end that isn't within
// Farthest is Farthest.
type Left struct {
	Known          bool
	Low, Mid, High time.Duration
}

// Outlook is how it goes on.
type Outlook struct {
	At   time.Time // from when
	Rate Rate      // of use, as it is now
	Left Left
	// FillBy is the last day on which it is safe to fill (nine times in ten it isn't
	// empty before the end of it), at its beginning in the zone. Where not even the
	// day of At is safe it is that day all the same. Zero where it isn't known or is
	// beyond Farthest. For a tank that fills up it is the day to empty it by.
	FillBy time.Time
	// Meals says that the use falls into one part of the day, so that people count by
	// that: "evenings"; "" where it doesn't, and they count by days.
	Meals string
	// Least and Most are how many of Meals, or where that is "" how many whole days, it is
	// enough for: at least and at most. 0, 0 where the time left isn't known.
	Least, Most int
	Fills       bool   // it is a tank that fills up
	Idle        bool   // the tank isn't in use at present, so far as the days show
	Days        int    // on how many whole days it rests
	Why         string // why nothing is known, in a sentence; "" where something is
}

// Day is the use of a day of the zone.
type Day struct {
	Day    time.Time // its beginning
	Amount float64
	U      float64
	Whole  bool // it was seen from its beginning to its end, gaps bridged
}

// Model is what is known of a tank's use. It isn't for several goroutines at once.
type Model struct {
	c    Config
	zone *time.Location

	days []day // by rising day, the newest open; at most keepDays
	last int64 // end of the newest stretch, Unix nanoseconds; 0: none
	lu2  float64
	// Over everything that was seen, for the mean.
	total, seconds float64
	slips          float64 // variance of total, but for the newest boundary's

	hours [24]hour
	// at is the beginning and end of the day that was reckoned with last, in
	// seconds. It isn't kept.
	at        clock
	reckoning *reckoning // what Ahead made of the days, until the next Add
}

// keepDays is how many days are kept one by one; older ones are in the total alone.
const keepDays = 400

// New makes a model of which nothing is known yet.
func New(c Config) *Model {
	m := &Model{c: c, zone: c.Zone}
	if m.zone == nil {
		m.zone = time.UTC
	}
	return m
}
