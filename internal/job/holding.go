package job

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Level is how full a tank is: the part of its water capacity that is filled,
// 0..1, with its standard uncertainty, and what is to be said of how it was told.
type Level struct {
	Share, U quantity.Share
	Findings []finding.Finding
}

// displayStep is the step in which a display is taken to show: whole points
// (common practice, no source).
const displayStep quantity.Share = 0.01

// capacity gives the water capacity to reckon with: for LPG the lesser of what is
// stated and what the shape holds; 0 where neither is known.
func (t Tank) capacity() quantity.CubicMetre {
	plate := quantity.CubicMetre(t.WaterCapacityL / 1000)
	v := t.Capacity()
	if t.Contents == LPG && plate > 0 {
		v = min(v, plate)
	}
	return v
}

// density gives the density of the contents at the stated temperature, or for LPG
// that is to be filled by weight at no less than 15 °C.
func (t Tank) density(toFill bool) (gauge.Density, string, error) {
	s, err := t.Substance()
	if err != nil {
		return gauge.Density{}, "", err
	}
	kelvin, words := t.Kelvin(), ""
	if usual := quantity.Celsius(UsualCelsius); toFill && t.Contents == LPG && kelvin < usual {
		// As full by its volume in frost, it would hold more than it may when it
		// is warm again.
		kelvin, words = usual, " at 15 °C"
	}
	m, err := s.At(kelvin)
	return m.Density, words, err
}

// weighed gives how full the tank is at marks in kg; see [gauge.Weighed].
func (t Tank) weighed(toFill bool) (scale.Filling, error) {
	d, words, err := t.density(toFill)
	if err != nil {
		return scale.Filling{}, fmt.Errorf("marks in kg tell how full a tank is only with the density of what is in it: %w", err)
	}
	f, err := gauge.Weighed(t.capacity(), d)
	f.Words += words
	return f, err
}

