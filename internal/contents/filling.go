package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Densities gives the density of a liquid and of the vapour over it, in kg/m³,
// at a temperature in K; the vapour's is 0 where it counts for nothing.
type Densities func(kelvin float64) (liquid, vapour float64, err error)

// SameDensity gives a liquid of one density, in kg/m³, at every temperature,
// whose vapour counts for nothing.
func SameDensity(liquid float64) Densities {
	return func(float64) (float64, float64, error) { return liquid, 0, nil }
}

// fillingAt15 is the temperature that compensated litres refer to, 15 °C in K.
const fillingAt15 = 288.15

// Basis says what a pump, a docket or a price counts.
type Basis int

const (
	LitresMetered Basis = iota // as it flows, at the pump's temperature; m³
	LitresAt15                 // compensated to 15 °C; m³
	Kilograms                  // kg
)

// String gives the basis in words.
func (b Basis) String() string {
	return [...]string{"litres as metered", "litres at 15 °C", "kilograms"}[b]
}

// Price is what a unit of the contents costs.
type Price struct {
	Per      float64 // of a litre or a kilogram; 0: not known
	Basis    Basis
	Currency string // as it is to be written
}

// The most of an LPG tank that is taken for a permitted fill. 80 % is usual for
// vehicles and leisure (UN Regulation 67, from memory); more than 85 % of liquid
// at 15 °C would leave propane no room at 57 °C, and is refused. So is more than
// 97 % of a fuel (common practice, no source): diesel expands by 3 % from 15 to
// 50 °C, petrol by more.
const (
	fillingUsualGas = 0.80
	fillingMostGas  = 0.85
	fillingMostFuel = 0.97
)

// Filling is a tank that is to be filled up.
type Filling struct {
	Name string // what it holds, for sentences: "gas", "diesel"; "": "contents"
	// Gas says that it is LPG: it has a filling stop, and a permitted fill beyond
	// 85 % is refused. Fuel says that it is diesel or petrol: 97 %.
	Gas, Fuel bool
	Capacity  float64 // water capacity, m³
	Permitted float64 // the part of it that may be liquid, above 0 to 1
	Present   Known   // liquid that is in it now, m³
	// TankKelvin and PumpKelvin are the temperatures of the liquid in the tank and
	// of that at the pump; 0 stands for 15 °C.
	TankKelvin, PumpKelvin float64
	Densities              Densities
	Price                  Price
}

// Ask is how much to ask for at the pump at the most. All figures are cut down
// to a tenth of a litre or of a kilogram, and zero where Nothing is.
type Ask struct {
	Name      string
	Gas       bool
	Nothing   bool    // there is nothing to fill
	Metered   float64 // as metered at the pump's temperature, m³
	At15      float64 // at 15 °C, m³
	Kilograms float64
	Price     float64 // of that; 0 where no price is known
	Currency  string
	Findings  []finding.Finding
}

// Fill tells how much may be asked for so that the liquid doesn't exceed the
// permitted fill. It errs to the side of less everywhere:
//
//   - what is in the tank already is taken at its high end, see [Known.Ends];
//   - the permitted fill is reckoned at the warmest of the tank's temperature,
//     the pump's and 15 °C, where the liquid takes most room;
//   - all vapour that is in the tank now is counted as if it condensed, and none
//     as left over the new liquid;
//   - figures are cut.
//
// So with m the most that is in the tank, kg,
//
//	ask = ρ_L(warmest)·permitted·capacity − m,  m = ρ_L·V_high + ρ_V·(V − V_high)
//
// That it holds needs the densities to be those of what is pumped. Warming
// beyond the warmest is what the permitted fill leaves room for.
//
// Where the high end has reached the permitted fill there is nothing to fill;
// where the level itself is above it that is a bad finding. Neither has a figure.
func Fill(f Filling) (Ask, error) {
	if err := f.fillingCheck(); err != nil {
		return Ask{}, err
	}
	a := Ask{Name: f.fillingName(), Gas: f.Gas, Currency: f.Price.Currency, Nothing: true}
	if f.Gas && f.Permitted > fillingUsualGas+1e-9 {
		a.fillingSay("permitted-fill", finding.Doubt, "a permitted fill of %s is more than the usual 80 %%; make sure that the tank's plate says so", quantity.Share(f.Permitted))
	}
	limit := f.Permitted * f.Capacity
	high := min(f.Capacity, f.Present.Ends().High)
	switch {
	case f.Present.Value > limit:
		a.fillingSay("overfull", finding.Bad, "the tank holds %s, more than the permitted %s: fill nothing in, keep it from warming, use it until it is below, and have someone licensed see to it if it got there by filling",
			quantity.Share(fillingUp(f.Present.Value/f.Capacity, 1000)), quantity.Share(f.Permitted))
		return a, nil
	case high >= limit:
		a.fillingSay("full", finding.Note, "the tank may hold the permitted %s already, going by the doubt of its level: there is nothing to fill", quantity.Share(f.Permitted))
		return a, nil
	}
	now, err := f.fillingMass(high, f.fillingTank())
	if err != nil {
		return Ask{}, err
	}
	warm, _, err := f.Densities.fillingAt(max(f.fillingTank(), f.fillingPump(), fillingAt15))
	if err != nil {
		return Ask{}, err
	}
	kg := warm*limit - now
	pump, _, err := f.Densities.fillingAt(f.fillingPump())
	if err != nil {
		return Ask{}, err
	}
	at15, _, err := f.Densities.fillingAt(fillingAt15)
	if err != nil {
		return Ask{}, err
	}
	a.Kilograms = fillingCut(kg, 10)
	a.Metered, a.At15 = fillingCut(kg/pump, 1e4), fillingCut(kg/at15, 1e4)
	if a.Nothing = a.Metered <= 0 || a.At15 <= 0 || a.Kilograms <= 0; a.Nothing {
		a.Metered, a.At15, a.Kilograms = 0, 0, 0
		a.fillingSay("full", finding.Note, "there is no room worth filling below the permitted %s", quantity.Share(f.Permitted))
		return a, nil
	}
	a.Price = [...]float64{a.Metered * 1000, a.At15 * 1000, a.Kilograms}[f.Price.Basis] * f.Price.Per
	if f.Gas {
		a.fillingSay("filling-stop", finding.Note, "the tank's own filling stop decides, not this figure; when it stops, the tank is full")
	} else {
		a.fillingSay("filling-stop", finding.Note, "stop when the pump or the tank says so, whatever this figure is")
	}
	return a, nil
}

