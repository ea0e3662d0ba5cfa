package simulated

import (
	"fmt"
	"math"
	"time"
)

// settling is a value that follows what it is set to with a first-order lag:
// value = to + (from - to)·exp(-t/lag).
type settling struct {
	from, to float64
	since    time.Time
}

func (s *settling) at(now time.Time, lag time.Duration) float64 {
	if lag <= 0 {
		return s.to
	}
	return s.to + (s.from-s.to)*math.Exp(-max(0, now.Sub(s.since).Seconds())/lag.Seconds())
}

func (s *settling) move(to float64, now time.Time, lag time.Duration) {
	s.from, s.to, s.since = s.at(now, lag), to, now
}

// measure gives a value as its display would have it: settled so far, with
// noise, in whole steps.
func (i *Instrument) measure(which int) float64 {
	v := i.values[which].at(i.o.Now(), i.o.Lag)
	if i.o.Noise > 0 {
		v += i.noise.NormFloat64() * i.o.Noise * i.o.Step
	}
	return math.Round(v/i.o.Step) * i.o.Step
}

// reply measures and gives the reply in the form NR3, or of a line.
func (i *Instrument) reply(which int) string {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.asked++
	lines := i.o.Lines > 0
	switch {
	case i.fault == Garble:
		return "\x15?#1.1.8"
	case i.fault == Volts && lines:
		return "1.184 VDC"
	case i.fault == Volts:
		return "+1.18400000E+00 VDC"
	case i.fault == NotANum:
		return "+9.91000000E+37"
	case i.open && lines:
		return "OL"
	case i.open:
		return "+9.90000000E+37"
	case lines:
		return fmt.Sprintf("%.*f", decimals(i.o.Step), i.measure(which))
	}
	return fmt.Sprintf("%+.8E", i.measure(which))
}

// decimals is how many a step needs.
func decimals(step float64) int { return max(0, int(math.Ceil(-math.Log10(step)-1e-9))) }
