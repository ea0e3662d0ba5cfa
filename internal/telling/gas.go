package telling

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Gas is what is known of one tank of gas, in SI units.
type Gas struct {
	Mix       contents.Mix
	Name      string  // of the mixture
	Kelvin    float64 // of the tank
	Now       contents.Saturated
	Capacity  quantity.CubicMetre // 0: not stated
	Permitted quantity.Share
	Asked     bool                // an amount was stated: Liquid is known
	Liquid    quantity.CubicMetre // at Kelvin
	LiquidKg  float64             // this and the next three: see Weigh
	VapourKg  float64             // in the rest of the capacity
	Net       float64             // heat, J
	Gross     float64
	Hours     *contents.Duration  // of burning; nil: not asked
	Days      *contents.Duration  // of burning some hours a day; nil: not asked
	Levels    []GasLevel          // of the same mass; see Warm
	FullAt    float64             // K, see Warm; 0: not within what can be reckoned with
	Ask       *contents.Ask       // nil: not known
	Delivered *contents.Delivered // what a docket comes to; nil: not asked
}

// GasLevel is the level of the same mass at another temperature.
type GasLevel struct {
	Kelvin float64
	Share  quantity.Share
}

// Kilograms gives liquid and vapour together.
func (r Gas) Kilograms() float64 { return r.LiquidKg + r.VapourKg }

// Headline answers in one line how much there is and how long it burns, or names
// the mixture where no amount was stated.
func (r Gas) Headline() string {
	where := fmt.Sprintf("%s at %s", r.Name, r.warmth())
	if !r.Asked {
		return Sentence(where)
	}
	text := fmt.Sprintf("%s L of %s: %s kg, %s kWh", quantity.Short(float64(r.Liquid)*1000, 1), where, quantity.Digits(r.Kilograms(), 1), quantity.Digits(r.Net/3.6e6, 0))
	if r.Hours != nil {
		text += fmt.Sprintf(", %s of burning", between(r.Hours.Hours(), "h"))
	}
	if r.Days != nil {
		text += ", " + between(r.Days.Days(), "days")
	}
	return text + "."
}

func (r Gas) warmth() string { return quantity.Minus(quantity.Kelvin(r.Kelvin).String()) }

// Figures is what the mixture is at that temperature, without a head.
func (r Gas) Figures() Grid {
	g := Grid{Head: []string{"", ""}, Left: 2}
	g.Add("liquid", quantity.Digits(r.Now.Liquid, 1)+" kg/m³")
	g.Add("vapour", quantity.Digits(r.Now.Vapour, 2)+" kg/m³")
	g.Add("pressure", fmt.Sprintf("%s bar, %s bar over the atmosphere", quantity.Digits(r.Now.Pressure/1e5, 2), quantity.Minus(quantity.Digits((r.Now.Pressure-contents.Atmosphere)/1e5, 2))))
	g.Add("heat of vaporisation", quantity.Digits(r.Now.Heat/1000, 0)+" kJ/kg")
	net, gross := r.Mix.Heating()
	g.Add("heating value", fmt.Sprintf("%s kWh/kg net, %s gross", quantity.Digits(net/3.6e6, 2), quantity.Digits(gross/3.6e6, 2)))
	if r.Asked && r.Capacity > 0 {
		g.Add("mass", fmt.Sprintf("%s kg liquid, %s kg vapour", quantity.Digits(r.LiquidKg, 2), quantity.Digits(r.VapourKg, 2)))
	}
	return g
}

// LevelWords says where the same mass stands when it is colder or warmer; "" where
// that isn't known.
func (r Gas) LevelWords() string {
	if len(r.Levels) == 0 {
		return ""
	}
	parts := make([]string, len(r.Levels))
	for i, l := range r.Levels {
		parts[i] = fmt.Sprintf("%s %% at %s", Points(l.Share), quantity.Minus(quantity.Short(l.Kelvin-273.15, 0)+" °C"))
	}
	return "The same mass stands at " + strings.Join(parts, ", ") + " of the water capacity."
}

// StopsHead stands above the reasons for which the filling may stop earlier.
const StopsHead = "It may stop earlier, and none of that is a reason to fill on:"

// FillWords says what to ask for at the pump, and why the filling may stop
// earlier; "" where nothing may be filled in or it isn't known.
func (r Gas) FillWords() (ask string, stops []string) {
	if r.Ask == nil || r.Ask.Nothing {
		return "", nil
	}
	for _, reason := range contents.StopsEarly() {
		stops = append(stops, fmt.Sprintf("%s (%s)", reason.Text, reason.Mark))
	}
	return r.Ask.Sentence(), stops
}

// DocketWords says what was filled in by the docket; "" where there is none.
func (r Gas) DocketWords() string {
	d := r.Delivered
	if d == nil {
		return ""
	}
	litre := func(v float64) string { return quantity.Digits(v*1000, 1) + " L" }
	return fmt.Sprintf("The docket comes to %s kg, %s as metered at %s, %s at 15 °C, to about %s %%; it lifts the liquid by %s, %s points of the water capacity.",
		quantity.Digits(d.Kilograms, 2), litre(d.Metered), r.warmth(), litre(d.At15),
		quantity.Digits(200*d.U, 1), litre(d.Rise), quantity.Digits(float64(d.Share)*100, 1))
}

// Cautions are those of a tank of gas with that permitted fill.
func (r Gas) Cautions() []string {
	return job.Tank{Contents: job.LPG, PermittedFillPct: float64(r.Permitted) * 100}.Cautions()
}

// between prints an estimate as whole numbers, outwards; a short one with a
// decimal.
func between(e contents.Estimate, unit string) string {
	decimals, p := 0, 1.0
	if e.Mid < 10 {
		decimals, p = 1, 10
	}
	low, high := quantity.Short(math.Floor(e.Low*p+1e-9)/p, decimals), quantity.Short(math.Ceil(e.High*p-1e-9)/p, decimals)
	if low == high {
		return low + " " + unit
	}
	return low + " to " + high + " " + unit
}
