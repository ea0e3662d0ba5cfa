package contents

import (
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// After gives what a tank of LPG gives in the long run once so many kilograms of
// vapour have been drawn from a stock at the temperature of the air, and the
// state it is in then: there is less liquid to wet the wall, and what is left is
// poorer in the lighter part, see [Stock.Boil]. The offtake's own Wetted,
// Boiling and Mixed are not used.
//
// The wetted wall comes from the part of the tank that is liquid, in m²; nil
// stands for [WettedLying]. A stock that has no liquid left gives nothing.
func (o Offtake) After(s Stock, drawn float64, wetted func(level quantity.Share) (Between, error)) (Give, State, error) {
	left, err := s.Boil(drawn, o.Ambient)
	if err != nil {
		return Give{}, State{}, err
	}
	now := State{T: o.Ambient}
	if left.Kg() > 0 {
		if now, err = left.At(o.Ambient); err != nil {
			return Give{}, State{}, err
		}
	}
	if now.LiquidVolume <= 0 {
		return Give{Findings: []finding.Finding{{Kind: "no-liquid", Weight: finding.Bad,
			Text: "no liquid is left to boil; what vapour is left lasts for a moment"}}}, now, nil
	}
	if wetted == nil {
		wetted = func(level quantity.Share) (Between, error) {
			area, err := WettedLying(float64(s.Tank), float64(level))
			return Exactly(area), err
		}
	}
	if o.Wetted, err = wetted(min(1, quantity.Share(now.LiquidVolume/s.Tank))); err != nil {
		return Give{}, State{}, err
	}
	o.Boiling = MixBoiling(now.Liquid)
	o.Mixed = now.Liquid.Propane < 1 && now.Liquid.NButane < 1 && now.Liquid.Isobutane < 1
	g, err := o.Steady()
	return g, now, err
}
