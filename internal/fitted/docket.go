package fitted

import (
	"gaugewright/internal/contents"
	"gaugewright/internal/curve"
	"gaugewright/internal/docket"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Docketed gives what dockets of a job's tank are held against: what its scale holds,
// where a filling stops, what is in it, and what the sender gives at each level.
func Docketed(t *job.Tank) docket.Tank {
	d := docketed(t.Contents)
	d.Water, d.Kelvin = t.Capacity(), float64(t.Kelvin())
	if inside, err := t.Inside(); err == nil && inside.Capacity() > 0 {
		d.Water = inside.Capacity()
		of := func(level float64) float64 {
			part, _ := inside.OfLevel(quantity.Share(level), 0)
			return float64(part) * float64(d.Water)
		}
		if full := of(1); full > 0 {
			d.Full = quantity.CubicMetre(full)
			d.Content = func(level float64) float64 { return of(level) / full }
			if permitted := t.PermittedPct(); permitted > 0 {
				d.Permitted = permitted / 100 * float64(d.Water) / full
			}
			if heel, ok := t.Heel(); ok {
				d.Heel = float64(heel) / full
			}
		}
	}
	if s, err := t.Substance(); err == nil {
		d.Densities = func(kelvin float64) (liquid, vapour float64, err error) {
			m, err := s.At(quantity.Kelvin(kelvin))
			return m.Liquid, m.Vapour, err
		}
		d.Guessed = false
	}
	d.Signal, d.SignalUnit = given(t)
	if s := t.Setting; s != nil && s.LowerOhm != nil && s.UpperOhm != nil {
		d.Lower, d.Upper = *s.LowerOhm, *s.UpperOhm
	}
	if s := t.Setting; s != nil && (len(s.Table) > 0 || len(s.ThenTable) > 0) {
		d.Signal = nil // two end values aren't what is keyed in
	}
	return d
}

// DocketedEnds gives the same of a tank that is known by its end values, its capacity (0:
// not known) and its contents ("": not known).
func DocketedEnds(lower, upper quantity.Ohm, capacity quantity.CubicMetre, kind job.Contents) docket.Tank {
	d := docketed(kind)
	d.Full, d.Lower, d.Upper = capacity, float64(lower), float64(upper)
	d.Signal = func(level float64) float64 { return float64(lower) + level*float64(upper-lower) }
	d.SignalUnit = "Ω"
	return d
}

func docketed(kind job.Contents) (d docket.Tank) {
	d.Gas, d.Fuel = kind == job.LPG, kind == job.Diesel || kind == job.Petrol
	switch kind {
	case job.LPG:
		// What is sold for vehicles lies between propane and butane.
		if mix, _, err := contents.Preset("EN 589 winter"); err == nil {
			d.Densities, d.Guessed = contents.MixDensities(mix), true
		}
	case job.Other, "":
	default:
		if m, err := contents.MatterOf(string(kind)); err == nil {
			d.Densities = contents.MatterDensities(m)
		}
	}
	return d
}

// given gives what the sender gives at a level on the scale, and in which unit; nil where
// that isn't known.
func given(t *job.Tank) (func(level float64) float64, string) {
	c, err := t.Curve()
	if err != nil || !c.Ordered() {
		return nil, ""
	}
	s, err := t.Scale()
	if err != nil {
		return nil, ""
	}
	low, high := s.Whole()
	const n = 200
	var values [n + 1]float64
	for i := range values {
		// The mark at which the scale is at the level: it rises with the mark.
		from, to := low, high
		for range 50 {
			mid := (from + to) / 2
			if float64(s.Target(mid)) < float64(i)/n {
				from = mid
			} else {
				to = mid
			}
		}
		a := c.Ohm((from+to)/2, curve.Continue)
		if !a.Known {
			return nil, ""
		}
		values[i] = float64(a.Ohm)
	}
	if values[0] == values[n] {
		return nil, ""
	}
	return func(level float64) float64 {
		p := min(max(level, 0), 1) * n
		i := min(int(p), n-1)
		return values[i] + (p-float64(i))*(values[i+1]-values[i])
	}, c.Signal().Symbol()
}
