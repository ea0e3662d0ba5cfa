package drift

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// place is the readings of the later bench at one mark in one sweep.
type place struct {
	mark     float64
	sweep    curve.Sweep
	values   []float64
	found    float64 // their mean
	expected float64 // by the record
	outside  bool    // beyond the record's readings
	slope    float64 // |dR/dmark| of the record
	u        float64 // of the record there, where it is outside
	apart    curve.Apart
}

// bench is a later bench beside the record.
type bench struct {
	record  *curve.Curve
	signal  curve.Signal
	unit    curve.MarkUnit
	travel  float64 // marks from the lowest to the highest of the record; 1 on a dial
	span    float64
	places  []place
	skipped []float64    // marks at which the record has no answer
	taken   []string     // what was assumed for want of a statement
	doubts  curve.Doubts // of the later bench, completed
	laterU  []float64    // what the later bench alone has in doubt of its values, the marks left out
	change
}

// against reads the later bench beside the record and works out the change and
// its covariance.
func against(record *curve.Curve, later curve.Sheet, doubts curve.Doubts) (*bench, error) {
	if err := comparable(record, later); err != nil {
		return nil, err
	}
	points := record.Points()
	b := &bench{record: record, signal: record.Signal(), unit: record.Unit(), span: float64(record.Span()), travel: 1}
	if b.unit != curve.Dial {
		b.travel = points[len(points)-1].Mark - points[0].Mark
	}
	if err := b.takeIn(later, doubts.Leads); err != nil {
		return nil, err
	}
	b.scatter()
	b.covariance(later, doubts)
	return b, nil
}

// comparable says why a later bench can't be held against a record.
func comparable(record *curve.Curve, later curve.Sheet) error {
	if record == nil {
		return errors.New("there is no record to compare with: a curve is needed")
	}
	if !record.Ordered() {
		return fmt.Errorf("the record's sender keeps no order, so nothing can be compared with it: %s", record.Disorder())
	}
	if later.Unit != record.Unit() {
		return fmt.Errorf("the later readings have marks in %s and the record has them in %s", later.Unit.Symbol(), record.Unit().Symbol())
	}
	if later.Signal != record.Signal() {
		return fmt.Errorf("the later readings are in %s and the record is in %s", later.Signal.Figures(), record.Signal().Figures())
	}
	if len(later.Readings) == 0 {
		return errors.New("no later readings; a comparison needs at least one, and four or five to tell a cause")
	}
	for _, r := range later.Readings {
		if math.IsNaN(r.Mark) || math.IsInf(r.Mark, 0) {
			return &curve.SheetError{Line: r.Line, Text: fmt.Sprintf("the mark %g is not a position", r.Mark)}
		}
		if !(r.Ohm >= 0 && r.Ohm <= later.Signal.Limit()) {
			return &curve.SheetError{Line: r.Line, Text: fmt.Sprintf("%g %s can't come from a level sender; expected 0 to %g", float64(r.Ohm), later.Signal.Unit(), float64(later.Signal.Limit()))}
		}
	}
	return nil
}

// takeIn gathers the readings by mark and sweep, in rising order of mark.
func (b *bench) takeIn(later curve.Sheet, leads quantity.Ohm) error {
	readings := append([]curve.Reading(nil), later.Readings...)
	sort.SliceStable(readings, func(i, k int) bool {
		p, q := readings[i], readings[k]
		switch {
		case p.Mark != q.Mark:
			return p.Mark < q.Mark
		case p.Sweep != q.Sweep:
			return p.Sweep < q.Sweep
		}
		return p.Ohm < q.Ohm // so that the order they were taken in changes no sum
	})
	for _, r := range readings {
		if r.Ohm < leads {
			return &curve.SheetError{Line: r.Line, Text: fmt.Sprintf("%s at %s is less than the shorted test leads alone (%s); read the leads again", later.Signal.Text(r.Ohm), later.Unit.Text(r.Mark), later.Signal.Text(leads))}
		}
		v := float64(r.Ohm - leads)
		if k := len(b.places) - 1; k >= 0 && r.Mark-b.places[k].mark <= 1e-9*b.travel && b.places[k].sweep == r.Sweep {
			b.places[k].values = append(b.places[k].values, v)
			continue
		}
		p := place{mark: r.Mark, sweep: r.Sweep, values: []float64{v}}
		a := b.record.Ohm(r.Mark, curve.Continue)
		if !a.Known {
			if n := len(b.skipped); n == 0 || b.skipped[n-1] != r.Mark {
				b.skipped = append(b.skipped, r.Mark)
			}
			continue
		}
		p.expected, p.outside = float64(a.Ohm), a.Outside
		inside := min(max(r.Mark, b.first()), b.last())
		p.apart, _ = b.record.DoubtApart(inside)
		p.slope = p.apart.Slope
		if a.Outside {
			p.u = float64(a.UOhm)
		}
		b.places = append(b.places, p)
	}
	switch n := len(b.places); {
	case n == 0:
		return fmt.Errorf("the record has no answer at any of the marks read later (%s): they lie outside its readings, where its sender stands still", b.unit.Text(b.skipped[0]))
	case n > MostRows:
		return fmt.Errorf("the later readings are at %d marks; a comparison takes %d at most", n, MostRows)
	}
	for i := range b.places {
		b.places[i].found = doubt.Mean(b.places[i].values)
		b.r = append(b.r, b.places[i].found-b.places[i].expected)
	}
	return nil
}

