package fitted

import (
	"fmt"
	"math"
	"strings"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Following says by what is known of a job's tank how its levels are to be followed:
// what a level comes to, what its loads can draw, and down to where.
func Following(t *job.Tank, in *watch.Instrument) flow.Config {
	c := FollowingOf(t.Contents, in)
	full := in.VolumeAt(1).Mid
	if !(full > 0) {
		return c
	}
	if heel, stated := t.Heel(); stated && !c.Fills {
		c.To = min(1, float64(heel)/full)
	}
	d, err := t.Drawing()
	if err != nil {
		return c // what can't be reckoned isn't known
	}
	if d.Steady > 0 {
		c.Steady = 3600 * d.Steady / full
	}
	if d.High > 0 {
		c.Prior, c.PriorSpread = prior(d.Low/full, d.High/full)
	}
	return c
}

// prior turns what may be drawn in a day, from the least to the most, into the middle
// and the spread of its logarithm: the ends are taken to hold nine cases of ten.
func prior(low, high float64) (mid, spread float64) {
	const ninety = 1.645        // standard deviations to either side hold 90 % of a normal law
	low = max(low, high/20)     // people needn't use it at all, and a logarithm needs something
	mid = math.Sqrt(low * high) // the middle of the logarithms
	return mid, max(0.25, math.Log(high/low)/2/ninety)
}

// FollowingOf is [Following] where no more than the contents is known.
func FollowingOf(contents job.Contents, in *watch.Instrument) flow.Config {
	c := flow.Config{Breathes: contents == job.LPG, Fills: contents == job.Waste}
	if contents == job.Water || contents == job.Waste {
		c.Steady = -1 // taps are closed again
	}
	if full := in.VolumeAt(1).Mid; full > 0 {
		c.Content = func(share float64) float64 { return in.VolumeAt(quantity.Share(share)).Mid / full }
	}
	if c.Fills {
		c.To = 1
	}
	return c
}

// LargestLoad is the largest load that draws for hours without a pause, as people
// state it; see [ParseLargestLoad].
type LargestLoad struct {
	text   string
	none   bool
	volume float64 // m³/h
	mass   float64 // kg/h
	part   float64 // of the full scale, an hour
}

// ParseLargestLoad reads "none", or a rate: "0.3L/h", "40g/h", "0.5%/h" of the scale.
func ParseLargestLoad(text string) (LargestLoad, error) {
	l := LargestLoad{text: text}
	trimmed := strings.TrimSpace(text)
	if strings.EqualFold(trimmed, "none") {
		l.none = true
		return l, nil
	}
	if part, ok := strings.CutSuffix(strings.ReplaceAll(trimmed, " ", ""), "%/h"); ok {
		v, err := quantity.ParseNumber(part, false)
		l.part = v / 100
		return l, l.above(err, v)
	}
	if v, err := quantity.ParseVolumeRate(trimmed); err == nil {
		l.volume = 3600 * float64(v)
		return l, l.above(nil, l.volume)
	}
	v, err := quantity.ParseMassRate(trimmed)
	l.mass = 3600 * float64(v)
	return l, l.above(err, l.mass)
}

// above refuses what is no rate.
func (l LargestLoad) above(err error, v float64) error {
	switch {
	case err != nil:
		return fmt.Errorf("found %q; expected the largest load that runs for hours, such as 0.3L/h, 40g/h or 0.5%%/h, or none", l.text)
	case !(v > 0) || math.IsInf(v, 0):
		return fmt.Errorf("found %q; expected a rate above 0, or none", l.text)
	}
	return nil
}

// Of gives it as [flow.Config] has it in Steady: parts of the full scale an hour,
// below 0 for none. The error says what isn't known of the tank for that.
func (l LargestLoad) Of(in *watch.Instrument) (float64, error) {
	full := in.VolumeAt(1).Mid
	switch {
	case l.none:
		return -1, nil
	case l.part > 0:
		return l.part, nil
	case !(full > 0):
		return 0, fmt.Errorf("%s can't be held against a tank whose capacity isn't known; state the capacity, or the load in percent of the scale such as 0.5%%/h", l.text)
	case l.volume > 0:
		return l.volume / full, nil
	}
	kg := KilogramsPerFull(in)
	if !(kg > 0) {
		return 0, fmt.Errorf("%s can't be held against a tank whose contents have no known weight; write it in litres: %s", l.text, inLitres(l.mass))
	}
	return l.mass / kg, nil
}

// inLitres says how many litres an hour a load in kg/h comes to with the usual contents
// at [job.UsualCelsius]: "0.04L/h of water, 0.05L/h of diesel".
func inLitres(mass float64) string {
	var list []string
	for _, c := range []job.Contents{job.LPG, job.Diesel, job.Petrol, job.Water} {
		t := job.Tank{Contents: c}
		if c == job.LPG {
			t.Gas = &job.Gas{Propane: 1}
		}
		s, err := t.Substance()
		if err != nil {
			continue
		}
		if m, err := s.At(quantity.Celsius(job.UsualCelsius)); err == nil && m.Density.Liquid > 0 {
			list = append(list, quantity.Short(1000*mass/m.Density.Liquid, 3)+"L/h of "+string(c))
		}
	}
	return strings.Join(list, ", ")
}

// KilogramsPerFull gives how many kilograms what the full scale holds comes to where
// it goes in or out; NaN where that isn't known. Of gas the vapour that takes the
// liquid's place is reckoned in.
func KilogramsPerFull(in *watch.Instrument) float64 {
	full := in.VolumeAt(1).Mid
	return (in.MassAt(1).Mid - in.MassAt(0).Mid) / (1 - in.VolumeAt(0).Mid/full)
}

// ParseHours reads hours of the day: "22:00-06:00".
func ParseHours(text string) (flow.Hours, error) {
	wrong := fmt.Errorf("found %q; expected hours of the day such as 22:00-06:00", text)
	from, to, ok := strings.Cut(text, "-")
	if !ok {
		return flow.Hours{}, wrong
	}
	var h flow.Hours
	for _, end := range []struct {
		text string
		into *time.Duration
	}{{from, &h.From}, {to, &h.To}} {
		trimmed := strings.TrimSpace(end.text)
		if trimmed == "24:00" {
			*end.into = 24 * time.Hour
			continue
		}
		at, err := time.Parse("15:04", trimmed)
		if err != nil {
			return flow.Hours{}, wrong
		}
		*end.into = time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
	}
	if h.From == h.To {
		return flow.Hours{}, fmt.Errorf("found %q, which is no time at all; expected two times that differ, such as 22:00-06:00", text)
	}
	return h, nil
}
