package contents

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gaugewright/internal/doubt"
)

// Known is a quantity with what is known of it: a value with the standard
// uncertainty U of a normal distribution and, beside that, a rectangular
// distribution that reaches Half to either side. Either may be 0.
type Known struct{ Value, U, Half float64 }

// KnownBetween gives a quantity that lies somewhere between two values, the
// lower first.
func KnownBetween(low, high float64) Known {
	return Known{Value: low + (high-low)/2, Half: (high - low) / 2}
}

// Ends gives the values between which the quantity lies with at least 95 %:
// two standard uncertainties and the whole half-width to either side.
func (k Known) Ends() Between {
	reach := doubt.UsualFactor*k.U + k.Half
	return Between{k.Value - reach, k.Value + reach}
}

// Standard gives the standard uncertainty of both distributions together.
func (k Known) Standard() float64 { return doubt.Combine(k.U, doubt.Rectangular(k.Half)) }

func (k Known) lastsDraw(random *rand.Rand) float64 {
	v := k.Value
	if k.U > 0 {
		v += k.U * random.NormFloat64()
	}
	if k.Half > 0 {
		v += k.Half * (2*random.Float64() - 1)
	}
	return v
}

// lastsCheck says what of a quantity can't be, shown in a person's unit.
func (k Known) lastsCheck(what string, most, factor float64, unit string) error {
	if err := loadsRange(what, Exactly(k.Value*factor), 0, most*factor, unit); err != nil {
		return err
	}
	if !(k.U >= 0 && k.U <= most) || !(k.Half >= 0 && k.Half <= most) {
		return fmt.Errorf("the uncertainty of the %s is %g %s and ±%g %s; expected 0 to %g %s", what, k.U*factor, unit, k.Half*factor, unit, most*factor, unit)
	}
	return nil
}

// Measure says what the figures of a supply count.
type Measure int

const (
	ByKilograms   Measure = iota // kg
	ByCubicMetres                // m³ of liquid
)

// lastsMost bounds a supply, in kg or m³: ten thousand tonnes.
const lastsMost = 1e7

// Supply is what a tank still holds, with what is needed to hold it against
// loads.
type Supply struct {
	Name string // what it is, for sentences: "gas", "water", "diesel"; "": "supply"
	By   Measure
	// Left is what is in the tank, in kg or m³, 0 or more.
	Left Known
	// Heel is what of it can't be drawn, in kg or m³.
	Heel Between
	// Density of the liquid in kg/m³; needed where a load counts otherwise than
	// the supply.
	Density float64
	// NetHeat and GrossHeat are heating values in J/kg, gross the greater; needed
	// for loads in watts.
	NetHeat, GrossHeat float64
}

func (s Supply) lastsName() string {
	if s.Name == "" {
		return "supply"
	}
	return s.Name
}

// Check says what of a supply can't be.
func (s Supply) Check() error {
	unit, factor := "kg", 1.0
	switch s.By {
	case ByKilograms:
	case ByCubicMetres:
		unit, factor = "L", 1000
	default:
		return fmt.Errorf("contents: measure %d", s.By)
	}
	if err := s.Left.lastsCheck("amount of "+s.lastsName()+" that is left", lastsMost, factor, unit); err != nil {
		return err
	}
	if err := loadsRange("heel of "+s.lastsName(), s.Heel.loadsTimes(factor), 0, lastsMost*factor, unit); err != nil {
		return err
	}
	if s.Density != 0 && !(s.Density >= 1 && s.Density <= 25_000) {
		return fmt.Errorf("the density of %s is %g kg/m³; expected 1 to 25000", s.lastsName(), s.Density)
	}
	if s.NetHeat != 0 || s.GrossHeat != 0 {
		if !(s.NetHeat >= 1e5 && s.GrossHeat >= s.NetHeat && s.GrossHeat <= 2e8) {
			return fmt.Errorf("the heating values of %s are %g net and %g gross J/kg; expected 1e5 to 2e8, gross no less than net", s.lastsName(), s.NetHeat, s.GrossHeat)
		}
	}
	return nil
}

