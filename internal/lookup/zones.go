package lookup

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// NoLevel is what a table gives where there is no level to tell.
const NoLevel = -1

// Fault says why there is no level.
type Fault int

const (
	// Fine: there is a level.
	Fine Fault = iota
	// Short: so few ohms that the wire or the sender has a short.
	Short
	// Below: fewer ohms than were ever read, beyond what is held.
	Below
	// Above: more ohms than were ever read, beyond what is held.
	Above
	// Open: so many ohms that the wire or the sender is open.
	Open
	// NoCount: not a count that the converter can give.
	NoCount
)

var faults = [...]struct{ word, c, words string }{
	Fine:    {"none", "GW_FINE", "a level"},
	Short:   {"short", "GW_SHORT", "a short"},
	Below:   {"below_readings", "GW_BELOW", "fewer ohms than the sender was seen to give"},
	Above:   {"above_readings", "GW_ABOVE", "more ohms than the sender was seen to give"},
	Open:    {"open", "GW_OPEN", "an open wire"},
	NoCount: {"no_count", "GW_NO_COUNT", "not a count of this converter"},
}

// String gives the word used in files: "short".
func (f Fault) String() string { return faults[f].word }

// Limits are the ohms that part levels from faults: at Short or below a short,
// below Least and above Greatest beyond the readings, at Open or above an open
// wire. A Short below 0 says that a short can't be told from a level.
// Between Least and the least ohms read, and likewise at the other end, the level
// of the end is held.
type Limits struct{ Short, Least, Greatest, Open quantity.Ohm }

// What is held beyond the readings, in parts of the span of the sender, and
// from how many times the greatest ohms a wire counts as open (common practice,
// no source).
const (
	usualHold = 0.05
	usualOpen = 5
)

// UsualLimits are the limits for a sender of which only the curve is known: the
// end is held for 5 % of the span beyond the readings, five times the greatest ohms are an
// open wire, and half of what is left below the least a short.
func UsualLimits(c *curve.Curve) Limits {
	least, greatest := c.Range()
	hold := usualHold * c.Span()
	l := Limits{Short: -1, Least: max(0, least-hold), Greatest: greatest + hold}
	l.Open = max(usualOpen*greatest, l.Greatest)
	if l.Least > 0 {
		l.Short = l.Least / 2
	}
	return l
}

func (l Limits) check(least, greatest quantity.Ohm) error {
	if !(l.Short < l.Least && l.Least <= least && l.Greatest >= greatest && l.Open >= l.Greatest) || math.IsInf(float64(l.Greatest), 0) {
		return fmt.Errorf("the limits are short %s, least %s, greatest %s, open %s; they have to rise in this order, with the readings, %s to %s, between least and greatest",
			l.Short, l.Least, l.Greatest, l.Open, least, greatest)
	}
	return nil
}

func (l Limits) of(ohm float64) Fault {
	switch r := quantity.Ohm(ohm); {
	case r <= l.Short:
		return Short
	case r < l.Least:
		return Below
	case r >= l.Open && r > l.Greatest:
		return Open
	case r > l.Greatest:
		return Above
	}
	return Fine
}

// Zone is a stretch of counts, both ends within, that mean the same.
type Zone struct {
	From, To int
	Fault    Fault
}

// zonesOf gives the stretches from count 0 to the last.
func zonesOf(by []Fault) []Zone {
	var list []Zone
	for c, f := range by {
		if n := len(list); n > 0 && list[n-1].Fault == f {
			list[n-1].To = c
			continue
		}
		list = append(list, Zone{c, c, f})
	}
	return list
}
