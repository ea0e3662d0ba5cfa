package contents

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gaugewright/internal/quantity"
)

// Between is what a figure is known to lie between, both ends with it, every
// value there as likely as another (JCGM 100:2008, 4.3.7).
type Between struct{ Low, High float64 }

// Exactly gives the range of one value.
func Exactly(v float64) Between { return Between{v, v} }

// Mid gives the middle of the range.
func (b Between) Mid() float64 { return b.Low + (b.High-b.Low)/2 }

func (b Between) loadsDraw(random *rand.Rand) float64 {
	if b.Low == b.High {
		return b.Low // no random number: what is exact can't shift the others
	}
	return b.Low + random.Float64()*(b.High-b.Low)
}

func (b Between) loadsTimes(f float64) Between { return Between{b.Low * f, b.High * f} }

// RateKind says what a load's rate counts, and in which unit.
type RateKind int

const (
	Watts                RateKind = iota // heat in what it burns, W while it runs
	KilogramsPerSecond                   // kg/s while it runs
	CubicMetresPerSecond                 // m³/s while it runs
	CubicMetresPerDay                    // m³ a day, its hours counted already
	CubicMetresPerUse                    // m³ each time it is used
)

// loadsUnits are the units of the rates as a person sees them.
var loadsUnits = [...]struct {
	text   string
	factor float64 // of the unit shown in one SI unit
}{
	{"kW", 1e-3}, {"g/h", 3.6e6}, {"L/min", 6e4}, {"L a day", 1e3}, {"L a use", 1e3},
}

// Plate says what an appliance's rating in watts counts.
type Plate int

const (
	PlateUnknown Plate = iota // net or gross: the plate doesn't say
	PlateNet                  // the water of combustion as vapour (inferior, lower)
	PlateGross                // the water of combustion as liquid (superior, higher)
)

// loadsDay is a day in seconds.
const loadsDay = 86400.0

// Load is something that draws from a tank.
type Load struct {
	Name string
	// Rate is what one of them draws, in the unit of Kind; 0 or more. Of heat it
	// is what the fuel burnt gives, not what is left of it after losses.
	Rate Between
	Kind RateKind
	// Plate says what a rating in watts counts. Net and gross are 8.6 % apart for
	// propane; where the plate doesn't say, either is taken for as likely.
	Plate Plate
	// HoursPerDay is how long it runs on a day on which it is used, 0 to 24; not
	// for what is counted by the day or by the use.
	HoursPerDay Between
	// UsesPerDay is how often it is used on such a day; for what is counted by the
	// use alone.
	UsesPerDay Between
	// DaysShare is the part of the days on which it is used, 0 to 1; the zero
	// value stands for every day.
	DaysShare Between
	// Count is how many of them there are; 0 stands for one. They are taken to
	// run alike, which makes the range wider than if each went its own way.
	Count int
	// Practice says that the figures are common practice without a source.
	Practice bool
}

// loadsMost bounds what is read as a rate, in SI units: anything beyond is a
// slip of the unit (100 MW, 30 kg/s, 10 m³/s, 10 000 m³).
var loadsMost = [...]float64{1e8, 30, 10, 1e4, 1e4}

// Check says what of a load can't be: a rate that isn't a number of 0 or more,
// a range that falls, more than 24 hours a day.
func (l Load) Check() error {
	name := l.loadsName()
	if l.Kind < Watts || l.Kind > CubicMetresPerUse {
		return fmt.Errorf("contents: rate kind %d", l.Kind)
	}
	unit := loadsUnits[l.Kind]
	most := loadsMost[l.Kind]
	if err := loadsRange("rate of "+name, l.Rate.loadsTimes(unit.factor), 0, most*unit.factor, unit.text); err != nil {
		return err
	}
	switch l.Kind {
	case CubicMetresPerDay:
		if l.HoursPerDay != (Between{}) || l.UsesPerDay != (Between{}) {
			return fmt.Errorf("%s is counted by the day and has hours or uses per day as well; leave those out", name)
		}
	case CubicMetresPerUse:
		if l.HoursPerDay != (Between{}) {
			return fmt.Errorf("%s is counted by the use and has hours per day; state uses per day in their place", name)
		}
	default:
		if l.UsesPerDay != (Between{}) {
			return fmt.Errorf("%s is counted by the hour and has uses per day; state hours per day in their place", name)
		}
	}
	if err := loadsRange("hours per day of "+name, l.HoursPerDay, 0, 24, "h"); err != nil {
		return err
	}
	if err := loadsRange("uses per day of "+name, l.UsesPerDay, 0, 10_000, ""); err != nil {
		return err
	}
	if err := loadsRange("share of days of "+name, l.DaysShare.loadsTimes(100), 0, 100, "%"); err != nil {
		return err
	}
	if l.Plate < PlateUnknown || l.Plate > PlateGross {
		return fmt.Errorf("contents: plate %d", l.Plate)
	}
	if l.Plate != PlateUnknown && l.Kind != Watts {
		return fmt.Errorf("%s has a plate that counts net or gross heat, and its rate isn't heat; leave the plate out or state kW", name)
	}
	if l.Count < 0 || l.Count > 1000 {
		return fmt.Errorf("%s is there %d times; expected 1 to 1000", name, l.Count)
	}
	return nil
}

func (l Load) loadsName() string {
	if l.Name == "" {
		return "a load without a name"
	}
	return l.Name
}

func (l Load) loadsCount() float64 { return float64(max(1, l.Count)) }

// loadsTime gives how long, in seconds, or how often it draws in a day.
func (l Load) loadsTime() Between {
	switch l.Kind {
	case CubicMetresPerDay:
		return Exactly(1)
	case CubicMetresPerUse:
		return l.UsesPerDay
	}
	return l.HoursPerDay.loadsTimes(3600)
}

func (l Load) loadsDays() Between {
	if l.DaysShare == (Between{}) {
		return Exactly(1)
	}
	return l.DaysShare
}

// loadsRange holds a range, in the unit that a person sees, against its limits.
func loadsRange(what string, b Between, least, most float64, unit string) error {
	if unit != "" && unit != "%" {
		unit = " " + unit
	}
	show := func(v float64) string { return quantity.Short(v, 3) }
	switch {
	case math.IsNaN(b.Low) || math.IsNaN(b.High) || math.IsInf(b.Low, 0) || math.IsInf(b.High, 0):
		return fmt.Errorf("the %s isn't a number; expected %s to %s%s", what, show(least), show(most), unit)
	case b.Low > b.High:
		return fmt.Errorf("the %s is %s to %s%s; expected the lower figure first", what, show(b.Low), show(b.High), unit)
	case b.Low < least || b.High > most*(1+1e-12):
		found := show(b.Low)
		if b.High != b.Low {
			found += " to " + show(b.High)
		}
		return fmt.Errorf("the %s is %s%s; expected %s to %s%s", what, found, unit, show(least), show(most), unit)
	}
	return nil
}
