package contents

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// Kind is what sort of contents a tank has, by the same names as in a job file.
type Kind string

// The kinds of contents.
const (
	KindLPG    Kind = "lpg"
	KindWater  Kind = "water"
	KindDiesel Kind = "diesel"
	KindPetrol Kind = "petrol"
	KindWaste  Kind = "waste"
	KindOther  Kind = "other"
)

// Range is what a figure lies between, with a middle to reckon with where one
// figure is wanted. It says nothing of how likely its parts are.
type Range struct{ Low, Mid, High float64 }

// Known gives the range as a quantity that may lie anywhere in it.
func (r Range) Known() Known { return KnownBetween(r.Low, r.High) }

func matterBetween(low, high float64) Range { return Range{low, low + (high-low)/2, high} }

func matterExactly(v float64) Range { return Range{v, v, v} }

// each applies a function to the three figures and puts the results in order, the
// middle too: of nearly nothing its last digit may lie beyond an end.
func (r Range) each(f func(float64) float64) Range {
	a, b := f(r.Low), f(r.High)
	low, high := min(a, b), max(a, b)
	return Range{low, min(high, max(low, f(r.Mid))), high}
}

// matterLaw is how a density changes with temperature.
type matterLaw int

const (
	matterAsWater matterLaw = iota // in proportion to that of water
	matterAsFuel                   // by the volume correction of fuels
	matterAsUrea                   // by a range of expansions
)

// Matter is a liquid that a tank may hold, other than LPG. Its figures are what
// a standard allows or what is common, as [Matter.Mark] says, and so ranges: of
// one delivery no more is known until its density is measured, see
// [Matter.Measured].
type Matter struct {
	Name     string // as MatterOf reads it
	Title    string // for people, as it stands in a sentence
	Kind     Kind
	Standard string // that sets the limits of the density; "": none does
	Mark     string // where the density is from, and how far that was looked at
	Base     Range  // density in kg/m³ at BaseAt
	BaseAt   quantity.Kelvin
	// Net is the net (lower) heating value in J/kg; zero where it doesn't burn.
	Net     Range
	NetMark string // where Net is from
	// FreezesAt is the temperature at which it turns to ice; 0: not stated.
	FreezesAt quantity.Kelvin
	// Cautions are what to mind beside those that hold for every tank of a kind.
	Cautions []string

	law matterLaw
}

// MatterOf gives a liquid by its name or one of its other names, without regard
// to case, spaces and hyphens; "waste" is grey and black water. LPG is refused,
// since it is reckoned from its mixture, and so is what isn't known: then the
// density has to be stated.
func MatterOf(name string) (Matter, error) {
	wanted := matterPlain(name)
	if wanted == string(KindLPG) {
		return Matter{}, fmt.Errorf("lpg has no density of its own; state what it is mixed of")
	}
	var names []string
	for _, entry := range matterList {
		names = append(names, entry.matter.Name)
		if wanted == matterPlain(entry.matter.Name) {
			return entry.give(), nil
		}
		for _, other := range entry.others {
			if wanted == matterPlain(other) {
				return entry.give(), nil
			}
		}
	}
	return Matter{}, fmt.Errorf("no liquid called %q is known; expected one of: %s; or state its density", wording.Clip(name, 40), strings.Join(names, ", "))
}

// Matters gives every liquid that [MatterOf] knows.
func Matters() []Matter {
	var list []Matter
	for _, entry := range matterList {
		list = append(list, entry.give())
	}
	return list
}

func matterPlain(name string) string {
	return strings.NewReplacer(" ", "", "-", "", "_", "", ".", "", "%", "").Replace(strings.ToLower(name))
}

// Density gives the density in kg/m³ at a temperature. Where it is refused: for
// water and what is like it below 0 and above 100 °C, for fuels below −40 and
// above 90 °C, for urea solution below its freezing point and above 60 °C.
//
// Water: [WaterDensity]; a single figure, three times. Waste: as water, in
// proportion. Fuels: [VolumeCorrection]. Urea solution: linear in the
// temperature with a range of expansions.
func (m Matter) Density(at quantity.Kelvin) (Range, error) {
	if err := m.inRange(at); err != nil {
		return Range{}, err
	}
	return m.density(at), nil
}

func (m Matter) density(at quantity.Kelvin) Range {
	t := at.Celsius()
	switch m.law {
	case matterAsFuel:
		return m.Base.each(func(base float64) float64 { return base * fuelFactor(base, t) })
	case matterAsUrea:
		warmer := float64(at - m.BaseAt)
		return Range{
			m.Base.Low * (1 - max(ureaExpansion.Low*warmer, ureaExpansion.High*warmer)),
			m.Base.Mid * (1 - ureaExpansion.Mid*warmer),
			m.Base.High * (1 - min(ureaExpansion.Low*warmer, ureaExpansion.High*warmer)),
		}
	}
	part := matterWater(t) / matterWater(m.BaseAt.Celsius())
	return m.Base.each(func(base float64) float64 { return base * part })
}

// matterWater is the density of water where it is known to be in range.
func matterWater(celsius float64) float64 {
	d, err := WaterDensity(quantity.Celsius(min(waterHottest, max(waterColdest, celsius))))
	if err != nil {
		panic(fmt.Sprintf("contents: water at %g °C: %v", celsius, err))
	}
	return d
}

// ends gives the temperatures in °C between which the density is known.
func (m Matter) ends() (coldest, hottest float64) {
	switch m.law {
	case matterAsFuel:
		return fuelColdest, fuelHottest
	case matterAsUrea:
		return m.FreezesAt.Celsius(), ureaHottest
	}
	return waterColdest, waterHottest
}

func (m Matter) inRange(at quantity.Kelvin) error {
	coldest, hottest := m.ends()
	t := at.Celsius()
	if t >= coldest-waterSlack && t <= hottest+waterSlack {
		return nil
	}
	why := ""
	if m.FreezesAt > 0 && t < coldest {
		why = ", where it freezes"
	}
	return fmt.Errorf("the temperature of the %s is %s%s; its density is known from %s to %s",
		m.Title, matterCelsius(t), why, matterCelsius(coldest), matterCelsius(hottest))
}

// matterCelsius shows a temperature for a message, with a true minus sign.
func matterCelsius(t float64) string {
	if math.IsNaN(t) {
		return "no number"
	}
	return quantity.Minus(quantity.Short(t, 1)) + " °C"
}
