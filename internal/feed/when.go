package feed

import (
	"time"

	"gaugewright/internal/watch"
)

// Earliest is the time before which no reading was taken: a clock that was never
// set begins at 1970 or 1980, and tells nothing.
var Earliest = time.Date(2015, 1, 1, 0, 0, 0, 0, time.UTC)

// Ahead is how far a source's clock may be ahead of this machine's.
const Ahead = 2 * time.Minute

// When says at what time a reading was taken that arrived at one and whose source
// said another (zero: it said none). A time that can't be is not believed: the
// time of arrival stands instead, and why says what was wrong with it.
func When(arrived, said time.Time) (at time.Time, clock watch.Clock, why string) {
	switch {
	case said.IsZero():
		return arrived, watch.ArrivalClock, ""
	case said.Before(Earliest):
		return arrived, watch.ArrivalClock, "a clock that was never set"
	case said.After(arrived.Add(Ahead)):
		return arrived, watch.ArrivalClock, "a time that is yet to come"
	}
	return said.UTC(), watch.SourceClock, ""
}