// Usable gives what can be drawn at the least, in the middle and at the most:
// what is left, by the ends of [Known.Ends], less the heel, and never below 0.
func (s Supply) Usable() (low, mid, high float64) {
	ends := s.Left.Ends()
	return max(0, ends.Low-s.Heel.High), max(0, s.Left.Value-s.Heel.Mid()), max(0, ends.High-s.Heel.Low)
}

// lastsPer gives what one unit of a load's rate takes from the supply, in kg or
// m³: once where that is known, twice, for gross and for net, where a plate
// doesn't say which it counts.
func (s Supply) lastsPer(l Load) ([]float64, error) {
	perKg := 1.0 // of the supply
	if s.By == ByCubicMetres {
		if l.Kind <= KilogramsPerSecond {
			if s.Density == 0 {
				return nil, fmt.Errorf("%s is counted in kW or g/h and the %s in litres; state the density", l.loadsName(), s.lastsName())
			}
			perKg = 1 / s.Density
		}
	} else if l.Kind > KilogramsPerSecond {
		if s.Density == 0 {
			return nil, fmt.Errorf("%s is counted in litres and the %s in kilograms; state the density", l.loadsName(), s.lastsName())
		}
		return []float64{s.Density}, nil
	}
	if l.Kind != Watts {
		return []float64{perKg}, nil
	}
	if s.NetHeat == 0 {
		return nil, fmt.Errorf("%s is counted in kW, and the %s has no heating value; state what it draws in litres", l.loadsName(), s.lastsName())
	}
	switch l.Plate {
	case PlateNet:
		return []float64{perKg / s.NetHeat}, nil
	case PlateGross:
		return []float64{perKg / s.GrossHeat}, nil
	}
	if s.NetHeat == s.GrossHeat {
		return []float64{perKg / s.NetHeat}, nil
	}
	return []float64{perKg / s.GrossHeat, perKg / s.NetHeat}, nil
}

// Rate gives between what a load draws from the supply while it runs, in kg/s
// or m³/s: the least rate taken for gross heat, the greatest for net, where the
// plate doesn't say. It is an error for what is counted by the day or the use.
func (s Supply) Rate(l Load) (Between, error) {
	if err := s.lastsCheckLoad(l); err != nil {
		return Between{}, err
	}
	if l.Kind > CubicMetresPerSecond {
		return Between{}, fmt.Errorf("%s is counted by the day or by the use and has no rate while it runs", l.loadsName())
	}
	return s.lastsRate(l)
}

func (s Supply) lastsRate(l Load) (Between, error) {
	per, err := s.lastsPer(l)
	if err != nil {
		return Between{}, err
	}
	n := l.loadsCount()
	return Between{l.Rate.Low * per[0] * n, l.Rate.High * per[len(per)-1] * n}, nil
}

// PerDay gives between what a load takes in a day, in kg or m³, with everything
// at its least and everything at its most.
func (s Supply) PerDay(l Load) (Between, error) {
	if err := s.lastsCheckLoad(l); err != nil {
		return Between{}, err
	}
	rate, err := s.lastsRate(l)
	if err != nil {
		return Between{}, err
	}
	time, days := l.loadsTime(), l.loadsDays()
	return Between{rate.Low * time.Low * days.Low, rate.High * time.High * days.High}, nil
}

func (s Supply) lastsCheckLoad(l Load) error {
	if err := s.Check(); err != nil {
		return err
	}
	return l.Check()
}

// lastsMean gives the mean of what a load takes in a day: of independent
// factors, the product of their means.
func (s Supply) lastsMean(l Load, per []float64) float64 {
	sum := 0.0
	for _, p := range per {
		sum += p / float64(len(per))
	}
	v := l.Rate.Mid() * l.loadsTime().Mid() * l.loadsDays().Mid() * l.loadsCount() * sum
	if math.IsNaN(v) {
		panic("contents: a load without a mean")
	}
	return v
}
