package job

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// UsualCelsius is the temperature in °C that contents are taken to have where
// the job states none: that to which litres of gas and fuel are referred.
const UsualCelsius = 15

// mixtureDoubt is the standard uncertainty of the density of a mixed gas, in
// parts: by ideal rules it is off by up to 0.5 % at 15 °C, see [contents.Mix],
// rectangular. That the gas is what its label says isn't in it.
const mixtureDoubt quantity.Share = 0.003

// Substance is what a tank holds, with what is known of it.
type Substance struct {
	Name string // for sentences: "gas", "water", "diesel"
	// Words says what its figures rest on: "60 % propane and 40 % n-butane by
	// mass", "EN 590".
	Words string
	// Findings are what to mind about it, such as a density that isn't usual.
	Findings []finding.Finding

	mix    *contents.Mix
	matter *contents.Matter
	single float64 // density in kg/m³ where nothing else is known
}

// mixture gives what the gas is mixed of.
func (g Gas) mixture() (contents.Mix, error) {
	if g.Mix != "" {
		mix, _, err := contents.Preset(g.Mix)
		return mix, err
	}
	if g.By == ByVolume {
		return contents.MixByVolume(g.Propane, g.Butane, g.Isobutane)
	}
	return contents.NewMix(g.Propane, g.Butane, g.Isobutane)
}

// Words says what the gas is: "propane 60 %, n-butane 40 % by mass", or the name
// of the mixture with its note.
func (g Gas) Words() string {
	if g.Mix != "" {
		if _, note, err := contents.Preset(g.Mix); err == nil {
			return g.Mix + ": " + note
		}
		return g.Mix
	}
	var parts []string
	for _, p := range []struct {
		name string
		part float64
	}{{"propane", g.Propane}, {"n-butane", g.Butane}, {"isobutane", g.Isobutane}} {
		if p.part > 0 {
			parts = append(parts, fmt.Sprintf("%s %s", p.name, quantity.Share(p.part)))
		}
	}
	by := ByMass
	if g.By == ByVolume {
		by = "volume of liquid at 15 °C"
	}
	return strings.Join(parts, ", ") + " by " + by
}

// Kelvin gives the temperature of the contents that figures are for.
func (t Tank) Kelvin() quantity.Kelvin {
	if t.TemperatureC == nil {
		return quantity.Celsius(UsualCelsius)
	}
	return quantity.Celsius(*t.TemperatureC)
}

// Substance gives what the tank holds: LPG by its gas, water, fuels and waste by
// their standards or by the density stated, other contents by the density alone.
// The error says what isn't known, or can't be.
func (t Tank) Substance() (Substance, error) {
	s := Substance{Name: string(t.Contents)}
	switch t.Contents {
	case LPG:
		s.Name = "gas"
		if t.Gas == nil {
			return s, fmt.Errorf(`what the gas is mixed of isn't stated, so neither its mass nor its heat is known; state the tank's "gas"`)
		}
		mix, err := t.Gas.mixture()
		s.mix, s.Words = &mix, t.Gas.Words()
		return s, err
	case Other, "":
		s.Name = "contents"
		if t.DensityKgL == 0 {
			return s, fmt.Errorf("what is in the tank isn't stated, so its mass isn't known; state density_kg_l")
		}
		s.single, s.Words = t.DensityKgL*1000, "the density stated"
		return s, nil
	}
	matter, err := contents.MatterOf(string(t.Contents))
	if err != nil {
		return s, err
	}
	s.matter, s.Words = &matter, matter.Mark
	if matter.Standard != "" {
		s.Words = matter.Standard
	}
	if t.DensityKgL != 0 {
		usual := len(matter.Cautions)
		if matter, err = matter.Measured(t.DensityKgL*1000, t.Kelvin()); err != nil {
			return s, err
		}
		s.Words = "the density stated"
		for _, c := range matter.Cautions[usual:] {
			s.Findings = append(s.Findings, finding.Finding{Kind: "density", Weight: finding.Doubt, Text: c})
		}
	}
	return s, nil
}

// At gives the substance at a temperature; an error where that isn't known.
func (s Substance) At(kelvin quantity.Kelvin) (gauge.Matter, error) {
	switch {
	case s.mix != nil:
		at, err := s.mix.At(float64(kelvin))
		if err != nil {
			return gauge.Matter{}, err
		}
		m := gauge.Matter{Density: gauge.Density{Liquid: at.Liquid, Vapour: at.Vapour}}
		m.Net, m.Gross = s.mix.Heating()
		if max(s.mix.Propane, s.mix.NButane, s.mix.Isobutane) < 1 {
			m.UDensity = mixtureDoubt
		}
		return m, nil
	case s.matter != nil:
		d, err := s.matter.Density(kelvin)
		if err != nil {
			return gauge.Matter{}, err
		}
		return gauge.Matter{
			Density: gauge.Density{Liquid: d.Mid}, UDensity: relative(d),
			Net: s.matter.Net.Mid, UHeat: relative(s.matter.Net),
		}, nil
	}
	if !(s.single > 0) {
		return gauge.Matter{}, fmt.Errorf("its density isn't known")
	}
	return gauge.Matter{Density: gauge.Density{Liquid: s.single}}, nil
}

// relative gives the standard uncertainty of a figure that may lie anywhere in a
// range, in parts of its middle.
func relative(r contents.Range) quantity.Share {
	if r.Mid == 0 {
		return 0
	}
	return quantity.Share(doubt.Rectangular((r.High - r.Low) / 2 / math.Abs(r.Mid)))
}

// Mix gives what the gas is mixed of; false for anything but LPG.
func (s Substance) Mix() (contents.Mix, bool) {
	if s.mix == nil {
		return contents.Mix{}, false
	}
	return *s.mix, true
}

// supply gives what is left as a supply to draw from, with what of it can't be
// drawn: the heel in m³ of liquid, and of LPG the vapour that stays behind.
func (s Substance) supply(a gauge.Amount, capacity, heel quantity.CubicMetre, kelvin quantity.Kelvin) (contents.Supply, error) {
	switch {
	case s.mix != nil:
		stays, err := contents.MixHeel(*s.mix, float64(capacity), float64(kelvin), 0)
		if err != nil {
			return contents.Supply{}, err
		}
		m, err := s.At(kelvin)
		if err != nil {
			return contents.Supply{}, err
		}
		liquid := float64(heel) * m.Liquid
		return contents.MixSupply(*s.mix, contents.Known{Value: a.Mass.Mid, U: a.Mass.U}, contents.Between{Low: stays.Low + liquid, High: stays.High + liquid})
	case s.matter != nil:
		return contents.MatterSupply(*s.matter, contents.Known{Value: a.Volume.Mid, U: a.Volume.U}, contents.Exactly(float64(heel)), float64(kelvin))
	}
	supply := contents.Supply{Name: s.Name, By: contents.ByCubicMetres, Left: contents.Known{Value: a.Volume.Mid, U: a.Volume.U}, Heel: contents.Exactly(float64(heel)), Density: s.single}
	return supply, supply.Check()
}

// densities is At for what asks for densities alone.
func (s Substance) densities(kelvin float64) (liquid, vapour float64, err error) {
	m, err := s.At(quantity.Kelvin(kelvin))
	return m.Liquid, m.Vapour, err
}
