package contents

import (
	"fmt"
	"math"
)

// LiquidHeat is the heat capacity of liquid propane and butane from −40 to
// 20 °C, and SteelHeat that of steel, in J/(kg·K) (from memory).
var (
	LiquidHeat = Between{2200, 2700}
	SteelHeat  = Between{450, 500}
)

// Burst is for how long a burn can go on from a tank that isn't cold yet.
type Burst struct {
	// Time in s, held to Longest, and to the time in which the liquid is used up.
	Time Between
	// Sustained says that the pressure holds without end even at the low end;
	// MaySustain that it does at the high end.
	Sustained, MaySustain bool
}

// Burst gives for how long a burn can go on before the pressure is too low: the
// heat stored in the liquid and in what steel goes with it adds to what comes
// through the wall. The liquid begins at a temperature in K (0: that of the air),
// grows less by what is burnt, and cools as a body of one temperature does,
//
//	C·dT/dt = U·A·(T_ambient − T) − ṁ·h,  C = (m − ṁ·t)·c + m_steel·c_steel
//
// so that it has reached the coldest that will do after
//
//	t = C₀/(ṁ·c) · [1 − (1 + x)^(−ṁ·c/(U·A))],  x = U·A·(T_start − T_coldest)/lack
//
// where lack = ṁ·h − U·A·(T_ambient − T_coldest), or never, where that isn't above
// 0. The burn is in kg/s, liquid and steel in kg, all as ranges: the low end has
// the greatest burn with the least of the rest.
//
// The wetted wall is taken not to grow less meanwhile, nor the liquid poorer in
// the lighter part, which makes the time too long where much of the liquid is
// used; h is taken at the coldest, where it is greatest, which makes it too short.
func (o Offtake) Burst(burn, liquid, steel Between, start float64) (Burst, error) {
	g, err := o.Steady()
	if err != nil {
		return Burst{}, err
	}
	if err := loadsRange("burn", burn.loadsTimes(3.6e6), 0, 1e8, "g/h"); err != nil {
		return Burst{}, err
	}
	if err := loadsRange("liquid in the tank", liquid, 0, lastsMost, "kg"); err != nil {
		return Burst{}, err
	}
	if err := loadsRange("steel of the tank", steel, 0, lastsMost, "kg"); err != nil {
		return Burst{}, err
	}
	if start == 0 {
		start = o.Ambient
	}
	if !(start >= offtakeColdest && start <= offtakeWarmest) {
		return Burst{}, fmt.Errorf("the gas begins at %s °C; expected -40 to 60 °C", fillingCelsius(start))
	}
	wall := o.offtakeWall()
	one := func(burn, through, liquid, liquidHeat, steel, steelHeat float64) (seconds float64, sustained bool) {
		if start <= g.Coldest {
			return 0, false
		}
		if burn == 0 {
			return Longest, true
		}
		lack := burn*g.Heat - through*(o.Ambient-g.Coldest)
		if lack <= 0 {
			return min(Longest, liquid/burn), true
		}
		return min(Longest, liquid/burn, offtakeCooling(liquid*liquidHeat+steel*steelHeat, burn*liquidHeat, through, start-g.Coldest, lack)), false
	}
	var b Burst
	b.Time.Low, b.Sustained = one(burn.High, wall.Low*o.Wetted.Low, liquid.Low, LiquidHeat.Low, steel.Low, SteelHeat.Low)
	b.Time.High, b.MaySustain = one(burn.Low, wall.High*o.Wetted.High, liquid.High, LiquidHeat.High, steel.High, SteelHeat.High)
	return b, nil
}

// offtakeCooling gives the time in which a store of heat C₀, J/K, that grows less
// by so many W/K is cooled by a fall, K, when at its end there are so many W
// more drawn than come in through UA, W/K.
func offtakeCooling(store, lessens, through, fall, lack float64) float64 {
	// ln(1 + x)/(U·A), which is fall/lack where there is no wall to speak of.
	gone := fall / lack
	if x := through * gone; x > 1e-9 {
		gone = math.Log1p(x) / through
	}
	return -math.Expm1(-lessens*gone) * store / lessens
}
