package quantity

import "math"

// Second is a length of time in seconds; it is shown in minutes, hours or days,
// whichever is easiest to grasp. A day has 24 hours.
type Second float64

// MassRate is a mass in a time, in kg/s; it is shown in kg/h.
type MassRate float64

// VolumeRate is a volume in a time, in m³/s; it is shown in L/h.
type VolumeRate float64

const (
	minute = 60.0 // s
	hour   = 60 * minute
	day    = 24 * hour
)

var (
	timeUnits = []unit{
		{"s", 1}, {"min", minute}, {"h", hour}, {"hour", hour}, {"hours", hour},
		{"d", day}, {"day", day}, {"days", day}, {"week", 7 * day}, {"weeks", 7 * day},
	}
	massRateUnits   = rates(massUnits)
	volumeRateUnits = rates(volumeUnits)
)

// rates gives every amount per second, minute, hour and day.
func rates(amounts []unit) []unit {
	var list []unit
	for _, a := range amounts {
		for _, t := range []unit{{"s", 1}, {"min", minute}, {"h", hour}, {"d", day}, {"day", day}} {
			list = append(list, unit{a.text + "/" + t.text, a.si / t.si})
		}
	}
	return list
}

// String gives the time in minutes below two hours, in hours below two days and
// in days from there, with up to one decimal: "45 min", "3 h", "2.5 days".
func (s Second) String() string {
	switch a := math.Abs(float64(s)); {
	case a < 2*hour:
		return Short(float64(s)/minute, 1) + " min"
	case a < 2*day:
		return Short(float64(s)/hour, 1) + " h"
	}
	return Short(float64(s)/day, 1) + " days"
}

// String gives the rate in kg/h with up to three decimals.
func (r MassRate) String() string { return Short(float64(r)*hour, 3) + " kg/h" }

// String gives the rate in L/h with up to three decimals.
func (r VolumeRate) String() string { return Short(float64(r)*hour/litre, 3) + " L/h" }

// ParseSecond reads a length of time with its unit: "3h", "45min", "2days",
// "2d".
func ParseSecond(text string) (Second, error) {
	v, err := parse(text, "a length of time", "3h", timeUnits)
	return Second(v), err
}

// ParseMassRate reads a mass in a time: "130g/h", "0.3kg/h", "2lb/day". It
// takes every unit that [ParseKilogram] takes, per s, min, h, d or day.
func ParseMassRate(text string) (MassRate, error) {
	v, err := parse(text, "a use by mass", "130g/h", massRateUnits)
	return MassRate(v), err
}

// ParseVolumeRate reads a volume in a time: "6L/min", "2L/day", "0.5L/h". It
// takes every unit that [ParseCubicMetre] takes, per s, min, h, d or day.
func ParseVolumeRate(text string) (VolumeRate, error) {
	v, err := parse(text, "a use by volume", "2L/day", volumeRateUnits)
	return VolumeRate(v), err
}
