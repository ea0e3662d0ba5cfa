package station

import (
	"gaugewright/internal/contents"
	"gaugewright/internal/docket"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// docketTank fills in what dockets are held against.
func (c *Config) docketTank(t Tank, a *about) {
	d := &a.Docket
	l := &a.Label
	d.Gas, d.Fuel, d.Units = l.Contents == job.LPG, l.Contents == job.Diesel || l.Contents == job.Petrol, l.Units
	if n := len(l.Volumes); n > 0 && l.Volumes[n-1] > 0 {
		d.Full = l.Volumes[n-1]
		shares, volumes := l.Shares, l.Volumes
		d.Content = func(level float64) float64 { return between(shares, volumes, level) / float64(volumes[n-1]) }
		if n == 2 && volumes[0] == 0 {
			d.Content = nil
		}
	}
	switch {
	case t.Job != "":
		c.docketJob(t, d)
	case t.Lower != nil && t.Upper != nil:
		lower, errLower := ohms(t.Lower.Text)
		upper, errUpper := ohms(t.Upper.Text)
		if errLower == nil && errUpper == nil {
			l, u := float64(lower), float64(upper)
			d.Lower, d.Upper = l, u
			d.Signal = func(level float64) float64 { return l + level*(u-l) }
			d.SignalUnit = "Ω"
		}
	}
	if d.Densities == nil {
		d.Densities, d.Guessed = usualDensities(l.Contents), d.Gas
	}
}

// docketJob takes what a job knows of its tank.
func (c *Config) docketJob(t Tank, d *docket.Tank) {
	_, found, err := c.jobTank(t)
	if err != nil {
		return // it was read before, and would have been told
	}
	d.Water, d.Kelvin = found.Capacity(), float64(found.Kelvin())
	if permitted := found.PermittedPct(); permitted > 0 && d.Full > 0 && d.Water > 0 {
		d.Permitted = permitted / 100 * float64(d.Water/d.Full)
	}
	if s, err := found.Substance(); err == nil {
		d.Densities = func(kelvin float64) (liquid, vapour float64, err error) {
			m, err := s.At(quantity.Kelvin(kelvin))
			return m.Liquid, m.Vapour, err
		}
		if _, _, err := d.Densities(288.15); err != nil {
			d.Densities = nil
		}
	}
}

// usualDensities are those of contents of which nothing else is known; nil: none.
func usualDensities(kind job.Contents) contents.Densities {
	switch kind {
	case job.LPG:
		mix, _, err := contents.Preset("commercial propane")
		if err != nil {
			return nil
		}
		return contents.MixDensities(mix)
	case job.Other, "":
		return nil
	}
	m, err := contents.MatterOf(string(kind))
	if err != nil {
		return nil
	}
	return contents.MatterDensities(m)
}

// between gives a volume at a level, straight between pairs.
func between(shares []quantity.Share, volumes []quantity.CubicMetre, level float64) float64 {
	n := len(shares)
	i := 1
	for i < n-1 && float64(shares[i]) < level {
		i++
	}
	from, to := float64(shares[i-1]), float64(shares[i])
	if to <= from {
		return float64(volumes[i])
	}
	f := (level - from) / (to - from)
	return float64(volumes[i-1]) + f*float64(volumes[i]-volumes[i-1])
}
