package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// UsualMeter is how far the meter of a pump may be off either way, in parts of
// the amount, where nothing else is stated: 1 %, the limit for LPG of OIML R 117
// (from memory).
const UsualMeter = 0.01

// Docket is what a pump or a supplier says was filled in.
type Docket struct {
	Amount float64 // m³ or kg by Basis, above 0
	Basis  Basis
	// PumpKelvin is the temperature at which litres were metered; 0: 15 °C.
	PumpKelvin float64
	// Meter is how far the meter may be off either way, in parts of the amount,
	// rectangular; 0 stands for UsualMeter.
	Meter float64
}

// Delivered is a docket turned into every unit, each with the same relative
// standard uncertainty U.
type Delivered struct {
	Kilograms float64
	Metered   float64 // m³ at the pump's temperature
	At15      float64 // m³ at 15 °C
	// Rise is by how much it makes the liquid in the tank more, m³, and Share
	// that of the water capacity. It is above the litres of the docket where the
	// tank is warmer, and because vapour condenses under the rising liquid.
	Rise  float64
	Share quantity.Share
	U     float64
}

// Deliver turns a docket into kilograms, litres and the rise of the liquid in a
// tank of a water capacity in m³, with the liquid in it at a temperature in K
// (0: 15 °C) before and after:
//
//	m = ρ_L(pump)·V,  rise = m/(ρ_L − ρ_V) at the tank's temperature
//
// A delivery that a tank can't hold is an error.
func (d Docket) Deliver(densities Densities, capacity, tankKelvin float64) (Delivered, error) {
	if densities == nil {
		panic("contents: a docket without densities")
	}
	if d.Basis < LitresMetered || d.Basis > Kilograms {
		return Delivered{}, fmt.Errorf("contents: docket basis %d", d.Basis)
	}
	if !(d.Amount > 0 && d.Amount <= lastsMost) {
		return Delivered{}, fmt.Errorf("the docket says %g; expected an amount above 0", d.Amount)
	}
	if !(d.Meter >= 0 && d.Meter <= 0.5) {
		return Delivered{}, fmt.Errorf("the meter's error is ±%g %%; expected 0 to 50 %%", d.Meter*100)
	}
	if !(capacity > 0 && capacity <= 1e4) {
		return Delivered{}, fmt.Errorf("the water capacity is %g L; expected above 0, up to 1e7 L", capacity*1000)
	}
	pump, _, err := densities.fillingAt(fillingOr15(d.PumpKelvin))
	if err != nil {
		return Delivered{}, err
	}
	at15, _, err := densities.fillingAt(fillingAt15)
	if err != nil {
		return Delivered{}, err
	}
	liquid, vapour, err := densities.fillingAt(fillingOr15(tankKelvin))
	if err != nil {
		return Delivered{}, err
	}
	kg := d.Amount * [...]float64{pump, at15, 1}[d.Basis]
	out := Delivered{Kilograms: kg, Metered: kg / pump, At15: kg / at15, Rise: kg / (liquid - vapour), U: doubt.Rectangular(d.docketMeter())}
	out.Share = quantity.Share(out.Rise / capacity)
	if least := out.Rise * (1 - d.docketMeter()); least > capacity {
		return Delivered{}, fmt.Errorf("the docket says %s L, and the tank holds %s L to the brim; correct the amount, its unit or the water capacity",
			quantity.Short(out.Rise*1000, 1), quantity.Short(capacity*1000, 1))
	}
	return out, nil
}

func (d Docket) docketMeter() float64 {
	if d.Meter == 0 {
		return UsualMeter
	}
	return d.Meter
}

// Level is what liquid was in a tank, m³, at which temperature in K (0: 15 °C).
type Level struct {
	Liquid Known
	Kelvin float64
}

// Agreement is a docket held against the rise of the level.
type Agreement struct {
	Docket, UDocket float64 // kg, with its standard uncertainty
	Rise, URise     float64 // kg, by the level
	Difference, U   float64 // rise less docket, kg
	// Sigmas is the difference in standard uncertainties; its sign is the
	// difference's.
	Sigmas  float64
	Agrees  bool // within two standard uncertainties
	Finding finding.Finding
}

// Compare holds a docket against the level before and after, liquid and vapour
// counted. It takes for granted that nothing was drawn between. Both levels come
// from one sender, whose error may be the same at both and fall out of the
// difference; they are taken as independent, so the doubt is rather too large
// than too small.
func (d Docket) Compare(densities Densities, capacity float64, before, after Level) (Agreement, error) {
	sold, err := d.Deliver(densities, capacity, after.Kelvin)
	if err != nil {
		return Agreement{}, err
	}
	a := Agreement{Docket: sold.Kilograms, UDocket: sold.Kilograms * sold.U}
	for _, side := range []struct {
		when  string
		level Level
		sign  float64
	}{{"before", before, -1}, {"after", after, 1}} {
		if err := side.level.Liquid.lastsCheck("liquid in the tank "+side.when, capacity, 1000, "L"); err != nil {
			return Agreement{}, err
		}
		liquid, vapour, err := densities.fillingAt(fillingOr15(side.level.Kelvin))
		if err != nil {
			return Agreement{}, err
		}
		v := side.level.Liquid.Value
		a.Rise += side.sign * (liquid*v + vapour*(capacity-v))
		a.URise = doubt.Combine(a.URise, (liquid-vapour)*side.level.Liquid.Standard())
	}
	a.Difference, a.U = a.Rise-a.Docket, doubt.Combine(a.UDocket, a.URise)
	a.Sigmas = a.Difference / a.U
	a.Agrees = math.Abs(a.Sigmas) <= doubt.UsualFactor
	a.Finding = a.docketFinding()
	return a, nil
}

func (a Agreement) docketFinding() finding.Finding {
	kg := func(v float64) string { return quantity.Digits(v, 1) + " kg" }
	apart := quantity.Digits(math.Abs(a.Sigmas), 1)
	text := fmt.Sprintf("the docket says %s ± %s, the level %s", kg(a.Docket), kg(doubt.UsualFactor*a.UDocket), docketRose(a.Rise, kg))
	text += fmt.Sprintf(" ± %s: ", kg(doubt.UsualFactor*a.URise))
	switch size := math.Abs(a.Sigmas); {
	case a.Agrees:
		return finding.Finding{Kind: "docket-agrees", Weight: finding.Note, Text: text + fmt.Sprintf("they agree, %s standard uncertainties apart", apart)}
	case size <= 3:
		return finding.Finding{Kind: "docket-differs", Weight: finding.Doubt, Text: text + fmt.Sprintf("they differ by %s standard uncertainties; compare the next docket as well", apart)}
	default:
		return finding.Finding{Kind: "docket-differs", Weight: finding.Bad, Text: text + fmt.Sprintf("they differ by %s standard uncertainties; see whether the docket counts litres at 15 °C, whether gas was drawn meanwhile, and check the sender", apart)}
	}
}

func docketRose(rise float64, kg func(float64) string) string {
	if rise < 0 {
		return "fell by " + kg(-rise)
	}
	return "rose by " + kg(rise)
}
