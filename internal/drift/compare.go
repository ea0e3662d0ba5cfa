package drift

import (
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Compare holds a later bench against the record of the same sender. The later
// readings are as the meter showed them: the shorted test leads stated in
// doubts are taken off them here, and those of the record were when it was
// fitted.
//
// At each mark, either sweep by itself, the change is the mean of what was read
// less what the record gives there. Its covariance V holds, of both occasions,
//   - the repeatability of a reading, pooled over both with its degrees of
//     freedom, by the number of readings; where nothing was repeated
//     [FloorScatter],
//   - the reading of the mark, by the record's slope there,
//   - the last digit, and the course the record takes between its readings,
//   - the meter, its share of the reading as a gain and its digits as an offset
//     that all marks of one occasion have in common,
//   - the test leads and the sender's temperature, likewise in common,
//
// and, once, half the hysteresis: common to a sweep. An unstated meter and
// unstated marks are taken for usual ones, and a finding says so.
//
// The errors say what can't be compared: other units, no readings, a record
// without order, readings below their own test leads.
func Compare(record *curve.Curve, later curve.Sheet, doubts curve.Doubts, options Options) (Result, error) {
	rate, err := options.rate()
	if err != nil {
		return Result{}, err
	}
	b, err := against(record, later, doubts)
	if err != nil {
		return Result{}, err
	}
	v := judge(b.change, b.directions(), rate, options.Seed)
	r := Result{
		Marks: b.unit.Column(), Gives: b.signal.Column(),
		ErrorRate: rate, P: v.p, Trials: v.trials, Changed: v.p < rate, Whole: v.whole, Sharp: v.sharp,
		SpanValue: value(b.span), Scatter: value(b.sd), ScatterDF: int(b.df),
		Causes: []Fitted{}, later: later, bench: b, verdict: &v,
	}
	r.rows(rate)
	r.power()
	if r.Changed {
		r.fits = b.fit(v)
		for _, f := range r.fits {
			r.Causes = append(r.Causes, b.tellCause(f))
		}
		if !r.told() && len(r.fits) > 1 {
			r.Tell = b.tell(r.fits[0], r.fits[1])
		}
	}
	r.say(options)
	return r, nil
}

// rows fills in the change at each place. Bounds hold for all of them together
// at the rate of false alarms: Bonferroni, by Student's t for what is known of
// the change there.
func (r *Result) rows(rate float64) {
	b := r.bench
	n := len(b.places)
	for i, p := range b.places {
		u := math.Sqrt(b.v.At(i, i))
		nu := math.Inf(1)
		if part := b.s.At(i, i) / b.v.At(i, i); b.df > 0 && part > 1e-6 {
			nu = b.df / (part * part)
		}
		row := Row{
			Mark: value(b.unit.ToShown(p.mark)), Sweep: p.sweep.String(), N: len(p.values),
			Found: value(p.found), Expected: value(p.expected), Change: value(b.r[i]), U: value(u),
			Bound:   value(u * quantileSharp(rate/2/float64(n), nu)),
			Points:  value(100 * b.r[i] / b.span),
			Outside: p.outside,
		}
		row.Beyond = math.Abs(row.Change) > row.Bound
		r.Rows = append(r.Rows, row)
		if r.Largest == nil || math.Abs(row.Change) > math.Abs(r.Largest.Change) {
			r.Largest = &Largest{Mark: row.Mark, Change: row.Change, U: row.U, Points: row.Points}
		}
	}
}

// power fills in the least changes that would have been found: of each cause
// that moves the whole sender, and at the one mark where it is hardest to see.
func (r *Result) power() {
	b := r.bench
	hardest := -1
	for i, l := range r.verdict.directions {
		switch l.cause {
		case Wear:
		case Misread:
			if hardest < 0 || l.size < r.verdict.directions[hardest].size {
				hardest = i
			}
		default:
			r.Power = append(r.Power, b.detectable(r.verdict, l))
		}
	}
	if hardest >= 0 {
		d := b.detectable(r.verdict, r.verdict.directions[hardest])
		d.Mark = r.Rows[r.verdict.directions[hardest].from].Mark
		r.Power = append(r.Power, d)
	}
}

func (b *bench) detectable(v *verdict, l direction) Detectable {
	size := v.least(l)
	most := 0.0
	for _, d := range l.d {
		most = max(most, math.Abs(d))
	}
	shown, _ := b.shown(l.cause, size)
	return Detectable{Cause: l.cause, Size: shown, Change: value(size * most), Points: value(100 * size * most / b.span)}
}

// Finds gives the probability, 0..1, that these readings would have found a
// change by which a cause moves the reading it moves most by so much, in the
// value's shown unit. Of Misread it is the mark where that is hardest to see.
// False for a cause that isn't possible here.
func (r Result) Finds(cause Cause, change float64) (float64, bool) {
	found := -1
	for i, l := range r.verdict.directions {
		if l.cause == cause && (found < 0 || l.size < r.verdict.directions[found].size) {
			found = i
		}
	}
	if found < 0 {
		return 0, false
	}
	l := r.verdict.directions[found]
	most := 0.0
	for _, d := range l.d {
		most = max(most, math.Abs(d))
	}
	return r.verdict.finds(l, change/most), true
}

// told says that the first cause can be told from the next.
func (r Result) told() bool {
	switch len(r.fits) {
	case 0:
		return false
	case 1:
		return r.fits[0].cause != Unnamed
	}
	return r.fits[0].cause != Unnamed && r.fits[0].log >= Told*r.fits[1].log
}

// Cause gives what changed the sender, where that can be told.
func (r Result) Cause() (Fitted, bool) {
	if !r.told() {
		return Fitted{}, false
	}
	return r.Causes[0], true
}

func (b *bench) tellCause(f fitted) Fitted {
	p, unit := b.shown(f.cause, f.parameter)
	u, _ := b.shown(f.cause, f.u)
	t := Fitted{Cause: f.cause, Parameter: p, U: u, Unit: unit, ChiSquared: value(f.chi), Probability: quantity.Round(f.log, 9)}
	switch f.cause {
	case Wear, Dead, Open, Misread:
		t.From, t.To = value(b.unit.ToShown(b.places[f.from].mark)), value(b.unit.ToShown(b.places[f.to-1].mark))
	case Unnamed:
		t.Parameter, t.U, t.Unit = 0, 0, ""
	}
	t.Sentence = b.causeWords(f)
	return t
}
