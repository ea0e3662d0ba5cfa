package xdr

import (
	"fmt"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

func newTape() *feedtest.Tape { return &feedtest.Tape{Tanks: tanks, Say: said} }

// said is a reading as text: tank, value or what is said instead, tilt.
func said(r watch.Reading) string {
	value := fmt.Sprintf("%s %.5g %s", r.Tank, r.Value, [...]string{"ohm", "volt", "count", "%"}[r.Signal])
	if r.Said != watch.Measured {
		value = r.Tank + [...]string{" ?", " none", " broken"}[r.Said]
	}
	if r.Tilt != nil {
		value += fmt.Sprintf(" at %v %v", r.Tilt.Pitch, r.Tilt.Roll)
	}
	return value
}
