package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

func (o Offtake) offtakeAssumptions(coldest float64, held bool) []string {
	wall := o.offtakeWall()
	span := func(b Between, decimals int) string {
		low, high := quantity.Short(b.Low, decimals), quantity.Short(b.High, decimals)
		if low == high {
			return low
		}
		return low + " to " + high
	}
	list := []string{fmt.Sprintf("the wall lets %s W/(m²·K) through", span(wall, 1))}
	if wall == StillAir {
		list[0] += ", as in still air (common practice, no source); wind gives more, ice, snow or a closed locker less"
	}
	list = append(list,
		fmt.Sprintf("%s m² of it are wet inside", span(o.Wetted, 2)),
		fmt.Sprintf("the air is at %s °C, and no sun shines on the tank", fillingCelsius(o.Ambient)))
	needed := fmt.Sprintf("the regulator needs %s bar absolute", quantity.Short(o.offtakeNeeded()/1e5, 2))
	if o.Needed == 0 {
		needed += ": the atmosphere at sea level and 0.3 bar (common practice, no source)"
	}
	list = append(list, needed)
	if held {
		return append(list, "the liquid gets no colder than -40 °C, though it would still have the pressure; properties are known no further")
	}
	return append(list, fmt.Sprintf("the liquid may get as cold as %s °C, where its pressure is that", fillingCelsius(coldest)))
}

// Verdict says whether what a tank gives covers a need.
type Verdict int

const (
	Enough     Verdict = iota // even at the low end, with a fifth to spare
	EnoughJust                // even at the low end, with less to spare
	MayFail                   // at the high end only
	NotEnough                 // not even at the high end
)

// String gives the verdict in words.
func (v Verdict) String() string {
	return [...]string{"enough", "enough, just", "perhaps not enough", "not enough"}[v]
}

// Covers holds what a tank gives in the long run against a need in kg/s.
func (g Give) Covers(need Between) Verdict {
	switch {
	case need.High <= 0.8*g.Rate.Low:
		return Enough
	case need.High <= g.Rate.Low:
		return EnoughJust
	case need.Low <= g.Rate.High:
		return MayFail
	}
	return NotEnough
}

// Sentence tells what a tank can give and whether that covers the need, kg/s, of
// something: "At −10 °C with 20 % left it can give about 0.2 to 0.4 kg/h; the
// heater needs 0.16 kg/h: enough, just. An estimate." The rate given is rounded
// outwards to one figure of its low end. What it rests on is in Assumptions.
func (g Give) Sentence(ambient float64, level quantity.Share, name string, need Between) string {
	where := fmt.Sprintf("At %s with %s left ", offtakeDegrees(ambient), level)
	needs := fmt.Sprintf("; the %s needs %s kg/h: %s. An estimate.", name, offtakeSpan(need, 2), g.Covers(need))
	if g.Rate.High == 0 {
		return where + "it gives no vapour to speak of" + needs
	}
	low, high := g.Rate.Low*3600, g.Rate.High*3600
	decimals := 1
	for low > 0 && decimals < 3 && low < math.Pow(10, -float64(decimals)) {
		decimals++
	}
	parts := math.Pow(10, float64(decimals))
	low, high = math.Floor(low*parts+1e-9)/parts, math.Ceil(high*parts-1e-9)/parts
	return where + fmt.Sprintf("it can give about %s to %s kg/h", quantity.Short(low, decimals), quantity.Short(high, decimals)) + needs
}

func offtakeSpan(rate Between, decimals int) string {
	low, high := quantity.Short(rate.Low*3600, decimals), quantity.Short(rate.High*3600, decimals)
	if low == high {
		return low
	}
	return low + " to " + high
}

func offtakeDegrees(kelvin float64) string {
	text := quantity.Short(kelvin-273.15, 0) + " °C"
	if text[0] == '-' {
		return "−" + text[1:]
	}
	return text
}
