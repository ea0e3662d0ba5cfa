package chart

// extent is a range of figures; the zero value is empty.
type extent struct {
	lo, hi float64
	some   bool
}

func (e *extent) take(v float64) {
	if !e.some {
		e.lo, e.hi, e.some = v, v, true
		return
	}
	e.lo, e.hi = min(e.lo, v), max(e.hi, v)
}

func (e extent) empty() bool { return !e.some }

// farOff is how far beyond the readings' own range, in parts of it, the axis
// of ohms goes for a claim; a claim that goes further runs out of the graph.
// Otherwise a claim that is plainly wrong would squeeze the curve flat.
const farOff = 0.35

// ranges gives how far the axes must go.
func (c Curve) ranges() (marks, ohms extent) {
	for i := range c.Marks {
		u := 0.0
		if c.DoubtOhms != nil {
			u = min(c.DoubtOhms[i], Limit/2)
		}
		marks.take(c.Marks[i])
		ohms.take(c.Ohms[i] - u)
		ohms.take(c.Ohms[i] + u)
	}
	for _, r := range c.Readings {
		marks.take(r.Mark)
		ohms.take(r.Ohm)
	}
	known := !marks.empty()
	for _, k := range c.Keyed {
		if known {
			ohms.take(k.Ohm)
		}
	}
	size := ohms.hi - ohms.lo
	low, high := ohms.lo-farOff*size, ohms.hi+farOff*size
	for _, l := range c.Claims {
		marks.take(l.EmptyMark)
		marks.take(l.FullMark)
		for _, ohm := range []float64{l.EmptyOhm, l.FullOhm} {
			if !known || ohm >= low && ohm <= high {
				ohms.take(ohm)
			}
		}
	}
	if marks.empty() {
		return marks, ohms
	}
	if c.Limit != nil {
		marks.take(c.Limit.Mark)
	}
	if c.LowMark < c.HighMark {
		marks.take(c.LowMark)
		marks.take(c.HighMark)
	}
	// Ohms are seen from zero where zero isn't far away.
	if ohms.lo > 0 && ohms.lo < 0.4*ohms.hi {
		ohms.lo = 0
	}
	return marks, ohms
}
