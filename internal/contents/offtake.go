package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Boiling gives the pressure of a liquid that boils, Pa absolute, and its heat
// of vaporisation, J/kg, at a temperature in K. The pressure grows with it.
type Boiling func(kelvin float64) (pressure, heat float64, err error)

const (
	// Atmosphere is the standard atmosphere in Pa.
	Atmosphere = 101_325.0
	// UsualInlet is the least pressure over the atmosphere that a low-pressure
	// regulator is taken to need at its inlet, in Pa: 0.3 bar (common practice, no
	// source).
	UsualInlet = 30_000.0
)

// StillAir is how much heat goes through a bare steel wall wet inside, from
// still air outdoors, in W/(m²·K): natural convection and radiation (common
// practice, no source). Wind makes it more; ice, snow, a locker without air or a
// box around the tank less.
var StillAir = Between{8, 15}

// The range of temperatures in which offtake is reckoned, K: that of the
// properties, −40 to 60 °C.
const (
	offtakeColdest = 233.15
	offtakeWarmest = 333.15
)

// Offtake is a tank from which vapour is drawn.
type Offtake struct {
	Ambient float64 // temperature of the air around, K, −40 to 60 °C
	Wetted  Between // the inside wall that liquid touches, m²
	// Wall is the heat that comes through it, W/(m²·K); the zero value stands for
	// StillAir.
	Wall Between
	// Needed is the pressure that the regulator needs, Pa absolute; 0 stands for
	// Atmosphere + UsualInlet, 1.313 bar. High up the atmosphere is less.
	Needed  float64
	Boiling Boiling
	Mixed   bool    // it has more than one part, and grows poorer in the light one
	NetHeat float64 // J/kg; 0: not known, and no power is told
}

// Give is how much vapour a tank can give without end, or until its liquid has
// fallen, as an estimate.
type Give struct {
	// Coldest is how cold the liquid may get, K: where its pressure has fallen to
	// what the regulator needs, or −40 °C where it would be colder.
	Coldest     float64
	Heat        float64 // of vaporisation there, J/kg
	Rate        Between // kg/s
	Power       Between // W, net; zero where the heating value isn't known
	Assumptions []string
	Findings    []finding.Finding
}

// Steady gives how much vapour a tank can give in the long run. In the steady
// state all the heat for it comes through the wetted wall:
//
//	ṁ = U·A·(T_ambient − T_liquid)/h
//
// with T_liquid as cold as the pressure allows. It is zero where even liquid as
// warm as the air hasn't the pressure. An estimate to within the range of U and
// no better: sun, wind, ice, and what the tank stands on are not in it.
func (o Offtake) Steady() (Give, error) {
	if err := o.offtakeCheck(); err != nil {
		return Give{}, err
	}
	coldest, held, err := o.offtakeColdest()
	if err != nil {
		return Give{}, err
	}
	_, heat, err := o.offtakeBoiling(coldest)
	if err != nil {
		return Give{}, err
	}
	wall, warmth := o.offtakeWall(), max(0, o.Ambient-coldest)
	g := Give{Coldest: coldest, Heat: heat}
	g.Rate = Between{wall.Low * o.Wetted.Low * warmth / heat, wall.High * o.Wetted.High * warmth / heat}
	g.Power = g.Rate.loadsTimes(o.NetHeat)
	g.Assumptions = o.offtakeAssumptions(coldest, held)
	if warmth == 0 {
		g.Findings = append(g.Findings, finding.Finding{Kind: "no-pressure", Weight: finding.Bad,
			Text: fmt.Sprintf("at %s °C the gas hasn't the %s bar (absolute) that the regulator needs; it gives no vapour to speak of, however full the tank is",
				fillingCelsius(o.Ambient), quantity.Short(o.offtakeNeeded()/1e5, 2))})
	}
	if o.Mixed {
		g.Findings = append(g.Findings, finding.Finding{Kind: "mixed", Weight: finding.Note,
			Text: "the lighter part boils off first: as the tank empties the rest has less pressure and gives less than this"})
	}
	return g, nil
}

// offtakeColdest gives the temperature at which the pressure has fallen to what
// is needed, within the range that is reckoned with, and whether it was held at
// the cold end of it. Liquid that has the pressure nowhere is held at the warm
// end, where it gives nothing to air that is no warmer.
func (o Offtake) offtakeColdest() (kelvin float64, held bool, err error) {
	needed := o.offtakeNeeded()
	low, high := offtakeColdest, offtakeWarmest
	p, _, err := o.offtakeBoiling(low)
	if err != nil || p >= needed {
		return low, true, err
	}
	if p, _, err = o.offtakeBoiling(high); err != nil || p <= needed {
		return high, false, err
	}
	for high-low > 1e-9 {
		mid := low + (high-low)/2
		p, _, err := o.offtakeBoiling(mid)
		if err != nil {
			return 0, false, err
		}
		if p < needed {
			low = mid
		} else {
			high = mid
		}
	}
	return high, false, nil
}

func (o Offtake) offtakeBoiling(kelvin float64) (pressure, heat float64, err error) {
	if pressure, heat, err = o.Boiling(kelvin); err != nil {
		return 0, 0, err
	}
	if !(pressure > 0) || !(heat > 0) || math.IsInf(pressure, 0) || math.IsInf(heat, 0) {
		return 0, 0, fmt.Errorf("at %s °C the pressure is %g Pa and the heat of vaporisation %g J/kg; expected both above 0", fillingCelsius(kelvin), pressure, heat)
	}
	return pressure, heat, nil
}

func (o Offtake) offtakeNeeded() float64 {
	if o.Needed == 0 {
		return Atmosphere + UsualInlet
	}
	return o.Needed
}

func (o Offtake) offtakeWall() Between {
	if o.Wall == (Between{}) {
		return StillAir
	}
	return o.Wall
}

func (o Offtake) offtakeCheck() error {
	if o.Boiling == nil {
		panic("contents: an offtake without a liquid")
	}
	if !(o.Ambient >= offtakeColdest && o.Ambient <= offtakeWarmest) {
		return fmt.Errorf("the temperature of the air is %s °C; expected -40 to 60 °C", fillingCelsius(o.Ambient))
	}
	if err := loadsRange("wetted wall", o.Wetted, 0, 1e5, "m²"); err != nil {
		return err
	}
	if err := loadsRange("heat through the wall", o.offtakeWall(), 0, 1e4, "W/(m²·K)"); err != nil {
		return err
	}
	if n := o.offtakeNeeded(); !(n >= 1e4 && n <= 2e6) {
		return fmt.Errorf("the pressure that the regulator needs is %g bar absolute; expected 0.1 to 20 bar (the atmosphere counted, about 1 bar)", n/1e5)
	}
	if o.NetHeat != 0 && !(o.NetHeat >= 1e5 && o.NetHeat <= 2e8) {
		return fmt.Errorf("the net heating value is %g J/kg; expected 1e5 to 2e8", o.NetHeat)
	}
	return nil
}
