package contents

import (
	"fmt"

	"gaugewright/internal/wording"
)

// Units of the tables below.
const (
	loadsKW      = 1e3         // W
	loadsGPerH   = 1e-3 / 3600 // kg/s
	loadsLPerMin = 1e-3 / 60   // m³/s
	loadsLPerH   = 1e-3 / 3600 // m³/s
	loadsLitre   = 1e-3        // m³
)

func loadsPreset(name string, kind RateKind, unit, low, high, hoursLow, hoursHigh float64) Load {
	return Load{Name: name, Kind: kind, Rate: Between{low * unit, high * unit}, HoursPerDay: Between{hoursLow, hoursHigh}, Practice: true}
}

// GasLoads gives usual appliances that burn LPG, rates and hours as ranges, to
// begin with where nothing is stated: common practice, no source. What stands
// on an appliance's plate, and how long it really runs, comes before them.
//
// Ratings in kW may be net or gross. The fridge's is a running mean over day
// and night; the heaters' is for full flame, so their hours are those of flame.
func GasLoads() []Load {
	kw := func(name string, low, high, hoursLow, hoursHigh float64) Load {
		return loadsPreset(name, Watts, loadsKW, low, high, hoursLow, hoursHigh)
	}
	return []Load{
		kw("hob burner", 1, 3, 0.5, 1.5),
		kw("oven or grill", 1.2, 2.5, 0.2, 0.8),
		kw("absorption fridge", 0.15, 0.4, 24, 24),
		kw("small space heater", 1.8, 2.2, 3, 12),
		kw("large space heater", 5.4, 6.6, 2, 8),
		kw("storage water heater", 0.8, 2, 0.5, 1.5),
		kw("instant water heater", 8, 12, 0.1, 0.4),
		loadsPreset("generator, 2 kW electric", KilogramsPerSecond, loadsGPerH, 600, 1200, 1, 4),
		loadsPreset("gas lamp", KilogramsPerSecond, loadsGPerH, 12, 20, 2, 5),
	}
}

// WaterLoads gives usual draws of water, for one or two people who live with a
// tank: common practice, no source.
func WaterLoads() []Load {
	return []Load{
		loadsPreset("tap", CubicMetresPerSecond, loadsLPerMin, 2, 6, 0.05, 0.15),
		loadsPreset("shower", CubicMetresPerSecond, loadsLPerMin, 4, 8, 0.05, 0.2),
		{Name: "toilet flush", Kind: CubicMetresPerUse, Rate: Between{0.3 * loadsLitre, 1.5 * loadsLitre}, UsesPerDay: Between{3, 10}, Practice: true},
	}
}

// DieselLoads gives what burns diesel beside the engine: common practice, no
// source.
func DieselLoads() []Load {
	return []Load{
		loadsPreset("diesel heater", CubicMetresPerSecond, loadsLPerH, 0.1, 0.5, 3, 12),
	}
}

// LoadNamed finds a load of a list by its name. Where there is none the error
// lists the names.
func LoadNamed(list []Load, name string) (Load, error) {
	names := make([]string, len(list))
	for i, l := range list {
		if l.Name == name {
			return l, nil
		}
		names[i] = fmt.Sprintf("%q", l.Name)
	}
	if len(names) == 0 {
		return Load{}, fmt.Errorf("no load is called %q, and none is known for these contents; state its rate", wording.Clip(name, 40))
	}
	return Load{}, fmt.Errorf("no load is called %q; expected %s", wording.Clip(name, 40), wording.Several(names, "or"))
}
