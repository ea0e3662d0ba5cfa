package station

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/feed"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/web"
)

// Alarm is an alarm of one's own: [alarm.NAME]. It takes the place of the usual ones of
// its kind.
type Alarm struct {
	Tank string     `toml:"tank"`
	Kind alarm.Kind `toml:"kind"` // low, high, leak, fault, stale, rate
	// Setpoint is a level ("15%"), an amount ("20L") or, of low, a time that it lasts
	// ("24h"); of rate an amount in a time ("5%/h", "2L/h").
	Setpoint string         `toml:"setpoint"`
	Deadband string         `toml:"deadband"` // by how much it has to come back, as the setpoint
	OnDelay  *feed.Duration `toml:"on_delay"`
	OffDelay *feed.Duration `toml:"off_delay"`
	Priority alarm.Priority `toml:"priority"` // critical, high, medium, low
	Says     string         `toml:"says"`     // what to do, in a sentence
}

// Values of [Tank.Alarms].
const (
	usualAlarms = "usual"
	noAlarms    = "none"
)

// longestSays is how long what an alarm says may be, in bytes.
const longestSays = 300

// rules gives the alarms of a tank. All that is wrong with those of one's own is told.
func (c *Config) rules(tank string, l web.Label) ([]alarm.Rule, error) {
	var own []alarm.Rule
	var faults []error
	for _, n := range slices.Sorted(maps.Keys(c.Alarm)) {
		if a := c.Alarm[n]; a.Tank == tank {
			r, err := a.rule(n, l)
			if err != nil {
				faults = append(faults, fmt.Errorf("[alarm.%s]: %w", n, err))
			}
			if r.Kind == alarm.Leak && l.Contents == job.LPG && r.Says == "" {
				r.Says = alarm.GasLeaks
			}
			own = append(own, r)
		}
	}
	switch c.Tank[tank].Alarms {
	case "", usualAlarms:
		for _, r := range alarm.Usual(alarm.About{Tank: tank, Fills: l.Contents == job.Waste, Gas: l.Contents == job.LPG, Permitted: permitted(l)}) {
			if !slices.ContainsFunc(own, func(o alarm.Rule) bool { return o.Kind == r.Kind }) {
				own = append(own, r)
			}
		}
	case noAlarms:
	default:
		faults = append(faults, fmt.Errorf(`[tank.%s]: alarms is %q; expected "usual" or "none"`, tank, c.Tank[tank].Alarms))
	}
	for i, r := range own {
		if slices.ContainsFunc(own[:i], func(o alarm.Rule) bool { return o.ID == r.ID }) {
			faults = append(faults, fmt.Errorf("[alarm.%s]: the usual alarm of kind %s has that name; expected another", strings.TrimPrefix(r.ID, tank+"/"), r.Kind))
		}
	}
	return own, errors.Join(faults...)
}

// permitted is where the permitted fill of a gas stands on the scale; 0: it can't be
// told from the level that there is more.
func permitted(l web.Label) float64 {
	if l.Contents != job.LPG {
		return 0
	}
	return float64(l.Permitted)
}

// checkAlarms says what of the alarms can't be whatever their tanks are.
func (c *Config) checkAlarms() (faults []error) {
	for _, n := range slices.Sorted(maps.Keys(c.Alarm)) {
		a := c.Alarm[n]
		if !name.MatchString(n) {
			faults = append(faults, fmt.Errorf("[alarm.%q]: a name has letters, digits, - and _ only, and begins with a letter or a digit", n))
		}
		if _, known := c.Tank[a.Tank]; !known {
			faults = append(faults, fmt.Errorf("[alarm.%s]: no tank is called %q; expected tank = one of %s", n, a.Tank, strings.Join(slices.Sorted(maps.Keys(c.Tank)), ", ")))
		}
	}
	return faults
}

