package job

import (
	"gaugewright/internal/contents"
)

// Units of the rates of a load in SI.
const (
	perKW     = 1e3         // W
	perGPerH  = 1e-3 / 3600 // kg/s
	perLPerMn = 1e-3 / 60   // m³/s
	perLPerH  = 1e-3 / 3600 // m³/s
	perLitre  = 1e-3        // m³
)

// usualLoads are the kinds of appliances that draw from contents of a kind.
func usualLoads(c Contents) []contents.Load {
	switch c {
	case LPG:
		return contents.GasLoads()
	case Water, Waste: // what is drawn from the one runs into the other
		return contents.WaterLoads()
	case Diesel:
		return contents.DieselLoads()
	}
	return nil
}

// checkPreset says what is wrong with a load that goes by a preset.
func (l Load) checkPreset(c Contents) error {
	known, err := l.load(c)
	if err != nil {
		return err
	}
	return known.Check()
}

// load gives the load as it is reckoned with.
func (l Load) load(c Contents) (contents.Load, error) {
	var out contents.Load
	between := func(r *Range, unit float64) contents.Between {
		return contents.Between{Low: r.Low * unit, High: r.High * unit}
	}
	switch {
	case l.Preset != "":
		var err error
		if out, err = contents.LoadNamed(usualLoads(c), l.Preset); err != nil {
			return out, err
		}
	case l.KW != nil:
		out.Kind, out.Rate = contents.Watts, between(l.KW, perKW)
		out.Plate = map[string]contents.Plate{Net: contents.PlateNet, Gross: contents.PlateGross}[l.Plate]
	case l.GPerH != nil:
		out.Kind, out.Rate = contents.KilogramsPerSecond, between(l.GPerH, perGPerH)
	case l.LPerMin != nil:
		out.Kind, out.Rate = contents.CubicMetresPerSecond, between(l.LPerMin, perLPerMn)
	case l.LPerH != nil:
		out.Kind, out.Rate = contents.CubicMetresPerSecond, between(l.LPerH, perLPerH)
	case l.LPerDay != nil:
		out.Kind, out.Rate = contents.CubicMetresPerDay, between(l.LPerDay, perLitre)
	}
	if l.HoursPerDay != nil {
		out.HoursPerDay = between(l.HoursPerDay, 1)
	}
	if l.Name != "" {
		out.Name = l.Name
	}
	return out, nil
}

// Draws gives the tank's loads as they are reckoned with.
func (t Tank) Draws() ([]contents.Load, error) {
	out := make([]contents.Load, len(t.Loads))
	for i, l := range t.Loads {
		var err error
		if out[i], err = l.load(t.Contents); err != nil {
			return nil, err
		}
	}
	return out, nil
}
