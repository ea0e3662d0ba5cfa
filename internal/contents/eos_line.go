package contents

import (
	"math"
	"sync"
)

// eosNodes is how many terms a saturation line has. With these the lines are
// good to 2e-10 of the value or better, over the whole of their range.
const eosNodes = 40

// eosLine is the saturation line of one fluid made ready for use: four
// Chebyshev series in s = √(1 - T/Tc), a variable in which they have no kink
// towards the critical point. A series of so few terms, as close as this to a
// function whose slope is nowhere near 0, rises or falls as the function does.
type eosLine struct {
	fluid       *eosFluid
	middle, per float64 // x = (s - middle) per
	series      [4][eosNodes]float64
}

// The series of a line, and what they are of.
const (
	eosPressure = iota // ln p
	eosLiquid          // ρ
	eosVapour          // ln ρ
	eosHeat            // J/kg
)

// eosLines gives the three lines, made when they are first asked for.
var eosLines = sync.OnceValue(func() *[lpgParts]eosLine {
	var lines [lpgParts]eosLine
	for i := range lines {
		lines[i] = eosFluids[i].line()
	}
	return &lines
})

// line solves the saturation at the Chebyshev nodes and expands the results.
func (f *eosFluid) line() eosLine {
	most := math.Sqrt(1 - eosBottom/f.critical)
	least := math.Sqrt(1 - f.top/f.critical)
	l := eosLine{fluid: f, middle: (most + least) / 2, per: 2 / (most - least)}
	var values [4][eosNodes]float64
	for k := range eosNodes {
		s := l.middle + math.Cos(math.Pi*(float64(k)+0.5)/eosNodes)/l.per
		sat := f.saturation(f.critical * (1 - s*s))
		values[eosPressure][k] = math.Log(sat.pressure)
		values[eosLiquid][k] = sat.liquid
		values[eosVapour][k] = math.Log(sat.vapour)
		values[eosHeat][k] = sat.heat
	}
	for i := range l.series {
		for j := range eosNodes {
			sum := 0.0
			for k, v := range values[i] {
				sum += v * math.Cos(math.Pi*float64(j)*(float64(k)+0.5)/eosNodes)
			}
			l.series[i][j] = sum * 2 / eosNodes
		}
		l.series[i][0] /= 2
	}
	return l
}

// at gives the saturation at a temperature within the line.
func (l *eosLine) at(kelvin float64) eosSaturation {
	x := (math.Sqrt(1-kelvin/l.fluid.critical) - l.middle) * l.per
	// Clenshaw's recurrence, the four series side by side.
	var b1, b2 [4]float64
	for j := eosNodes - 1; j > 0; j-- {
		for i := range b1 {
			b1[i], b2[i] = l.series[i][j]+2*x*b1[i]-b2[i], b1[i]
		}
	}
	var v [4]float64
	for i := range v {
		v[i] = l.series[i][0] + x*b1[i] - b2[i]
	}
	return eosSaturation{
		pressure: math.Exp(v[eosPressure]),
		liquid:   v[eosLiquid],
		vapour:   math.Exp(v[eosVapour]),
		heat:     v[eosHeat],
	}
}

// density gives the density of the liquid alone, kg/m³, and how it changes with
// temperature along the saturation line, kg/(m³ K).
func (l *eosLine) density(kelvin float64) (liquid, slope float64) {
	s := math.Sqrt(1 - kelvin/l.fluid.critical)
	x := (s - l.middle) * l.per
	// The recurrence, and its own derivative with respect to x.
	var b1, b2, d1, d2 float64
	c := &l.series[eosLiquid]
	for j := eosNodes - 1; j > 0; j-- {
		d1, d2 = 2*b1+2*x*d1-d2, d1
		b1, b2 = c[j]+2*x*b1-b2, b1
	}
	liquid = c[0] + x*b1 - b2
	byX := b1 + x*d1 - d2
	return liquid, byX * l.per * -1 / (2 * s * l.fluid.critical)
}
