package station

import (
	"fmt"
	"strings"

	"gaugewright/internal/fitted"
	"gaugewright/internal/flow"
	"gaugewright/internal/watch"
)

// Off are hours of the day in which everything at a tank is off.
type Off []flow.Hours

// UnmarshalTOML takes "22:00-06:00", several with commas between, or a list.
func (o *Off) UnmarshalTOML(v any) error {
	var texts []string
	switch v := v.(type) {
	case string:
		texts = strings.Split(v, ",")
	case []any:
		for _, one := range v {
			texts = append(texts, fmt.Sprint(one))
		}
	default:
		return fmt.Errorf(`found %v; expected hours of the day such as "22:00-06:00"`, v)
	}
	*o = nil
	for _, text := range texts {
		h, err := fitted.ParseHours(text)
		if err != nil {
			return err
		}
		*o = append(*o, h)
	}
	return nil
}

// following adds what the configuration says of how a tank's levels are followed.
func (a *about) following(t Tank, in *watch.Instrument) error {
	if t.LargestLoad != "" {
		load, err := fitted.ParseLargestLoad(t.LargestLoad)
		if err == nil {
			a.Follows.Steady, err = load.Of(in)
		}
		if err != nil {
			return fmt.Errorf("largest_load: %w", err)
		}
	}
	a.Follows.Off = t.Off
	a.Full, a.FullMass = known(in.VolumeAt(1).Mid), known(fitted.KilogramsPerFull(in))
	return nil
}

// known gives a quantity, 0 where it isn't known.
func known(v float64) float64 {
	if v > 0 {
		return v
	}
	return 0
}