// rule makes an alarm of its configuration.
func (a Alarm) rule(n string, l web.Label) (alarm.Rule, error) {
	if !slices.Contains(alarm.Kinds, a.Kind) {
		return alarm.Rule{}, fmt.Errorf("kind is %q; expected low, high, leak, fault, stale or rate", a.Kind)
	}
	r := alarm.Default(a.Tank, a.Kind)
	r.ID, r.Says = a.Tank+"/"+n, a.Says
	if a.Priority != "" {
		r.Priority = a.Priority
	}
	if a.OnDelay != nil {
		r.On = time.Duration(*a.OnDelay)
	}
	if a.OffDelay != nil {
		r.Off = time.Duration(*a.OffDelay)
	}
	switch {
	case !slices.Contains(alarm.Priorities, r.Priority):
		return r, fmt.Errorf("priority is %q; expected critical, high, medium or low", a.Priority)
	case len(a.Says) > longestSays:
		return r, fmt.Errorf("says has %d bytes; expected a sentence of at most %d", len(a.Says), longestSays)
	case r.On > 365*24*time.Hour || r.Off > 365*24*time.Hour:
		return r, errors.New("a delay is longer than a year")
	case a.Kind == alarm.Stale && r.On < time.Minute:
		return r, fmt.Errorf("on_delay is %v; expected a minute or more of silence", r.On)
	}
	switch a.Kind {
	case alarm.Leak, alarm.Fault, alarm.Stale:
		if a.Setpoint != "" || a.Deadband != "" {
			return r, fmt.Errorf("an alarm of kind %s has no setpoint and no deadband; expected none", a.Kind)
		}
		return r, nil
	case alarm.Rate:
		return a.rate(r, l)
	}
	return a.level(r, l)
}

// level fills in the setpoint and the deadband of a low or a high.
func (a Alarm) level(r alarm.Rule, l web.Label) (alarm.Rule, error) {
	text := strings.TrimSpace(a.Setpoint)
	if text == "" {
		return a.band(r, l)
	}
	if share, err := quantity.ParseShare(text); err == nil {
		r.Setpoint, r.Setting = float64(share), alarm.Percent(float64(share))
	} else if v, err := quantity.ParseCubicMetre(text); err == nil {
		at, err := shareOf(l, v)
		if err != nil {
			return r, fmt.Errorf("setpoint: %w", err)
		}
		r.Setpoint, r.Setting = at, l.Units.VolumeText(v)
	} else if t, err := quantity.ParseSecond(text); err == nil && a.Kind == alarm.Low {
		if t < 60 || t > 365*24*3600 {
			return r, fmt.Errorf(`setpoint is %q; expected a minute to a year`, text)
		}
		r.Left, r.Setting, r.Setpoint, r.Deadband = time.Duration(float64(t)*float64(time.Second)), t.String(), 0, 0.25
	} else {
		return r, fmt.Errorf(`setpoint is %q; expected a level or an amount, like "15%%" or "20L", or of low a time that it lasts, like "24h"`, text)
	}
	if r.Left == 0 && !(r.Setpoint > 0 && r.Setpoint < 1) {
		return r, fmt.Errorf("setpoint is %q, which is at an end of the scale or beyond; expected one between", text)
	}
	return a.band(r, l)
}

// band fills in the deadband.
func (a Alarm) band(r alarm.Rule, l web.Label) (alarm.Rule, error) {
	text := strings.TrimSpace(a.Deadband)
	if text == "" {
		// Where it is nearer to the scale's end than that, the level could never come back.
		if r.Kind == alarm.Low {
			r.Deadband = min(r.Deadband, (1-r.Setpoint)/2)
		} else {
			r.Deadband = min(r.Deadband, r.Setpoint/2)
		}
		if r.Left > 0 {
			r.Deadband = 0.25
		}
		return r, nil
	}
	if r.Left > 0 {
		t, err := quantity.ParseSecond(text)
		if err != nil || t < 0 {
			return r, fmt.Errorf(`deadband is %q; expected a time as the setpoint is one, like "6h"`, text)
		}
		r.Deadband = float64(t) / r.Left.Seconds()
		return r, nil
	}
	share, err := quantity.ParseShare(text)
	if err != nil {
		v, err := quantity.ParseCubicMetre(text)
		if err != nil {
			return r, fmt.Errorf(`deadband is %q; expected points or an amount, like "3%%" or "2L"`, text)
		}
		full, err := capacity(l)
		if err != nil {
			return r, fmt.Errorf("deadband: %w", err)
		}
		share = quantity.Share(v / full)
	}
	r.Deadband = float64(share)
	if back := r.Setpoint + r.Deadband; r.Kind == alarm.Low && back >= 1 || r.Deadband < 0 || r.Kind == alarm.High && r.Setpoint-r.Deadband <= 0 {
		return r, fmt.Errorf("deadband is %q; the level could never come back by that much", text)
	}
	return r, nil
}

