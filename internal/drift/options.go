package drift

import (
	"fmt"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// UsualErrorRate is how often a sender that hasn't changed is said to have, where
// nobody chose another rate: 1 in 100 (common practice, no source).
const UsualErrorRate = 0.01

// Found is how probable it is that a change of the size stated as the least is
// found: 95 % (common practice, no source).
const Found = 0.95

// MostRows is how many places (marks, either sweep by itself) a later bench may
// have.
const MostRows = 500

// FloorScatter is the scatter of a reading that is taken, in parts of the
// record's span, where too few were repeated: 0.25 % (common practice, no
// source).
const FloorScatter = 0.0025

// FloorDF is how many degrees of freedom the scatter rests on at the least, the
// floor making up what the repeats lack: 8, which stands for a standard
// deviation that is itself good to a quarter (JCGM 100:2008, G.4.2).
const FloorDF = 8

// usualMeters are what an unstated meter is taken for: an electrician's in ohms,
// and for other signals a direct-voltage or current range of one (common
// practice, no source).
func usualMeter(signal curve.Signal) curve.Meter {
	if signal == curve.Ohms {
		return curve.MeterClasses["handheld"]
	}
	return curve.Meter{OfReading: 0.005, Digits: 2}
}

// Options changes how a later bench is judged. The zero value is the usual way.
type Options struct {
	// ErrorRate is how often a sender that hasn't changed may be said to have:
	// 0.0001 to 0.2; 0 stands for UsualErrorRate.
	ErrorRate float64
	// Seed begins the random numbers.
	Seed uint64
	// Record names what is compared with in the sentences: "the record" where it
	// is empty.
	Record string
	// RecordDay is when the record was made, for the sentences; zero where it
	// isn't known.
	RecordDay time.Time
}

func (o Options) rate() (float64, error) {
	switch {
	case o.ErrorRate == 0:
		return UsualErrorRate, nil
	case o.ErrorRate >= 0.0001 && o.ErrorRate <= 0.2:
		return o.ErrorRate, nil
	}
	return 0, fmt.Errorf("a rate of false alarms of %g can't be kept; expected 0.0001 to 0.2, such as 0.01", o.ErrorRate)
}

// record names the record in a sentence.
func (o Options) record() string {
	name := o.Record
	if name == "" {
		name = "the record"
	}
	if o.RecordDay.IsZero() {
		return name
	}
	return name + " of " + o.RecordDay.Format("2 January 2006")
}

// complete fills in what wasn't stated of a bench, and says what it was.
func complete(d curve.Doubts, signal curve.Signal, travel float64) (curve.Doubts, []string) {
	var taken []string
	if !d.Meter.Stated() {
		step := d.Meter.Step
		d.Meter = usualMeter(signal)
		d.Meter.Step = step
		taken = append(taken, fmt.Sprintf("a meter good to %s of the reading and %s digits", d.Meter.OfReading, quantity.Short(d.Meter.Digits, 1)))
	}
	if d.MarkHalfWidth == 0 && d.Pouring == nil {
		d.MarkHalfWidth = float64(span.UsualMarkDoubt) * travel
		taken = append(taken, "marks held to half a point")
	}
	return d, taken
}
