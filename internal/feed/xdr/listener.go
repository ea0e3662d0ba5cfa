package xdr

import (
	"fmt"
	"math"
	"strings"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// listener picks the transducers that someone wants out of a stream of sentences.
// It isn't for several goroutines at once.
type listener struct {
	name        string
	bare        bool // sentences without a checksum are taken
	believes    bool // in the source's clock
	wanted      []*wanted
	clock       clock
	pitch, roll angle
	strangers   map[string]string // names that nobody wants, and how they are counted
}

// wanted is one transducer and who wants it.
type wanted struct {
	tank, name string
	kind       string              // a letter; "": any that may be a tank's
	generic    int                 // the watch.Signal of a generic value; -1: not said
	capacity   quantity.CubicMetre // 0: not said
}

// angle is pitch or roll, as it was last heard.
type angle struct {
	name    string
	value   quantity.Radian
	arrived time.Time
}

// tiltLasts is how long an angle tells how the vehicle stands (common practice, no
// source).
const tiltLasts = 10 * time.Second

// mostStrangers is how many transducers that nobody wants are named; any more are
// counted together.
const (
	mostStrangers = 32
	unasked       = "transducer that no tank is configured for: "
)

// missing names the first tank that isn't watched.
func (l *listener) missing(to feed.Sink) error {
	for _, w := range l.wanted {
		if !to.Knows(w.tank) {
			return fmt.Errorf("%s: read: there is no tank %s; expected one that has a table tank.%s", l.name, w.tank, w.tank)
		}
	}
	return nil
}

// line adds what a line says to the readings. The first line of a connection is
// often half of one, and then it isn't counted.
func (l *listener) line(into []watch.Reading, line []byte, toolong, first bool, arrived time.Time, to feed.Sink) []watch.Reading {
	refused := func(why string) []watch.Reading {
		if !first {
			to.Refused(l.name, why, line)
		}
		return into
	}
	if toolong {
		return refused("line too long")
	}
	if line[0] == '!' { // packed sentences, which carry ships and no tanks
		return into
	}
	s, err := Parse(line)
	if err != nil {
		return refused(err.Error())
	}
	if !s.Checked && !l.bare {
		return refused("no checksum")
	}
	if l.believes {
		l.clock.hear(s, arrived)
	}
	if s.Type != "XDR" {
		return into
	}
	list, err := Transducers(s)
	if err != nil {
		return refused(err.Error())
	}
	if s.Noise {
		to.Refused(l.name, "noise before a sentence, which was taken", line)
	}
	if s.Length > Longest {
		to.Refused(l.name, "more than 82 characters in a sentence, which was taken", line)
	}
	said := s.Tagged
	switch {
	case !l.believes:
		said = time.Time{}
	case said.IsZero():
		said = l.clock.at(arrived)
	}
	at, clock, why := feed.When(arrived, said)
	if why != "" {
		to.Refused(l.name, why, line)
	}
	for _, x := range list {
		l.turn(x, arrived, to)
	}
	r := watch.Reading{Source: l.name, Time: at, Arrived: arrived, Clock: clock, Tilt: l.tilt(arrived)}
	for _, x := range list {
		if l.take(&r, x, to) {
			into = append(into, r)
		}
	}
	return into
}

// take makes a reading of a transducer, where someone wants it.
func (l *listener) take(r *watch.Reading, x Transducer, to feed.Sink) bool {
	if len(x.Type) != 1 || !strings.Contains(readable, x.Type) {
		return false
	}
	w := l.wants(x)
	if w == nil {
		l.stray(x, to)
		return false
	}
	refused := func(why string) bool {
		to.Refused(l.name, why, []byte(x.String()))
		return false
	}
	scale, why := 1.0, ""
	if r.Signal, scale, why = w.meaning(x); why != "" {
		return refused(why)
	}
	r.Tank, r.Said, r.Value = w.tank, watch.Measured, 0
	if x.Value == "" {
		r.Said = watch.Unavailable
		return true
	}
	v, err := x.Number()
	if r.Value = v * scale; err != nil || math.IsInf(r.Value, 0) {
		return refused("not a number")
	}
	return true
}

// meaning says which signal a transducer's value is of and by what it is
// multiplied, or why not. The types and units are of the reference, but for U in
// V, and V in P which some converters send: those are from memory.
func (w *wanted) meaning(x Transducer) (signal watch.Signal, scale float64, why string) {
	switch {
	case x.Type == "G" && w.generic < 0:
		return 0, 0, "generic value without a signal in its table of read"
	case x.Type == "G":
		return watch.Signal(w.generic), 1, ""
	case x.Type == "U" && x.Unit == "V":
		return watch.Volt, 1, ""
	case (x.Type == "E" || x.Type == "V") && x.Unit == "P":
		return watch.Percent, 1, ""
	case x.Type == "V" && x.Unit == "M" && w.capacity == 0:
		return 0, 0, "volume without a capacity in its table of read"
	case x.Type == "V" && x.Unit == "M":
		return watch.Percent, 100 / float64(w.capacity), ""
	}
	return 0, 0, "unit that doesn't go with its type"
}

// wants finds who wants a transducer.
func (l *listener) wants(x Transducer) *wanted {
	for _, w := range l.wanted {
		if (w.kind == "" || w.kind == x.Type) && strings.EqualFold(w.name, x.Name) {
			return w
		}
	}
	return nil
}

// stray counts a transducer that nobody wants.
func (l *listener) stray(x Transducer, to feed.Sink) {
	key := x.Type + " " + x.Name[:min(len(x.Name), 40)]
	why, ok := l.strangers[key]
	switch {
	case ok:
	case len(l.strangers) >= mostStrangers:
		why = unasked + "others"
	default:
		why = unasked + key
		l.strangers[key] = why
	}
	to.Refused(l.name, why, []byte(x.String()))
}

// turn keeps an angle.
func (l *listener) turn(x Transducer, arrived time.Time, to feed.Sink) {
	if x.Type != "A" || x.Unit != "D" {
		return
	}
	for _, a := range [...]*angle{&l.pitch, &l.roll} {
		if !strings.EqualFold(a.name, x.Name) {
			continue
		}
		degrees, err := x.Number()
		switch {
		case x.Value == "":
		case err != nil || math.Abs(degrees) > 90:
			to.Refused(l.name, "pitch or roll that isn't within 90 degrees", []byte(x.String()))
		default:
			a.value, a.arrived = quantity.Radian(degrees*math.Pi/180), arrived
		}
	}
}

// tilt is how the vehicle stands, where both angles are fresh.
func (l *listener) tilt(now time.Time) *watch.Tilt {
	for _, a := range [...]*angle{&l.pitch, &l.roll} {
		if a.arrived.IsZero() || now.Sub(a.arrived).Abs() > tiltLasts {
			return nil
		}
	}
	return &watch.Tilt{Pitch: l.pitch.value, Roll: l.roll.value}
}

// String is the group as it is sent.
func (x Transducer) String() string { return x.Type + "," + x.Value + "," + x.Unit + "," + x.Name }
