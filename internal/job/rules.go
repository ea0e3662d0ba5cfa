package job

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/strict"
)

// rules lists what is wrong with a job that the schema allows.
func (j *Job) rules() []strict.Problem {
	var out []strict.Problem
	first := map[string]string{}
	for i, t := range j.Tanks {
		r := ruler{path: []string{"tanks", strconv.Itoa(i)}}
		folded := strings.ToLower(strings.TrimSpace(t.Name))
		if _, twice := first[folded]; twice {
			r.say([]any{"name"}, "a second tank named %s; give each tank a name of its own", strict.Quoted(t.Name))
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
	problems []strict.Problem
}

// say notes a problem at a place below the tank.
func (r *ruler) say(place []any, format string, args ...any) {
	path := append([]string(nil), r.path...)
	for _, p := range place {
		path = append(path, fmt.Sprint(p))
	}
	r.problems = append(r.problems, strict.Problem{Path: path, Msg: fmt.Sprintf(format, args...)})
}

func (r *ruler) tank(t Tank) {
	if w := t.Wire; w != nil {
		switch {
		case w.AWG != nil && w.AreaMM2 > 0:
			r.say([]any{"wire", "awg"}, "area_mm2 and awg both say how thick the wire is; delete one of them")
		case w.AWG == nil && w.AreaMM2 == 0:
			r.say([]any{"wire"}, "the wire has neither area_mm2 nor awg; state one of them")
		}
	}
	for i, c := range t.Sender.Claimed {
		if c.EmptyOhm == c.FullOhm {
			r.say([]any{"sender", "claimed", i}, "both ends are claimed to be %s; a span has two different ends", amount(t.Signal(), c.EmptyOhm))
		}
	}
	if t.Shape != nil {
		r.shape(t)
	}
	r.heel(t)
	r.contents(t)
	r.signals(t)
	if t.Sender.Known != nil {
		r.known(t)
	}
	unit := t.Unit()
	r.bench([]any{"bench"}, t, t.Bench)
	for i, s := range t.Services {
		r.bench([]any{"services", i}, t, s.Bench)
	}
	for i, c := range t.Checks {
		if c.MarkDoubt != nil {
			r.markDoubt([]any{"checks", i, "mark_doubt"}, *c.MarkDoubt, unit)
		}
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
	place, field := []any{"setting"}, "ohm"
	if s.Numbers != OfOhms {
		field = "value"
	}
	if s.LowerOhm != nil && s.UpperOhm != nil && *s.LowerOhm == *s.UpperOhm {
		r.say(append(place, "upper_"+field), "both end values are %s, so nothing could be shown between them", amount(t.Signal(), *s.UpperOhm))
	}
	for i := 1; i < len(s.Table); i++ {
		if before, here := s.Table[i-1].Ohm, s.Table[i].Ohm; !(here > before) {
			r.say(append(place, "table", i, field), "%s after %s; the %s of a table rise from each entry to the next", amount(t.Signal(), here), amount(t.Signal(), before), t.Signal().Figures())
		}
	}
	r.limits(place, s)
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
	kind := scale.Kind(s.Scale)
	if lack := t.lacks(kind); lack != "" {
		r.say(append(place, "scale"), "the scale %q needs the tank's %s; state it, or choose \"mark\"", kind, lack)
		return
	}
	if !fine || t.Shape != nil && t.hangs() {
		return // what is in other files is seen when the scale is asked for
	}
	if err := t.overfills(); err != nil {
		r.say(append(place, "scale"), "%v", err)
		return
	}
	if kind != scale.Volume && kind != scale.Usable {
		return
	}
	if _, err := t.Filling(); err != nil && t.Shape == nil {
		r.say(append(place, "scale"), "%v", err)
	}
}

// limits refuses what can't be of the readout of a setting: a correction that
// doesn't rise, or doesn't go from 0 to 100 %, and limits that leave nothing.
func (r *ruler) limits(place []any, s Setting) {
	table := append(append([]any(nil), place...), "then_table")
	for i, c := range s.ThenTable {
		at := append(append([]any(nil), table...), i, "in_pct")
		switch last := len(s.ThenTable) - 1; {
		case i > 0 && !(c.InPct > s.ThenTable[i-1].InPct):
			r.say(at, "%g after %g; what comes in rises from each entry to the next", c.InPct, s.ThenTable[i-1].InPct)
		case i == 0 && c.InPct != 0:
			r.say(at, "found %g; the first entry is for 0", c.InPct)
		case i == last && c.InPct != 100:
			r.say(at, "found %g; the last entry is for 100", c.InPct)
		}
	}
	if s.HighestOhm != 0 && !(s.HighestOhm > s.LowestOhm) {
		field := "highest_ohm"
		if s.Numbers != OfOhms {
			field = "highest_value"
		}
		r.say(append(append([]any(nil), place...), field), "found %g; the most that the readout takes lies above the least, which is %g", s.HighestOhm, s.LowestOhm)
	}
}

// shape says what is wrong with the shape of a tank, and where it contradicts
// the tank.
func (r *ruler) shape(t Tank) {
	s := t.Shape
	for _, p := range s.Problems() {
		path := append(append([]string(nil), r.path...), "shape")
		p.Path = append(path, p.Path...)
		r.problems = append(r.problems, p)
	}
	if s.Version != 0 {
		r.say([]any{"shape", "version"}, "the version stands once, at the top of the file; delete it here")
	}
	if a, b := s.CapacityL, t.WaterCapacityL; a != 0 && b != 0 && math.Abs(a-b) > 0.02*b {
		r.say([]any{"shape", "capacity_l"}, "found %g, and the tank's water_capacity_l is %g; correct one, or delete it here", a, b)
	}
	if s.PermittedFillPct != 0 && t.PermittedFillPct != 0 && s.PermittedFillPct != t.PermittedFillPct {
		r.say([]any{"shape", "permitted_fill_pct"}, "found %g, and the tank's permitted_fill_pct is %g; correct one, or delete it here", s.PermittedFillPct, t.PermittedFillPct)
	}
	if t.Contents == LPG && s.PermittedFillPct > MaxLPGFillPct {
		r.say([]any{"shape", "permitted_fill_pct"}, "%s", lpgFillTooHigh(s.PermittedFillPct))
	}
	if t.HeelL != 0 && (s.HeelMM != nil || s.HeelL != nil && *s.HeelL != t.HeelL) {
		r.say([]any{"heel_l"}, "found %g, and the shape states a heel of its own; correct one, or delete it here", t.HeelL)
	}
}

// heel refuses what can't be left in a tank.
func (r *ruler) heel(t Tank) {
	top, of := t.WaterCapacityL, "the water capacity"
	if p := t.PermittedPct(); p > 0 {
		top, of = top*p/100, "the permitted fill"
	}
	if top > 0 && t.HeelL >= top {
		r.say([]any{"heel_l"}, "found %g; expected less than %s of %s L", t.HeelL, of, quantity.Short(top, 2))
	}
}

// overfills refuses a scale that could lead to a gas tank being filled too far:
// one that shows 100 % above [MaxLPGFillPct] of the water capacity as the
// permitted fill, and one for which that can't be told. A height is no part of
// the volume: in a lying cylinder with flat ends 80 % of the height is 85.8 % of
// the volume (V/V₀ = (acos k − k√(1−k²))/π with k = 1 − 2h/D); so heights need
// the shape. A weight needs the gas and the capacity.
func (t Tank) overfills() error {
	kind := t.kind()
	if t.Contents != LPG || kind != scale.Fill && kind != scale.Usable {
		return nil
	}
	unit := t.Unit()
	whole := 100.0
	switch {
	case unit == curve.Mass && (t.Gas == nil || t.WaterCapacityL == 0 && t.Shape == nil), unit == curve.Height && t.Shape == nil:
		need := "needs the tank's gas and water_capacity_l, or marks in % of the volume or in L"
		if unit == curve.Height {
			need = "needs the tank's shape, or marks in % of the volume or in L"
		}
		return fmt.Errorf("for lpg the scale %q %s; from a mark in %s it can't be told how full the tank is; choose \"mark\"", kind, need, unit.Symbol())
	case unit == curve.Volume && t.Shape == nil:
		whole = t.WaterCapacityL
		if whole == 0 {
			return fmt.Errorf("for lpg the scale %q on marks in L needs the tank's water_capacity_l; state it, or choose \"mark\"", kind)
		}
	}
	if t.throughFilling(kind) {
		return t.overfillsThrough(kind)
	}
	empty, full, err := t.Ends()
	if err != nil {
		return nil // there is no scale yet, and so nothing is shown
	}
	top := empty + t.PermittedPct()/100*(full-empty)
	if top > MaxLPGFillPct/100.0*whole*(1+1e-9) {
		return fmt.Errorf("this scale would show 100 %% at %s %s, above %d %% of the tank; for lpg that is not accepted; correct permitted_fill_pct, empty_mark or full_mark",
			quantity.Short(top, 2), unit.Symbol(), MaxLPGFillPct)
	}
	return nil
}

// overfillsThrough is overfills for a scale that goes through what is in the
// tank: its 100 % is the permitted fill of the capacity by its making, and is
// held against it all the same.
func (t Tank) overfillsThrough(kind scale.Kind) error {
	f, err := t.Filling()
	if err != nil {
		return fmt.Errorf("for lpg the scale %q needs to know how full the tank is at each mark: %w", kind, err)
	}
	share := f.Share(f.Mark(t.PermittedPct() / 100))
	if share > MaxLPGFillPct/100.0*(1+1e-9) {
		return fmt.Errorf("this scale would show 100 %% with the tank filled to %s, above %d %%; for lpg that is not accepted; correct permitted_fill_pct, or the sender in the shape", quantity.Share(share), MaxLPGFillPct)
	}
	return nil
}
