package job

import (
	"fmt"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/strict"
)

// Scale gives what 100 % means on this tank's readout: as the setting has it,
// or the mark scale where nothing is set. Its ends are those of Ends. For LPG
// a scale that could lead to overfilling is refused.
func (t Tank) Scale() (scale.Scale, error) {
	kind := t.kind()
	permitted := t.PermittedPct()
	if lack := t.lacks(kind); lack != "" {
		return scale.Scale{}, fmt.Errorf("tank %q: the scale %q needs the tank's %s", t.Name, kind, lack)
	}
	if t.Contents == LPG && permitted > MaxLPGFillPct {
		return scale.Scale{}, fmt.Errorf("tank %q: permitted_fill_pct: %s", t.Name, lpgFillTooHigh(permitted))
	}
	if err := t.overfills(); err != nil {
		return scale.Scale{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	empty, full, err := t.Ends()
	if err != nil {
		return scale.Scale{}, err
	}
	unit := t.Unit()
	from, to := unit.FromShown(empty), unit.FromShown(full)
	plain := func() (scale.Scale, error) {
		return scale.New(kind, quantity.Share(permitted/100), from, to, unit == curve.Dial)
	}
	if !t.throughFilling(kind) {
		return plain()
	}
	f, err := t.Filling()
	if err != nil && kind == scale.Mark {
		return plain() // the mark scale needs to know nothing of the tank
	}
	if err != nil {
		return scale.Scale{}, fmt.Errorf("tank %q: the scale %q: %w", t.Name, kind, err)
	}
	heel, err := t.heelShare(f)
	if err != nil && kind == scale.Usable {
		return scale.Scale{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	through, err := scale.Through(kind, f, quantity.Share(permitted/100), heel, from, to, unit == curve.Dial)
	if err != nil {
		return scale.Scale{}, fmt.Errorf("tank %q: the scale %q: %w", t.Name, kind, err)
	}
	return through, nil
}

// kind gives the scale of the setting, or the mark scale.
func (t Tank) kind() scale.Kind {
	if t.Setting == nil {
		return scale.Mark
	}
	return scale.Kind(t.Setting.Scale)
}

// lacks names the field that a scale needs and the tank doesn't state; "" where
// there is none.
func (t Tank) lacks(kind scale.Kind) string {
	_, heel := t.Heel()
	switch {
	case kind == scale.Fill && t.PermittedPct() == 0,
		kind == scale.Usable && t.Contents == LPG && t.PermittedPct() == 0:
		return "permitted_fill_pct"
	case kind == scale.Usable && !heel:
		return "heel_l"
	}
	return ""
}

// heelShare gives the heel as a part of the capacity.
func (t Tank) heelShare(f scale.Filling) (quantity.Share, error) {
	heel, stated := t.Heel()
	if !stated {
		return 0, nil
	}
	if f.Capacity == 0 {
		return 0, fmt.Errorf("a heel in litres is a part of the tank only with its water_capacity_l; state it")
	}
	return quantity.Share(heel / f.Capacity), nil
}

// Keyed gives what was keyed in as a setting to try: [span.Ends], [span.Table] or
// [span.EndsThenTable].
func (s Setting) Keyed() (span.Setting, error) {
	switch s.Readout {
	case TwoPoint, EndsThenTable:
		if s.LowerOhm == nil || s.UpperOhm == nil {
			if s.Numbers != OfOhms {
				return nil, fmt.Errorf("%s needs lower_value and upper_value", aReadout(s.Readout))
			}
			return nil, fmt.Errorf("%s needs lower_ohm and upper_ohm", aReadout(s.Readout))
		}
		if *s.LowerOhm == *s.UpperOhm {
			return nil, fmt.Errorf("both end values are %s, so nothing could be shown between them", s.amount(*s.LowerOhm))
		}
		ends := span.Ends{Lower: quantity.Ohm(*s.LowerOhm), Upper: quantity.Ohm(*s.UpperOhm)}
		if s.Readout == TwoPoint {
			return ends, nil
		}
		return s.corrected(ends)
	case Table:
		if len(s.Table) < 2 {
			return nil, fmt.Errorf("a table readout needs a table of two entries or more; found %d", len(s.Table))
		}
		table := make(span.Table, len(s.Table))
		for i, e := range s.Table {
			table[i] = span.Entry{Ohm: quantity.Ohm(e.Ohm), Share: quantity.Share(e.Pct / 100)}
			if i > 0 && !(table[i].Ohm > table[i-1].Ohm) {
				return nil, fmt.Errorf("%s after %s; the %s of a table rise from each entry to the next", s.amount(e.Ohm), s.amount(s.Table[i-1].Ohm), s.figures())
			}
		}
		return table, nil
	}
	return nil, fmt.Errorf("readout %s is not known; expected %q, %q or %q", strict.Quoted(s.Readout), TwoPoint, Table, EndsThenTable)
}

// corrected puts the correction table behind the end values.
func (s Setting) corrected(ends span.Ends) (span.Setting, error) {
	if len(s.ThenTable) < 2 {
		return nil, fmt.Errorf("%s needs a then_table of two entries or more; found %d", aReadout(EndsThenTable), len(s.ThenTable))
	}
	out := span.EndsThenTable{Ends: ends, Table: make([]span.Correction, len(s.ThenTable))}
	for i, c := range s.ThenTable {
		out.Table[i] = span.Correction{In: quantity.Share(c.InPct / 100), Out: quantity.Share(c.Pct / 100)}
		if i > 0 && !(c.InPct > s.ThenTable[i-1].InPct) {
			return nil, fmt.Errorf("%g %% after %g %%; what comes into a then_table rises from each entry to the next", c.InPct, s.ThenTable[i-1].InPct)
		}
	}
	return out, nil
}

// Key stores what was keyed in. The rest of the setting (scale, step, margin,
// marks, by, date) comes from how, whose numbers to key in are not looked at;
// without a scale it is the mark scale.
// Ohms and percent are rounded to nine decimals. Nothing is stored where there
// is an error.
//
// Where this changes what is keyed in or its scale, checks made "as left"
// become "as found": to the new numbers they are what was found before them.
func (t *Tank) Key(chosen span.Setting, how Setting) error {
	s := how
	s.LowerOhm, s.UpperOhm, s.Table, s.ThenTable = nil, nil, nil, nil
	s.Numbers = NumbersOf(t.Signal())
	switch c := chosen.(type) {
	case span.Ends:
		lower, upper := tidy(float64(c.Lower)), tidy(float64(c.Upper))
		s.Readout, s.LowerOhm, s.UpperOhm = TwoPoint, &lower, &upper
	case span.EndsThenTable:
		lower, upper := tidy(float64(c.Ends.Lower)), tidy(float64(c.Ends.Upper))
		s.Readout, s.LowerOhm, s.UpperOhm = EndsThenTable, &lower, &upper
		for _, e := range c.Table {
			s.ThenTable = append(s.ThenTable, Correction{InPct: tidy(float64(e.In) * 100), Pct: tidy(float64(e.Out) * 100)})
		}
	case span.Table:
		s.Readout = Table
		for _, e := range c {
			s.Table = append(s.Table, Entry{Ohm: tidy(float64(e.Ohm)), Pct: tidy(float64(e.Share) * 100)})
		}
	default:
		return fmt.Errorf("a setting of type %T can't be stored in a job", chosen)
	}
	if s.Scale == "" {
		s.Scale = string(scale.Mark)
	}
	if _, err := s.Keyed(); err != nil {
		return err
	}
	changed := *t
	changed.Setting = &s
	var r ruler
	r.setting(changed, s, changed.Unit())
	if len(r.problems) > 0 {
		return fmt.Errorf("tank %q: %s: %s", t.Name, r.problems[0].Path[len(r.problems[0].Path)-1], r.problems[0].Msg)
	}
	if t.Setting != nil && !sameFigures(*t.Setting, s) {
		changed.Checks = append([]Check(nil), t.Checks...)
		for i := range changed.Checks {
			changed.Checks[i].When = AsFound
		}
	}
	*t = changed
	return nil
}

// sameFigures says whether two settings show the same at every resistance and
// mean the same by it.
func sameFigures(a, b Setting) bool {
	same := func(x, y *float64) bool { return x == y || x != nil && y != nil && *x == *y }
	if a.Readout != b.Readout || a.Scale != b.Scale || len(a.Table) != len(b.Table) ||
		!same(a.LowerOhm, b.LowerOhm) || !same(a.UpperOhm, b.UpperOhm) ||
		!same(a.EmptyMark, b.EmptyMark) || !same(a.FullMark, b.FullMark) {
		return false
	}
	for i := range a.Table {
		if a.Table[i] != b.Table[i] {
			return false
		}
	}
	return slices.Equal(a.ThenTable, b.ThenTable)
}

// Proved is a check with its verdict on the tank's present scale.
type Proved struct {
	Check Check
	Proof span.Proof
}

// Proofs judges each check of the tank, in their order, with the doubt that is
// stated of it, else the usual doubt of a check. The sender's own scatter and hysteresis are counted in checks made
// "as left", as far as the bench readings tell them; what was keyed in before
// an "as found" check isn't known, and so neither is what the sender did to it.
func (t Tank) Proofs() ([]Proved, error) {
	if len(t.Checks) == 0 {
		return nil, nil
	}
	s, err := t.Scale()
	if err != nil {
		return nil, err
	}
	unit, sender := t.Unit(), t.senderDoubt()
	out := make([]Proved, len(t.Checks))
	for i, c := range t.Checks {
		seen := make([]span.Seen, len(c.Readings))
		for k, p := range c.Readings {
			mark, own, ok := p.Mark()
			if !ok || own != unit {
				return nil, fmt.Errorf("reading %d of check %d of tank %q has no mark in %s", k+1, i+1, t.Name, unit.Symbol())
			}
			seen[k] = span.Seen{Mark: unit.FromShown(mark), Shown: quantity.Share(p.ShownPct / 100), Note: p.Note}
		}
		d := span.UsualDoubt()
		if c.DisplayStepPct != nil {
			d.Step = quantity.Share(*c.DisplayStepPct / 100)
		}
		if c.MarkDoubt != nil {
			empty, full := s.Whole()
			d.Mark = quantity.Share(unit.FromShown(*c.MarkDoubt) / (full - empty))
		}
		if c.When == AsLeft {
			d.Sender = sender
		}
		proof, err := span.ProveWith(s, seen, quantity.Share(c.TolerancePct/100), d)
		if err != nil {
			return nil, fmt.Errorf("check %d of tank %q: %w", i+1, t.Name, err)
		}
		out[i] = Proved{c, proof}
	}
	return out, nil
}

// senderDoubt is SenderDoubt for the tank's own curve and setting, or nil where
// there is no curve to go by, or nothing keyed in.
func (t Tank) senderDoubt() func(float64) (quantity.Share, bool) {
	if t.Setting == nil {
		return nil
	}
	keyed, err := t.Setting.Keyed()
	if err != nil {
		return nil
	}
	c, err := t.Curve()
	if err != nil {
		return nil
	}
	return SenderDoubt(c, keyed)
}

// SenderDoubt gives the standard uncertainty that a sender brings into one look
// at a display set so, by mark: the repeatability of a single reading, and half
// the hysteresis as a rectangular doubt, since nobody knows from which side the
// mark will be approached. The doubt of the curve itself isn't in it: the
// bench's meter has no part in what the display shows. Marks outside the
// readings aren't known. It is nil for a sender that keeps no order.
func SenderDoubt(c *curve.Curve, keyed span.Setting) func(mark float64) (u quantity.Share, known bool) {
	if !c.Ordered() {
		return nil
	}
	u := quantity.Ohm(doubt.Combine(c.Repeatability().SD, doubt.Rectangular(float64(c.Hysteresis().Ohm)/2)))
	return func(mark float64) (quantity.Share, bool) {
		a := c.Ohm(mark, curve.Refuse)
		if !a.Known {
			return 0, false
		}
		spread, _, _ := span.Spread(keyed, a.Ohm, u)
		return spread, true
	}
}
