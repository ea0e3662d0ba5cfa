package job

import (
	"fmt"
	"strconv"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// rules lists what is wrong with a job that the schema allows.
func (j *Job) rules() []problem {
	var out []problem
	first := map[string]string{}
	for i, t := range j.Tanks {
		r := ruler{path: []string{"tanks", strconv.Itoa(i)}}
		folded := strings.ToLower(strings.TrimSpace(t.Name))
		if _, twice := first[folded]; twice {
			r.say([]any{"name"}, "a second tank named %s; give each tank a name of its own", quoted(t.Name))
		}
		first[folded] = t.Name
		r.tank(t)
		out = append(out, r.problems...)
	}
	return out
}

// ruler checks one tank.
type ruler struct {
	path     []string
	problems []problem
}

// say notes a problem at a place below the tank.
func (r *ruler) say(place []any, format string, args ...any) {
	path := append([]string(nil), r.path...)
	for _, p := range place {
		path = append(path, fmt.Sprint(p))
	}
	r.problems = append(r.problems, problem{path: path, msg: fmt.Sprintf(format, args...)})
}

func (r *ruler) tank(t Tank) {
	for i, c := range t.Sender.Claimed {
		if c.EmptyOhm == c.FullOhm {
			r.say([]any{"sender", "claimed", i}, "both ends are claimed to be %g ohm; a span has two different ends", c.EmptyOhm)
		}
	}
	unit := t.Unit()
	for i, reading := range t.Bench.Readings {
		r.unit([]any{"bench", "readings", i}, reading.Mark, unit)
	}
	for i, c := range t.Checks {
		for k, p := range c.Readings {
			r.unit([]any{"checks", i, "readings", k}, p.Mark, unit)
		}
	}
	if t.Setting != nil {
		r.setting(t, *t.Setting, unit)
	}
}

// unit refuses a mark in another unit than the tank's first.
func (r *ruler) unit(place []any, mark func() (float64, curve.MarkUnit, bool), unit curve.MarkUnit) {
	if _, own, ok := mark(); ok && own != unit {
		r.say(append(place, own.Column()), "a mark in %s, and the tank's first mark is in %s; all marks of a tank are in one unit", own.Symbol(), unit.Symbol())
	}
}

func (r *ruler) setting(t Tank, s Setting, unit curve.MarkUnit) {
	place := []any{"setting"}
	if s.LowerOhm != nil && s.UpperOhm != nil && *s.LowerOhm == *s.UpperOhm {
		r.say(append(place, "upper_ohm"), "both end values are %g ohm, so nothing could be shown between them", *s.UpperOhm)
	}
	for i := 1; i < len(s.Table); i++ {
		if before, here := s.Table[i-1].Ohm, s.Table[i].Ohm; !(here > before) {
			r.say(append(place, "table", i, "ohm"), "%g ohm after %g ohm; the ohms of a table rise from each entry to the next", here, before)
		}
	}
	fine := true
	for _, m := range []struct {
		name string
		mark *float64
	}{{"empty_mark", s.EmptyMark}, {"full_mark", s.FullMark}} {
		if m.mark != nil && *m.mark > unit.Limit() {
			r.say(append(place, m.name), "found %g, expected up to %g, as the tank's marks are in %s", *m.mark, unit.Limit(), unit.Symbol())
			fine = false
		}
	}
	// A bench that is still being read may not have its ends yet; those that
	// are stated have to make sense at any time.
	if unit == curve.Dial || s.EmptyMark != nil && s.FullMark != nil {
		if _, _, err := t.Ends(); err != nil && fine {
			r.say(place, "%v", err)
			fine = false
		}
	}
	if s.Scale != string(scale.Fill) {
		return
	}
	if t.PermittedFillPct == 0 {
		r.say(append(place, "scale"), "the scale \"fill\" needs the tank's permitted_fill_pct; state it, or choose \"mark\"")
		return
	}
	if err := t.overfills(); err != nil && fine {
		r.say(append(place, "scale"), "%v", err)
	}
}

// overfills refuses a fill scale that could lead to a gas tank being filled too
// far: one that shows 100 % above [MaxLPGFillPct] of the water capacity, and
// one for which that can't be told. A height is no part of the volume: in a
// lying cylinder with flat ends 80 % of the height is 85.8 % of the volume
// (V/V₀ = (acos k − k√(1−k²))/π with k = 1 − 2h/D). Nor is a weight, without
// the density.
func (t Tank) overfills() error {
	if t.Contents != LPG || t.Setting == nil || t.Setting.Scale != string(scale.Fill) {
		return nil
	}
	unit := t.Unit()
	whole := 100.0
	switch unit {
	case curve.Height, curve.Mass:
		return fmt.Errorf("for lpg the scale \"fill\" needs marks in %% of the volume or in L; from a mark in %s it can't be told how full the tank is; choose \"mark\"", unit.Symbol())
	case curve.Volume:
		whole = t.WaterCapacityL
		if whole == 0 {
			return fmt.Errorf("for lpg the scale \"fill\" on marks in L needs the tank's water_capacity_l; state it, or choose \"mark\"")
		}
	}
	empty, full, err := t.Ends()
	if err != nil {
		return nil // there is no scale yet, and so nothing is shown
	}
	top := empty + t.PermittedFillPct/100*(full-empty)
	if top > MaxLPGFillPct/100.0*whole*(1+1e-9) {
		return fmt.Errorf("this scale would show 100 %% at %s %s, above %d %% of the tank; for lpg that is not accepted; correct permitted_fill_pct, empty_mark or full_mark",
			quantity.Short(top, 2), unit.Symbol(), MaxLPGFillPct)
	}
	return nil
}
