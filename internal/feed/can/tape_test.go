package can

import (
	"fmt"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

var tanks = []string{"fresh", "grey", "diesel", "spare"}

func newTape() *feedtest.Tape { return &feedtest.Tape{Tanks: tanks, Say: said} }

// said is a reading as text: tank, source, value or what is said instead.
func said(r watch.Reading) string {
	value := fmt.Sprintf("%.4g%%", r.Value)
	if r.Said != watch.Measured || r.Signal != watch.Percent {
		value = [...]string{"?", "none", "broken"}[r.Said]
	}
	return fmt.Sprintf("%s %s %s", r.Tank, r.Source, value)
}