func (b *bench) first() float64 { return b.record.Points()[0].Mark }
func (b *bench) last() float64  { p := b.record.Points(); return p[len(p)-1].Mark }

// scatter pools the repeats of the record with those of the later bench. Where
// they have fewer than [FloorDF] degrees of freedom, what they lack is made up
// by [FloorScatter], or by the repeats themselves where they scatter more: one
// repeat that happens to agree doesn't make a sender repeatable, and one that
// doesn't must not let any change pass for scatter.
func (b *bench) scatter() {
	own := b.record.Repeatability()
	groups := make([][]float64, len(b.places))
	for i, p := range b.places {
		groups[i] = p.values
	}
	later := doubt.Pool(groups)
	df := own.DF + later.DF
	variance := 0.0
	if df > 0 {
		variance = (own.SD*own.SD*float64(own.DF) + later.SD*later.SD*float64(later.DF)) / float64(df)
	}
	if lacking := FloorDF - df; lacking > 0 {
		floor := FloorScatter * b.span
		b.taken = append(b.taken, fmt.Sprintf("one reading repeatable to about %s (a standard deviation of %s %% of the span), for want of repeats", b.signal.Text(quantity.Ohm(floor)), quantity.Short(FloorScatter*100, 2)))
		variance = (variance*float64(df) + max(variance, floor*floor)*float64(lacking)) / FloorDF
		df = FloorDF
	}
	b.sd, b.df = math.Sqrt(variance), float64(df)
}