func (a *Ask) fillingSay(kind string, weight finding.Weight, text string, args ...any) {
	a.Findings = append(a.Findings, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(text, args...)})
}

func (f Filling) fillingName() string {
	if f.Name == "" {
		return "contents"
	}
	return f.Name
}

func (f Filling) fillingTank() float64 { return fillingOr15(f.TankKelvin) }
func (f Filling) fillingPump() float64 { return fillingOr15(f.PumpKelvin) }

func fillingOr15(kelvin float64) float64 {
	if kelvin == 0 {
		return fillingAt15
	}
	return kelvin
}

// fillingMass gives all that is in the tank, liquid and vapour, in kg.
func (f Filling) fillingMass(liquid, kelvin float64) (float64, error) {
	l, v, err := f.Densities.fillingAt(kelvin)
	return l*liquid + v*(f.Capacity-liquid), err
}

// fillingAt holds what densities are given to being those of a liquid and its
// vapour.
func (d Densities) fillingAt(kelvin float64) (liquid, vapour float64, err error) {
	if liquid, vapour, err = d(kelvin); err != nil {
		return 0, 0, err
	}
	if !(liquid > 0 && liquid < 1e5 && vapour >= 0 && vapour < liquid) {
		return 0, 0, fmt.Errorf("at %s °C the densities are %g kg/m³ for the liquid and %g kg/m³ for the vapour; expected a liquid that is the heavier one and neither below 0", fillingCelsius(kelvin), liquid, vapour)
	}
	return liquid, vapour, nil
}

func fillingCelsius(kelvin float64) string { return quantity.Short(kelvin-273.15, 1) }

// fillingCut rounds down to a part; what is a hair below a whole part for the
// last digits of floating point alone is cut as well, since less is safe.
func fillingCut(v, parts float64) float64 { return max(0, math.Floor(v*parts)/parts) }

func fillingUp(v, parts float64) float64 { return math.Ceil(v*parts-1e-9) / parts }

func (f Filling) fillingCheck() error {
	if f.Densities == nil {
		panic("contents: a filling without densities")
	}
	if f.Price.Basis < LitresMetered || f.Price.Basis > Kilograms {
		return fmt.Errorf("contents: price basis %d", f.Price.Basis)
	}
	if !(f.Capacity > 0 && f.Capacity <= 1e4) {
		return fmt.Errorf("the water capacity is %g L; expected above 0, up to 1e7 L", f.Capacity*1000)
	}
	if !(f.Permitted > 0 && f.Permitted <= 1) {
		return fmt.Errorf("the permitted fill is %s %%; expected above 0, up to 100 %%", quantity.Short(f.Permitted*100, 2))
	}
	if f.Gas && f.Permitted > fillingMostGas+1e-9 {
		return fmt.Errorf("the permitted fill is %s of an LPG tank; expected at most 85 %%, since the liquid needs room to expand (80 %% is usual; the tank's plate says)", quantity.Share(f.Permitted))
	}
	if f.Fuel && f.Permitted > fillingMostFuel+1e-9 {
		return fmt.Errorf("the permitted fill is %s of a fuel tank; expected at most 97 %%, since the fuel needs room to expand", quantity.Share(f.Permitted))
	}
	for _, t := range []struct {
		what   string
		kelvin float64
	}{{"tank", f.fillingTank()}, {"pump", f.fillingPump()}} {
		if !(t.kelvin >= 173.15 && t.kelvin <= 373.15) {
			return fmt.Errorf("the temperature of the %s is %s °C; expected -100 to 100 °C", t.what, fillingCelsius(t.kelvin))
		}
	}
	if !(f.Price.Per >= 0 && f.Price.Per <= 1e9) {
		return fmt.Errorf("the price is %g; expected 0 or more", f.Price.Per)
	}
	return f.Present.lastsCheck("liquid in the tank", f.Capacity, 1000, "L")
}
