package vehicle

import (
	"fmt"
	"math"
	"time"
)

// Kind is a kind of fault.
type Kind uint8

// The kinds. Those up to Second bear on what is read; the others on when, and
// whether, it comes in.
const (
	Sound    Kind = iota
	Broken        // the wire is broken: the input reads By ohms, where 0 stands for its open value, and NaN for no value at all
	Shorted       // the wire is shorted
	Flicker       // a loose contact: open, shorted and well by turns
	Stuck         // the float is stuck
	Added         // a bad contact adds By ohms
	Spikes        // one reading in twenty is something else
	Disagree      // a second source, By ohms off, reads the same tank
	Gap           // nothing comes
	Doubled       // every reading comes twice
	Swapped       // readings come in pairs, the later one first
	Late          // readings come By seconds late, with their own time
	Unset         // the clock begins at 1970
	Ahead         // the clock is at 2100
	Stepped       // the clock is By seconds off
	kinds
)

var kindWords = [kinds]string{"", "break", "short", "flicker", "stick", "resist", "spike", "second", "gap", "double", "swap", "late", "clock-1970", "clock-2100", "clock-step"}

// String gives the word by which a fault is asked for; "" for Sound.
func (k Kind) String() string {
	if k >= kinds {
		return "unknown"
	}
	return kindWords[k]
}

// Means says what a kind of fault is.
func (k Kind) Means() string {
	return [kinds]string{
		"nothing is amiss",
		"the wire is broken; the input reads its open value, or the ohms given, or nothing (null)",
		"the wire is shorted",
		"a loose contact: open, shorted and well by turns",
		"the float is stuck",
		"a bad contact adds the ohms given",
		"one reading in twenty is something else",
		"a second source, off by the ohms given, reads the same tank",
		"nothing comes",
		"every reading comes twice",
		"readings come in pairs, the later one first",
		"readings come late by the time given, with their own time",
		"the clock begins at 1970",
		"the clock is at 2100",
		"the clock is off by the time given",
	}[min(k, kinds-1)]
}

// Kinds lists the kinds of faults.
func Kinds() []Kind {
	out := make([]Kind, 0, kinds-1)
	for k := Broken; k < kinds; k++ {
		out = append(out, k)
	}
	return out
}

// amount is what a kind is measured in: "ohm", "time", or "" for nothing.
func (k Kind) amount() string {
	switch k {
	case Broken, Added, Disagree:
		return "ohm"
	case Late, Stepped:
		return "time"
	}
	return ""
}

// Fault is a fault of one tank's sender, wire, clock or connection.
type Fault struct {
	Tank     string
	Kind     Kind
	From, To time.Duration // after the start; To 0: until it is mended
	By       float64       // ohms or seconds, as the kind says
}

func (f Fault) check() error {
	switch {
	case f.Kind == Sound || f.Kind >= kinds:
		return fmt.Errorf("tank %s: a fault of an unknown kind", f.Tank)
	case f.From < 0 || f.To < 0 || f.To > 0 && f.To <= f.From:
		return fmt.Errorf("tank %s: %s from %v to %v; expected an end after its beginning", f.Tank, f.Kind, f.From, f.To)
	case math.IsInf(f.By, 0), math.IsNaN(f.By) && f.Kind != Broken, math.Abs(f.By) > 1e9:
		return fmt.Errorf("tank %s: %s by %g; expected a number", f.Tank, f.Kind, f.By)
	case f.By < 0 && (f.Kind == Broken || f.Kind == Late):
		return fmt.Errorf("tank %s: %s by %g; expected 0 or more", f.Tank, f.Kind, f.By)
	}
	return nil
}

// at says whether a fault is there at a time after the start.
func (f Fault) at(t time.Duration) bool { return t >= f.From && (f.To == 0 || t < f.To) }
