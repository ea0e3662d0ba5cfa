package outlook

import "time"

// Coverage is that of every interval here: it holds the truth in nine of ten cases.
const Coverage = 0.90

// Config is what is known of the people. The zero value is usual.
type Config struct {
	Zone *time.Location // whose days and hours; nil: UTC
	// Prior is the use that is expected before anything was seen, in parts of the full
	// scale a day, and PriorSpread how uncertain that is, as the standard deviation of
	// its logarithm; both 0: not known.
	Prior, PriorSpread float64
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
	To       float64 // to what level it can be drawn, 0 where the scale's end is that; for a tank that fills up, 1
	Shown    bool    // that level can be believed
}

// Left is how long it lasts, with its 90 % interval. An end that isn't within
// Farthest is Farthest.
type Left struct {
	Known          bool
	Low, Mid, High time.Duration
}

// Farthest is how far the outlook reaches.
const Farthest = 400 * 24 * time.Hour

// Outlook is how it goes on.
type Outlook struct {
	At   time.Time // from when
	Rate Rate      // of use, as it is now
	Left Left
	// FillBy is the last day on which it is safe to fill (nine times in ten it isn't
	// empty before the end of it), at its beginning in the zone; zero where that isn't
	// known or is beyond Farthest.
	FillBy time.Time
	// Meals says that the use falls into one part of the day, so that people count by
	// that: "evenings"; "" where it doesn't, and they count by days.
	Meals string
	Days  int    // on how many whole days it rests
	Why   string // why nothing is known, in a sentence; "" where something is
}

// Day is the use of a day of the zone.
type Day struct {
	Day    time.Time // its beginning
	Amount float64
	U      float64
	Whole  bool // it was seen from its beginning to its end, gaps bridged
}

// Model is what is known of a tank's use. It isn't for several goroutines at once.
type Model struct{}

// New makes a model of which nothing is known yet.
func New(c Config) *Model { return &Model{} }

// Add takes in a stretch; each begins where the one before ended, or later.
func (m *Model) Add(d Drawn) {}

// Rate gives the use per day as it was over all that was seen.
func (m *Model) Rate() Rate { return Rate{} }

// Ahead gives how it goes on.
func (m *Model) Ahead(s Standing) Outlook { return Outlook{} }

// Days gives the use of the last days, at most so many, by rising day.
func (m *Model) Days(most int) []Day { return nil }

// ByHour gives the part of a day's use that falls into each hour of the day, and
// ByWeekday that of a week's into each weekday, from Sunday on; all 0 where too little
// is known.
func (m *Model) ByHour() [24]float64 { return [24]float64{} }

// ByWeekday: see ByHour.
func (m *Model) ByWeekday() [7]float64 { return [7]float64{} }

// MarshalBinary and UnmarshalBinary keep it.
func (m *Model) MarshalBinary() ([]byte, error) { return nil, nil }

// UnmarshalBinary is the reverse; an error changes nothing.
func (m *Model) UnmarshalBinary(b []byte) error { return nil }
