package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// IceDensity is the density of ice at 0 °C and 101.325 kPa in kg/m³: 916.72 by
// R. Feistel, W. Wagner, J. Phys. Chem. Ref. Data 35 (2006) 1021 (IAPWS R10-06).
// Colder ice is a little denser, so that none takes more room.
const IceDensity = 916.7

// Freezing is what becomes of the water in a tank when all of it freezes.
type Freezing struct {
	Water    quantity.CubicMetre // what is in the tank
	Capacity quantity.CubicMetre // the tank's whole inside
	Ice      quantity.CubicMetre // what the water takes as ice at 0 °C
	Most     quantity.CubicMetre // the most water whose ice the tank holds
	Margin   quantity.CubicMetre // Capacity less Ice; negative: too little room
	Room     quantity.Share      // the part of the tank that has to be empty
}

// FreezingMargin tells whether a tank has room for its water to freeze: water
// takes 9 % more room as ice,
//
//	V_ice = V·ρ(T)/916.7,  V_most = V₀·916.7/ρ(T)
//
// with ρ of [WaterDensity]. Temperatures outside 0 to 100 °C, a tank without
// capacity and more water than it holds give an error. It is a bound from
// densities alone: how ice forms, and where it presses, it doesn't know.
func FreezingMargin(water, capacity quantity.CubicMetre, at quantity.Kelvin) (Freezing, error) {
	density, err := WaterDensity(at)
	if err != nil {
		return Freezing{}, err
	}
	if !(capacity > 0) || math.IsInf(float64(capacity), 0) {
		return Freezing{}, fmt.Errorf("the water capacity is %s; expected more than 0 L", capacity)
	}
	if !(water >= 0 && water <= capacity) {
		return Freezing{}, fmt.Errorf("%s of water can't be in a tank of %s; expected 0 L to %s", water, capacity, capacity)
	}
	grows := quantity.CubicMetre(density / IceDensity)
	f := Freezing{Water: water, Capacity: capacity, Ice: water * grows, Most: capacity / grows}
	f.Margin = capacity - f.Ice
	f.Room = quantity.Share(1 - 1/float64(grows))
	return f, nil
}

// Fits says whether the ice has room.
func (f Freezing) Fits() bool { return f.Margin >= 0 }

// Sentence tells it to a person in their units: whether there is room, how much
// of the tank has to be empty, and what that doesn't protect. What may stay in
// is cut down, and what has to be empty is rounded up.
func (f Freezing) Sentence(u quantity.Units) string {
	room := fmt.Sprintf("at least %s %% of a water tank has to be empty before frost", quantity.Digits(math.Ceil(float64(f.Room)*1000-1e-9)/10, 1))
	const guard = "That protects no pump, pipe, tap, filter, heater or sender: drain those. Ice can also burst a tank that has room, where it closes the way for the last of the water."
	if f.Water == 0 {
		return fmt.Sprintf("Water takes 9 %% more room as ice: %s. %s", room, guard)
	}
	takes := fmt.Sprintf("%s of water take %s as ice", u.VolumeText(f.Water), u.VolumeText(f.Ice))
	if f.Fits() {
		return fmt.Sprintf("%s, which this tank of %s has room for; %s. %s", takes, u.VolumeText(f.Capacity), room, guard)
	}
	return fmt.Sprintf("%s, which is more than this tank of %s holds: let water out until no more than %s are in it; %s. %s",
		takes, u.VolumeText(f.Capacity), u.VolumeTextDown(f.Most), room, guard)
}
