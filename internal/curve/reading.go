package curve

import (
	"fmt"
	"time"

	"gaugewright/internal/quantity"
)

// MarkUnit says how the true position was known on the bench.
type MarkUnit int

const (
	// Dial is a position read on a dial, a share 0..1 shown in percent.
	Dial MarkUnit = iota
	// Height is a float height in metres, shown in millimetres.
	Height
	// Volume is a quantity poured in cubic metres, shown in litres.
	Volume
	// Mass is a quantity weighed in kilograms.
	Mass
)

// MarkUnits lists every way a mark can be known.
var MarkUnits = []MarkUnit{Dial, Height, Volume, Mass}

var markUnits = [...]struct {
	column, symbol string
	si             float64 // what one shown unit is inside
	decimals       int     // enough to print any reasonable mark
	limit          float64 // the largest believable mark, as shown
}{
	Dial:   {"mark_pct", "%", 0.01, 2, 100},
	Height: {"mark_mm", "mm", 0.001, 1, 100_000},
	Volume: {"mark_l", "L", 0.001, 2, 1_000_000},
	Mass:   {"mark_kg", "kg", 1, 2, 1_000_000},
}

// Column gives the column and field name with its unit: "mark_pct".
func (u MarkUnit) Column() string { return markUnits[u].column }

// Symbol gives the unit as shown: "%", "mm", "L" or "kg".
func (u MarkUnit) Symbol() string { return markUnits[u].symbol }

// Limit gives the largest mark that is believed, in the shown unit.
func (u MarkUnit) Limit() float64 { return markUnits[u].limit }

// FromShown turns a mark in the shown unit into the one used inside.
func (u MarkUnit) FromShown(v float64) float64 {
	if u == Mass {
		return v
	}
	return v / (1 / markUnits[u].si) // 80/100 is the nearest float to 0.8; 80*0.01 is not
}

// ToShown turns a mark into its shown unit, exact to nine decimals, so that
// what was typed as 7 comes back as 7.
func (u MarkUnit) ToShown(mark float64) float64 {
	if u == Mass {
		return mark
	}
	return quantity.Round(mark/markUnits[u].si, 9)
}

// Text prints a mark as a person would say it: "80 %", "120 mm".
func (u MarkUnit) Text(mark float64) string {
	return quantity.Short(u.ToShown(mark), markUnits[u].decimals) + " " + u.Symbol()
}

// Figure prints a mark without its unit.
func (u MarkUnit) Figure(mark float64) string {
	return quantity.Short(u.ToShown(mark), markUnits[u].decimals)
}

// Sweep is the direction in which a mark was approached.
type Sweep int

const (
	// Unstated: nobody wrote down the direction.
	Unstated Sweep = iota
	// Up: the mark was approached from below.
	Up
	// Down: the mark was approached from above.
	Down
)

// String gives "up", "down" or "".
func (s Sweep) String() string { return [...]string{"", "up", "down"}[s] }

// ParseSweep reads "up", "down" or nothing.
func ParseSweep(text string) (Sweep, error) {
	switch text {
	case "":
		return Unstated, nil
	case "up":
		return Up, nil
	case "down":
		return Down, nil
	}
	return Unstated, fmt.Errorf("sweep %q is not known; expected up, down or nothing", text)
}

// Reading is one pair taken on the bench.
type Reading struct {
	Mark  float64      // share, m, m³ or kg, as the Sheet says
	Ohm   quantity.Ohm // at the sender's terminals, 0 or more, in the unit of the Sheet's Signal
	Sweep Sweep
	Time  time.Time // zero where not written down
	Note  string
	Line  int // where in the file it stood, from 1; 0 where there is no file
}

// Sheet is the readings of one sender, in the order they were taken.
type Sheet struct {
	Unit     MarkUnit
	Signal   Signal // what the Readings' Ohm is; ohms where nothing is said
	Readings []Reading
}

// Limits of what is believed of a sender; beyond them something was mistyped
// or the meter showed an overload.
const (
	// MaxOhm is far above any resistive level sender (the largest in common
	// use is a few hundred ohms; common practice, no source).
	MaxOhm quantity.Ohm = 100_000
	// MaxReadings keeps a sheet to what a bench can produce.
	MaxReadings = 100_000
)
