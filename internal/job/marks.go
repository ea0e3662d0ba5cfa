package job

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
)

// Mark gives the mark of a reading as the file has it, in its shown unit (%,
// mm, L or kg). It is false where there is none, or more than one.
func (r Reading) Mark() (float64, curve.MarkUnit, bool) {
	return one(r.MarkPct, r.MarkMM, r.MarkL, r.MarkKg)
}

// SetMark stores a mark in its shown unit and takes out any other.
func (r *Reading) SetMark(mark float64, unit curve.MarkUnit) {
	r.MarkPct, r.MarkMM, r.MarkL, r.MarkKg = spread(mark, unit)
}

// Mark gives the mark of a checked point, as Reading.Mark does.
func (p CheckPoint) Mark() (float64, curve.MarkUnit, bool) {
	return one(p.MarkPct, p.MarkMM, p.MarkL, p.MarkKg)
}

// SetMark stores a mark in its shown unit and takes out any other.
func (p *CheckPoint) SetMark(mark float64, unit curve.MarkUnit) {
	p.MarkPct, p.MarkMM, p.MarkL, p.MarkKg = spread(mark, unit)
}

// one gives the only mark among four in the order pct, mm, l, kg.
func one(marks ...*float64) (mark float64, unit curve.MarkUnit, ok bool) {
	for i, m := range marks {
		if m == nil {
			continue
		}
		if ok {
			return 0, 0, false
		}
		mark, unit, ok = *m, curve.MarkUnits[i], true
	}
	return mark, unit, ok
}

func spread(mark float64, unit curve.MarkUnit) (pct, mm, l, kg *float64) {
	switch unit {
	case curve.Height:
		mm = &mark
	case curve.Volume:
		l = &mark
	case curve.Mass:
		kg = &mark
	default:
		pct = &mark
	}
	return pct, mm, l, kg
}

// Unit says in what the tank's marks are, as KnownUnit does. A tank of which
// nothing says it counts as having a dial.
func (t Tank) Unit() curve.MarkUnit {
	unit, _ := t.KnownUnit()
	return unit
}

// KnownUnit says in what the tank's marks are: those of the readings, or what
// the bench says of them, or those of struck readings, of what is known of the sender
// without readings, of the checks or of the services, the
// first of these that there is. It is false where nothing says it.
func (t Tank) KnownUnit() (curve.MarkUnit, bool) {
	for _, r := range t.Bench.Readings {
		if _, unit, ok := r.Mark(); ok {
			return unit, true
		}
	}
	if unit, ok := t.Bench.unit(); ok {
		return unit, true
	}
	for _, s := range t.Bench.Struck {
		if _, unit, ok := s.Mark(); ok {
			return unit, true
		}
	}
	if unit, _, ok := knownIn(t.Sender.Known); ok {
		return unit, true
	}
	for _, c := range t.Checks {
		for _, p := range c.Readings {
			if _, unit, ok := p.Mark(); ok {
				return unit, true
			}
		}
	}
	for _, s := range t.Services {
		for _, r := range s.Readings {
			if _, unit, ok := r.Mark(); ok {
				return unit, true
			}
		}
	}
	return curve.Dial, false
}

// knownIn says in what a known curve has its marks and its values; false where
// there is none.
func knownIn(k *kin.Known) (curve.MarkUnit, curve.Signal, bool) {
	if k == nil {
		return curve.Dial, curve.Ohms, false
	}
	unit, ok := k.Unit()
	signal, known := k.Signal()
	return unit, signal, ok && known
}

// unit gives what Marks says.
func (b Bench) unit() (curve.MarkUnit, bool) {
	for _, u := range curve.MarkUnits {
		if u.Column() == b.Marks {
			return u, true
		}
	}
	return curve.Dial, false
}

// Ends gives the marks at 0 % and 100 % of the tank's mark scale, in the shown
// unit: those of the setting, or 0 and 100 on a dial, or the lowest and the
// highest mark read, of a type also known without readings. Before any is read
// they are those of the bench, or as far as it states none the lowest and the
// highest mark known without readings: a curve may end before the scale does
// where a reading was set aside. It is an error where they aren't known or stand
// the wrong way round.
func (t Tank) Ends() (empty, full float64, err error) {
	unit := t.Unit()
	var low, high *float64
	if unit == curve.Dial {
		zero, hundred := 0.0, 100.0
		low, high = &zero, &hundred
	} else {
		for _, r := range t.Bench.Readings {
			m, _, ok := r.Mark()
			if ok && (low == nil || m < *low) {
				low = &m
			}
			if ok && (high == nil || m > *high) {
				high = &m
			}
		}
		read := low != nil
		if k := t.Sender.Known; k != nil && (!read || k.Differs()) {
			// The knots of a type hold beyond the few marks read of a unit.
			for _, knot := range k.Knots {
				if low == nil || knot.Mark < *low {
					low = &knot.Mark
				}
				if high == nil || knot.Mark > *high {
					high = &knot.Mark
				}
			}
		}
		if m := t.Bench.EmptyMark; m != nil && !read {
			low = m
		}
		if m := t.Bench.FullMark; m != nil && !read {
			high = m
		}
	}
	if t.Setting != nil && t.Setting.EmptyMark != nil {
		low = t.Setting.EmptyMark
	}
	if t.Setting != nil && t.Setting.FullMark != nil {
		high = t.Setting.FullMark
	}
	switch {
	case low == nil || high == nil:
		return 0, 0, fmt.Errorf("tank %q has no bench readings, so the marks at 0 %% and 100 %% aren't known; state empty_mark and full_mark", t.Name)
	case !(*high > *low):
		return 0, 0, fmt.Errorf("the full mark must lie above the empty mark; found empty %g %s and full %g %s", *low, unit.Symbol(), *high, unit.Symbol())
	}
	return *low, *high, nil
}