// covariance puts together what is in doubt of the change at every place. Where
// it isn't known how marks share a doubt it is counted twice, once as common to
// all and once as each mark's own: that is no less than any share of the two.
func (b *bench) covariance(later curve.Sheet, doubts curve.Doubts) {
	n := len(b.places)
	b.v, b.s = mat.NewSymDense(n, nil), mat.NewSymDense(n, nil)
	root3 := math.Sqrt(3)
	common := func(load func(p place) float64) {
		for i := range n {
			for k := i; k < n; k++ {
				b.v.SetSym(i, k, b.v.At(i, k)+load(b.places[i])*load(b.places[k]))
			}
		}
	}
	// alike adds a doubt shared to the degree given by a correlation.
	alike := func(into *mat.SymDense, size func(p place) float64, correlation func(i, k int) float64) {
		for i := range n {
			for k := i; k < n; k++ {
				into.SetSym(i, k, into.At(i, k)+size(b.places[i])*size(b.places[k])*correlation(i, k))
			}
		}
	}
	self := func(i, k int) float64 {
		if i == k {
			return 1
		}
		return 0
	}
	sameMark := func(i, k int) float64 {
		if b.places[k].mark-b.places[i].mark <= 1e-9*b.travel {
			return 1
		}
		return 0
	}
	either := func(size func(p place) float64) {
		common(size)
		alike(b.v, size, sameMark)
	}

	// The record.
	stated := b.record.Doubts()
	beside := b.beside()
	if _, known := b.record.Source(); !known {
		full, taken := complete(stated, b.signal, b.travel)
		if len(taken) > 0 {
			b.assume("for the record", taken)
		}
		if !stated.Meter.Stated() {
			step := float64(b.record.Resolution())
			common(func(p place) float64 { return float64(full.Meter.OfReading) / root3 * p.expected })
			common(func(place) float64 { return full.Meter.Digits * step / root3 })
		}
		if extra := full.MarkHalfWidth - stated.MarkHalfWidth; extra > 0 {
			alike(b.v, func(p place) float64 { return extra / root3 * p.slope }, beside)
		}
	}
	common(func(p place) float64 { return p.apart.Reading * p.expected })
	common(func(p place) float64 { return p.apart.Warmth * p.expected })
	common(func(p place) float64 { return p.apart.Offset })
	alike(b.v, func(p place) float64 { return p.apart.Own }, beside)
	alike(b.s, func(p place) float64 {
		if p.apart.N == 0 {
			return 0
		}
		return b.sd / math.Sqrt(p.apart.N)
	}, beside)
	alike(b.v, func(p place) float64 { return p.apart.Course }, sameMark)
	either(func(p place) float64 { return p.apart.Poured })
	either(func(p place) float64 { return p.apart.Rest })
	alike(b.v, func(p place) float64 { return p.u }, sameMark)

	// The later bench.
	full, taken := complete(doubts, b.signal, b.travel)
	if len(taken) > 0 {
		b.assume("for the later bench", taken)
	}
	step := float64(full.Meter.Step)
	if step == 0 {
		step = float64(later.Step())
	}
	b.doubts = full
	for _, p := range b.places {
		b.laterU = append(b.laterU, doubt.Combine(b.sd/math.Sqrt(float64(len(p.values))), doubt.Resolution(step),
			float64(full.Meter.OfReading)/root3*p.found, full.Meter.Digits*step/root3, float64(full.LeadsU), p.apart.Hysteresis))
	}
	common(func(p place) float64 { return float64(full.Meter.OfReading) / root3 * p.found })
	common(func(place) float64 { return full.Meter.Digits * step / root3 })
	common(func(place) float64 { return float64(full.LeadsU) })
	common(func(p place) float64 { return float64(full.Temperature) / root3 * p.found })
	alike(b.v, func(p place) float64 { return full.MarkHalfWidth / root3 * p.slope }, sameMark)
	if full.Pouring != nil {
		either(func(p place) float64 { return full.Pouring.U(p.mark) * p.slope })
	}
	alike(b.v, func(place) float64 { return doubt.Resolution(step) }, self)
	alike(b.s, func(p place) float64 { return b.sd / math.Sqrt(float64(len(p.values))) }, self)
	b.hysteresis(common, alike)

	// Nothing is known better than a ten-thousandth of a thousandth of the span;
	// it keeps the matrix from being singular.
	tiny := 1e-7 * b.span
	alike(b.v, func(place) float64 { return tiny }, self)
	b.v.AddSym(b.v, b.s)
}

// hysteresis adds half the hysteresis: one way for all marks of a sweep up, the
// other for those of a sweep down. Readings of which no sweep is known may each
// have come either way, or all the same.
func (b *bench) hysteresis(common func(func(place) float64), alike func(*mat.SymDense, func(place) float64, func(i, k int) float64)) {
	sided := func(p place) float64 {
		switch p.sweep {
		case curve.Up:
			return p.apart.Hysteresis
		case curve.Down:
			return -p.apart.Hysteresis
		}
		return 0
	}
	unstated := func(p place) float64 {
		if p.sweep == curve.Unstated {
			return p.apart.Hysteresis
		}
		return 0
	}
	common(sided)
	common(unstated)
	alike(b.v, unstated, func(i, k int) float64 {
		if i == k {
			return 1
		}
		return 0
	})
}

// beside gives the correlation of the record's own doubt at two places: the
// straight line between the two points of the record beside each carries the
// points' doubt to it.
func (b *bench) beside() func(i, k int) float64 {
	points := b.record.Points()
	type pair struct {
		at   int
		a, c float64
	}
	pairs := make([]pair, len(b.places))
	for i, p := range b.places {
		k := max(0, min(len(points)-2, sort.Search(len(points), func(k int) bool { return points[k].Mark > p.mark })-1))
		t := min(1, max(0, (p.mark-points[k].Mark)/(points[k+1].Mark-points[k].Mark)))
		size := math.Hypot(1-t, t)
		pairs[i] = pair{k, (1 - t) / size, t / size}
	}
	return func(i, k int) float64 {
		p, q := pairs[i], pairs[k]
		switch q.at - p.at {
		case 0:
			return p.a*q.a + p.c*q.c
		case 1:
			return p.c * q.a
		case -1:
			return p.a * q.c
		}
		return 0
	}
}

func (b *bench) assume(whose string, what []string) {
	b.taken = append(b.taken, whose+" "+wording.Several(what, "and"))
}
