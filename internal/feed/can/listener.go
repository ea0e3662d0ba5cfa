package can

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// listener picks the levels that someone wants out of all the frames of a bus.
// It isn't for several goroutines at once.
type listener struct {
	name      string
	fluid     [256][]*wanted // by the first byte of PGN 127505
	fuel      [2][]*wanted   // SPN 96 and 38
	strangers map[stranger]string
}

// wanted is one level and who wants it.
type wanted struct {
	tank     string
	address  *uint8              // of the device; nil: any
	devices  []device            // that have told it
	capacity quantity.CubicMetre // as configured; 0: not
	told     quantity.CubicMetre // the last one on the bus that was another
}

// stranger is a level that nobody wants: it is named, so that people can find
// what is on their bus.
type stranger struct {
	pgn  uint32
	what uint8 // the first byte of PGN 127505, or which fuel level
	from uint8
}

// mostStrangers is how many are named; any more are counted together.
const mostStrangers = 32

const (
	unasked = "level that no tank is configured for: "
	others  = unasked + "others"
)

// capacityApart is by how much of itself the capacity on the bus may differ from
// the configured one without a word, or by one step of 0.1 L (common practice, no
// source).
const capacityApart = 0.01

func newListener(name string) *listener {
	return &listener{name: name, strangers: map[stranger]string{}}
}

// missing names the first tank that isn't watched.
func (l *listener) missing(to feed.Sink) error {
	for _, list := range append(l.fluid[:], l.fuel[:]...) {
		for _, w := range list {
			if !to.Knows(w.tank) {
				return fmt.Errorf("%s: read: there is no tank %s; expected one that has a table tank.%s", l.name, w.tank, w.tank)
			}
		}
	}
	return nil
}

// concerns says whether a frame tells levels or trouble; of a busy bus few do.
func concerns(f *Frame) bool {
	if f.Kind != Data || !f.Extended {
		return f.Kind == Fault
	}
	pgn := f.ID >> 8 & 0x3FFFF
	return pgn == FluidLevelPGN || pgn == DashDisplayPGN // both go to everyone, so this is all of it
}

// take adds what a frame that concerns us says to the readings. Time, clock and
// arrival are put to them as given.
func (l *listener) take(into []watch.Reading, f *Frame, r watch.Reading, to feed.Sink) []watch.Reading {
	if f.Kind == Fault {
		if why := trouble(f); why != "" {
			to.Refused(l.name, why, f.Text())
		}
		return into
	}
	r.Signal = watch.Percent
	from := Identifier(f.ID).Source()
	if Identifier(f.ID).PGN() == FluidLevelPGN {
		return l.takeFluid(into, f, from, r, to)
	}
	levels, err := DecodeFuelLevels(f.bytes())
	if err != nil {
		to.Refused(l.name, "fuel level: "+err.Error(), f.Text())
		return into
	}
	for i, level := range [...]Level{levels.First, levels.Second} {
		w := l.wants(l.fuel[i], from)
		switch {
		case w != nil:
			into = l.reading(into, r, w, level, from, to)
		case level.Said == watch.Measured: // most send one of the two, and 0xFF for the other
			l.stray(stranger{DashDisplayPGN, uint8(i), from}, f, to)
		}
	}
	return into
}

func (l *listener) takeFluid(into []watch.Reading, f *Frame, from uint8, r watch.Reading, to feed.Sink) []watch.Reading {
	level, err := DecodeFluidLevel(f.bytes())
	if err != nil {
		to.Refused(l.name, "fluid level: "+err.Error(), f.Text())
		return into
	}
	w := l.wants(l.fluid[f.Data[0]], from)
	if w == nil {
		l.stray(stranger{FluidLevelPGN, f.Data[0], from}, f, to)
		return into
	}
	if apart := math.Abs(float64(level.Capacity - w.capacity)); level.Capacity > 0 && w.capacity > 0 && level.Capacity != w.told &&
		apart > max(capacityApart*float64(w.capacity), 1.5/capacityPerMetre3) {
		w.told = level.Capacity
		to.Refused(l.name, "capacity on the bus is another than the one configured",
			fmt.Appendf(nil, "%s: %v on the bus, %v configured", w.tank, level.Capacity, w.capacity))
	}
	return l.reading(into, r, w, level.Level, from, to)
}

// wants finds who wants a level from an address.
func (l *listener) wants(list []*wanted, from uint8) *wanted {
	for _, w := range list {
		if w.address == nil || *w.address == from {
			return w
		}
	}
	return nil
}

// reading adds a reading, unless it is of a device that doesn't count.
func (l *listener) reading(into []watch.Reading, r watch.Reading, w *wanted, level Level, from uint8, to feed.Sink) []watch.Reading {
	if r.Source = l.source(w, from, level.Said, r.Time, to); r.Source == "" {
		return into
	}
	r.Tank, r.Said, r.Value = w.tank, level.Said, level.Percent
	return append(into, r)
}

// stray counts a level that nobody wants.
func (l *listener) stray(s stranger, f *Frame, to feed.Sink) {
	why, ok := l.strangers[s]
	switch {
	case ok:
	case len(l.strangers) >= mostStrangers:
		why = others
	default:
		why = unasked + s.String()
		l.strangers[s] = why
	}
	to.Refused(l.name, why, f.Text())
}

// String names the level as its keys are written in the configuration.
func (s stranger) String() string {
	if s.pgn == FluidLevelPGN {
		return fmt.Sprintf("pgn %d, %v %d, source %d", FluidLevelPGN, Fluid(s.what>>4), s.what&0xF, s.from)
	}
	return fmt.Sprintf("spn %d, source %d", [...]int{FuelLevel1, FuelLevel2}[s.what], s.from)
}

// arrived is the frame of a reading that has just come from a bus.
func arrived(now time.Time) watch.Reading {
	return watch.Reading{Time: now, Arrived: now, Clock: watch.ArrivalClock}
}