// rate fills in the setpoint and the deadband of an alarm about a rate.
func (a Alarm) rate(r alarm.Rule, l web.Label) (alarm.Rule, error) {
	of := func(what, text string) (float64, string, error) {
		if part, ok := strings.CutSuffix(strings.ReplaceAll(text, " ", ""), "%/h"); ok {
			if v, err := quantity.ParseNumber(part, false); err == nil && v >= 0 {
				return v / 100, quantity.Short(v, 2) + " % an hour", nil
			}
		}
		v, err := quantity.ParseVolumeRate(text)
		if err != nil || v < 0 {
			return 0, "", fmt.Errorf(`%s is %q; expected an amount in a time, like "5%%/h" or "2L/h"`, what, text)
		}
		full, err := capacity(l)
		if err != nil {
			return 0, "", fmt.Errorf("%s: %w", what, err)
		}
		return float64(v) * 3600 / float64(full), v.String(), nil
	}
	var err error
	if r.Setpoint, r.Setting, err = of("setpoint", a.Setpoint); err != nil {
		return r, err
	}
	if r.Setpoint == 0 {
		return r, errors.New("setpoint is 0; expected a rate above it")
	}
	r.Deadband = r.Setpoint / 5
	if a.Deadband != "" {
		if r.Deadband, _, err = of("deadband", a.Deadband); err == nil && r.Deadband >= r.Setpoint {
			err = fmt.Errorf("deadband is %q; expected less than the setpoint", a.Deadband)
		}
	}
	return r, err
}

// errNoCapacity says that litres mean nothing for a tank.
var errNoCapacity = errors.New("what the tank holds isn't known, so litres can't be told from its level; expected points of the scale, or the tank's capacity")

// capacity is what the full scale holds.
func capacity(l web.Label) (quantity.CubicMetre, error) {
	if n := len(l.Volumes); n > 0 && l.Volumes[n-1] > 0 {
		return l.Volumes[n-1], nil
	}
	return 0, errNoCapacity
}

// shareOf is the level on the scale at which there is so much.
func shareOf(l web.Label, v quantity.CubicMetre) (float64, error) {
	full, err := capacity(l)
	if err != nil {
		return 0, err
	}
	if v <= 0 || v >= full {
		return 0, fmt.Errorf("%s isn't between none and the %s that the scale goes up to", v, full)
	}
	for i := 1; i < len(l.Volumes); i++ {
		if a, b := l.Volumes[i-1], l.Volumes[i]; v <= b && b > a {
			part := max(0, float64((v-a)/(b-a)))
			return float64(l.Shares[i-1]) + part*float64(l.Shares[i]-l.Shares[i-1]), nil
		}
	}
	return 0, errNoCapacity
}

// contentOf gives what a level on the scale comes to, in parts of what the full scale
// holds.
func contentOf(l web.Label) func(float64) float64 {
	full, err := capacity(l)
	if err != nil {
		return nil
	}
	return func(share float64) float64 {
		for i := 1; i < len(l.Shares); i++ {
			if a, b := float64(l.Shares[i-1]), float64(l.Shares[i]); share <= b && b > a {
				part := max(0, (share-a)/(b-a))
				return float64(l.Volumes[i-1]+quantity.CubicMetre(part)*(l.Volumes[i]-l.Volumes[i-1])) / float64(full)
			}
		}
		return 1
	}
}

// alarmsOf gives how the alarms of a tank are watched.
func (c *Config) alarmsOf(tank string, l web.Label, zone *time.Location) (alarm.Config, error) {
	rules, err := c.rules(tank, l)
	out := alarm.Config{Label: l.Label, Rules: rules, Zone: zone, Content: contentOf(l)}
	if full, err := capacity(l); err == nil {
		out.Amount = func(part float64) string { return l.Units.VolumeText(quantity.CubicMetre(part) * full) }
		out.Speed = func(part float64) string {
			v, unit := l.Units.VolumeIn(quantity.CubicMetre(part) * full)
			return fmt.Sprintf("%s %s an hour", quantity.Short(v, 2), unit)
		}
	}
	return out, err
}
