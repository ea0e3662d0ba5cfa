package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// growth gives the volume at one temperature over that at another, of the same
// mass. One liquid expands by one law: the ends of the range are those of the
// liquids it may be, and not of one density over another's.
func (m Matter) growth(from, to quantity.Kelvin) Range {
	a, b := from.Celsius(), to.Celsius()
	switch m.law {
	case matterAsFuel:
		return m.Base.each(func(base float64) float64 { return fuelFactor(base, a) / fuelFactor(base, b) })
	case matterAsUrea:
		return ureaExpansion.each(func(alpha float64) float64 {
			return (1 - alpha*float64(from-m.BaseAt)) / (1 - alpha*float64(to-m.BaseAt))
		})
	}
	return matterExactly(matterWater(a) / matterWater(b))
}

// Change is how the volume of a liquid changes when its temperature does.
type Change struct {
	Title    string
	Before   quantity.CubicMetre
	From, To quantity.Kelvin
	After    Range // m³
	Grown    Range // m³, After less Before; negative where it shrinks
	Part     Range // Grown by Before, 0.01 for 1 %
}

// Change gives how a volume at one temperature changes to another, for the
// same mass. The tank is taken for rigid: one of steel grows by 0.004 % a
// kelvin, one of polyethylene by 0.04 to 0.06 % (common practice, no source), and
// so hides a part of the change. Temperatures as for [Matter.Density]; a negative
// volume is an error.
func (m Matter) Change(v quantity.CubicMetre, from, to quantity.Kelvin) (Change, error) {
	if !(v >= 0) || math.IsInf(float64(v), 0) {
		return Change{}, fmt.Errorf("the volume of the %s is %s; expected 0 L or more", m.Title, v)
	}
	for _, t := range []quantity.Kelvin{from, to} {
		if err := m.inRange(t); err != nil {
			return Change{}, err
		}
	}
	g := m.growth(from, to)
	c := Change{Title: m.Title, Before: v, From: from, To: to}
	c.Part = g.each(func(g float64) float64 { return g - 1 })
	c.Grown = c.Part.each(func(p float64) float64 { return p * float64(v) })
	c.After = c.Grown.each(func(d float64) float64 { return float64(v) + d })
	return c, nil
}

// Sentence tells it to a person in their units.
func (c Change) Sentence(u quantity.Units) string {
	word := "grow"
	low, high := c.Grown.Low, c.Grown.High
	if c.Grown.Mid < 0 {
		word, low, high = "shrink", -high, -low
	}
	by := u.VolumeText(quantity.CubicMetre(low))
	if upper := u.VolumeText(quantity.CubicMetre(high)); upper != by {
		by += " to " + upper
	}
	return fmt.Sprintf("From %s to %s, %s of %s %s by %s (%s %%).",
		matterDegrees(u, c.From), matterDegrees(u, c.To), u.VolumeText(c.Before), c.Title, word, by, quantity.Short(math.Abs(c.Part.Mid)*100, 1))
}

// Brim is at what temperature a tank that isn't full runs over.
type Brim struct {
	Title  string
	Filled quantity.Share  // of the water capacity, when it was filled
	At     quantity.Kelvin // the temperature then
	// Earliest is the temperature at which the lightest liquid it may be stands at
	// the brim, Latest that of the densest; 0 where that is beyond Hottest.
	Earliest, Latest quantity.Kelvin
	Hottest          quantity.Kelvin // how far it was looked
}

// Brim gives the temperature at which a tank filled to a part of its water
// capacity, above 0 and up to 1, at one temperature is full to the brim, when the
// liquid warms and nothing is drawn. The tank is taken for rigid and upright;
// tilted, it runs over before. Temperatures as for [Matter.Density].
//
// It is a caution for what has been filled already. It isn't a limit to fill
// up to: that is the permitted fill of the tank.
func (m Matter) Brim(filled quantity.Share, at quantity.Kelvin) (Brim, error) {
	if !(filled > 0 && filled <= 1) {
		return Brim{}, fmt.Errorf("the tank is filled to %s; expected more than 0 %% and no more than 100 %%", filled)
	}
	if err := m.inRange(at); err != nil {
		return Brim{}, err
	}
	_, hottest := m.ends()
	b := Brim{Title: m.Title, Filled: filled, At: at, Hottest: quantity.Celsius(hottest)}
	b.Earliest = m.reaches(1/float64(filled), at, b.Hottest, func(r Range) float64 { return r.High })
	b.Latest = m.reaches(1/float64(filled), at, b.Hottest, func(r Range) float64 { return r.Low })
	return b, nil
}

// reaches gives the temperature at which a liquid has grown by a factor, by
// halving; 0 where it doesn't up to the hottest. Growth rises throughout but for
// water below 4 °C, which has grown by nothing there.
func (m Matter) reaches(factor float64, at, hottest quantity.Kelvin, of func(Range) float64) quantity.Kelvin {
	if factor <= 1 {
		return at
	}
	if of(m.growth(at, hottest)) < factor {
		return 0
	}
	low, high := at, hottest
	for range 60 {
		mid := low + (high-low)/2
		if of(m.growth(at, mid)) < factor {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// Sentence tells it to a person in their units, with the earliest temperature
// cut down to whole degrees, and says that it is no limit to fill up to.
func (b Brim) Sentence(u quantity.Units) string {
	const no = "This is no mark to fill up to: keep to the permitted fill, and remember that a tank in the sun gets warmer than the air."
	filled := fmt.Sprintf("Filled to %s at %s", b.Filled, matterDegrees(u, b.At))
	switch {
	case b.Filled == 1:
		return fmt.Sprintf("%s, the tank is full to the brim: it runs over as soon as the %s warms. %s", filled, b.Title, no)
	case b.Earliest == 0:
		return fmt.Sprintf("%s, the %s has room to warm to %s. %s", filled, b.Title, matterDegrees(u, b.Hottest), no)
	}
	v, unit := u.TemperatureIn(b.Earliest)
	whole := quantity.Minus(quantity.Digits(math.Floor(v), 0))
	return fmt.Sprintf("%s, the %s can stand at the brim from %s %s, and runs over above that. %s", filled, b.Title, whole, unit, no)
}

// matterDegrees shows a temperature in a person's unit, with a true minus sign.
func matterDegrees(u quantity.Units, k quantity.Kelvin) string {
	return quantity.Minus(u.TemperatureText(k))
}