// Inside turns marks of this tank, and levels on its scale, into the part of it
// that is filled. The error says what isn't known.
func (t Tank) Inside() (gauge.Inside, error) {
	s, err := t.Scale()
	if err != nil {
		return gauge.Inside{}, err
	}
	f, err := t.Filling()
	if err == nil && t.Unit() == curve.Mass {
		f, err = t.weighed(false)
	}
	if err != nil {
		return gauge.Inside{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	return gauge.NewInside(s, f)
}

// Full gives the part of the water capacity that may be filled: the permitted
// fill, and the whole of a tank of water or waste for which none is stated. It is
// an error for anything else without one, and for LPG above [MaxLPGFillPct].
func (t Tank) Full() (quantity.Share, error) {
	p := t.PermittedPct()
	switch {
	case t.Contents == LPG && p > MaxLPGFillPct:
		return 0, fmt.Errorf("tank %q: permitted_fill_pct: %s", t.Name, lpgFillTooHigh(p))
	case p > 0:
		return quantity.Share(p / 100), nil
	case t.Contents == Water || t.Contents == Waste:
		return 1, nil
	}
	return 0, fmt.Errorf("tank %q: how full it may be filled isn't stated; state permitted_fill_pct, or say how full it is", t.Name)
}

// AtOhm tells how full the tank is from a resistance of its sender, or whatever
// else it gives, with the doubt of the curve.
func (t Tank) AtOhm(ohm quantity.Ohm) (Level, error) {
	in, err := t.Inside()
	if err != nil {
		return Level{}, err
	}
	c, err := t.Curve()
	if err != nil {
		return Level{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	a := c.Mark(ohm, curve.Continue)
	if !a.Known {
		return Level{}, fmt.Errorf("tank %q: %s lies outside the readings, and nothing can be told from it", t.Name, c.Signal().Text(ohm))
	}
	var l Level
	l.Share, l.U = in.OfMark(a.Mark, a.UMark)
	if a.Outside {
		l.say("outside", finding.Doubt, fmt.Sprintf("%s lies outside the readings; the level is told by carrying the curve on.", c.Signal().Text(ohm)))
	}
	return l, nil
}

// AtLevel tells how full the tank is when its display shows a level of its scale,
// 0..1. The doubt is that of a display in whole points, of the sender as its
// readings tell it, and of what the setting shows wrongly there.
func (t Tank) AtLevel(level quantity.Share) (Level, error) {
	if !(level >= 0 && level <= 1) {
		return Level{}, fmt.Errorf("tank %q: a level of %s; expected 0 to 100 %%", t.Name, level)
	}
	in, err := t.Inside()
	if err != nil {
		return Level{}, err
	}
	var l Level
	l.Share, l.U = in.OfLevel(level, t.displayDoubt(level))
	return l, nil
}

// displayDoubt gives the standard uncertainty of a level that a display shows.
func (t Tank) displayDoubt(level quantity.Share) quantity.Share {
	parts := []float64{doubt.Resolution(float64(displayStep))}
	s, err := t.Scale()
	if err != nil || t.Setting == nil {
		return quantity.Share(doubt.Combine(parts...))
	}
	c, err := t.Curve()
	if err != nil {
		return quantity.Share(doubt.Combine(parts...))
	}
	mark := s.Of(level)
	if keyed, err := t.Setting.Keyed(); err == nil {
		g := gauge.Gauge{Curve: c, Scale: s}
		if shown, u, ok := g.Show(keyed, mark); ok {
			parts = append(parts, float64(u), doubt.Rectangular(math.Abs(float64(shown-s.Target(mark)))))
		}
		if own := SenderDoubt(c, keyed); own != nil {
			if u, ok := own(mark); ok {
				parts = append(parts, float64(u))
			}
		}
	}
	return quantity.Share(doubt.Combine(parts...))
}

// AtVolume tells how full the tank is with a volume of liquid in it, as stated.
// More than the tank holds is an error.
func (t Tank) AtVolume(v quantity.CubicMetre) (Level, error) {
	capacity := t.capacity()
	switch {
	case capacity == 0:
		return Level{}, fmt.Errorf("tank %q: its capacity isn't known; state water_capacity_l", t.Name)
	case !(v >= 0 && v <= capacity):
		return Level{}, fmt.Errorf("tank %q: %s can't be in it; expected 0 L to %s", t.Name, v, capacity)
	}
	return Level{Share: quantity.Share(v / capacity)}, nil
}

// AtMass tells how full the tank is with a mass in it, as stated; of LPG liquid
// and vapour. More than the tank holds is an error. The doubt of the density is
// in the level.
func (t Tank) AtMass(m quantity.Kilogram) (Level, error) {
	capacity := t.capacity()
	if capacity == 0 {
		return Level{}, fmt.Errorf("tank %q: its capacity isn't known; state water_capacity_l", t.Name)
	}
	s, err := t.Substance()
	if err != nil {
		return Level{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	at, err := s.At(t.Kelvin())
	if err != nil {
		return Level{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	share, _ := at.ShareOf(capacity, m)
	if full := at.Mass(capacity, 1); !(m >= 0 && share <= 1) {
		return Level{}, fmt.Errorf("tank %q: %s can't be in it; expected 0 kg to %s at %s", t.Name, m, full, t.Kelvin())
	}
	l := Level{Share: max(0, share), U: share * at.UDensity}
	if share < 0 {
		l.say("vapour", finding.Doubt, fmt.Sprintf("%s is less than the vapour that fills this tank at %s, so there is no liquid in it.", m, t.Kelvin()))
	}
	return l, nil
}

func (l *Level) say(kind string, weight finding.Weight, text string) {
	l.Findings = append(l.Findings, finding.Finding{Kind: kind, Weight: weight, Text: text})
}

// Amount gives what is in the tank at a level: litres, kilograms and heat, as far
// as they are known. The error says why no mass is known; the volume is right all
// the same.
func (t Tank) Amount(l Level) (gauge.Amount, error) {
	s, err := t.Substance()
	if err == nil {
		var m gauge.Matter
		if m, err = s.At(t.Kelvin()); err == nil {
			return m.Amount(t.capacity(), l.Share, l.U), nil
		}
	}
	return gauge.Matter{}.Amount(t.capacity(), l.Share, l.U), err
}
