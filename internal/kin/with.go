package kin

import (
	"errors"
	"fmt"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// With weighs readings of one unit against the type: it gives the curve of that
// unit, and whether it belongs to the type. The curve is the type's, moved and
// bent as far as the readings ask for it (Gaussian conditioning; C. E. Rasmussen,
// C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, (2.22) to
// (2.24); from memory), with its order put right by isotonic regression. Its
// doubt is never more than the type's own, and falls with every reading.
//
// Readings outside the type's marks are left out, and a finding says so. With no
// reading at all the curve is that of [Known.Curve]. A unit that is refused gets
// a curve all the same, with a finding of weight Bad; where its readings go the
// other way than the type's, that is the type's own.
//
// Errors are *curve.SheetError where readings and type don't fit together.
func (k Known) With(sheet curve.Sheet, o curve.Options) (*curve.Curve, Verdict, error) {
	p, r, err := k.weigh(sheet, o)
	if err != nil {
		return nil, Verdict{}, err
	}
	v := p.judge(r, len(sheet.Readings))
	values, variances := p.given(r)
	from := k.From
	switch n := len(r.list); n {
	case 0:
	case 1:
		from += ", and one reading of its own"
	default:
		from += fmt.Sprintf(", and %d readings of its own", n)
	}
	weight := finding.Note
	switch v.Judgement {
	case Refused:
		weight = finding.Bad
	case CantTell:
		weight = finding.Doubt
	}
	list := []finding.Finding{{Kind: "type", Weight: weight, Text: v.Words}}
	if v.LeftOut > 0 {
		list = append(list, finding.Finding{Kind: "type-outside", Weight: finding.Doubt, Text: leftOut(v.LeftOut, p)})
	}
	c, err := p.curve(values, variances, from, r.list, list)
	var still *curve.SenderError
	if errors.As(err, &still) {
		// The readings go against the type's direction, so that nothing in order is
		// left of them: the type's own curve stands, with what was said of the unit.
		c, err = p.curve(p.mean, p.variances(), from, r.list, list)
	}
	return c, v, err
}

// weigh puts readings beside the type.
func (k Known) weigh(sheet curve.Sheet, o curve.Options) (*prior, read, error) {
	p, err := k.prior(o.Doubts)
	if err != nil {
		return nil, read{}, err
	}
	if len(sheet.Readings) == 0 {
		return p, read{}, nil
	}
	switch {
	case sheet.Unit != p.unit:
		return nil, read{}, &curve.SheetError{Line: sheet.Readings[0].Line, Text: fmt.Sprintf("the marks are in %s and those of the type in %s", sheet.Unit.Symbol(), p.unit.Symbol())}
	case sheet.Signal != p.signal:
		return nil, read{}, &curve.SheetError{Line: sheet.Readings[0].Line, Text: fmt.Sprintf("the readings are in %s and those of the type in %s", sheet.Signal.Figures(), p.signal.Figures())}
	case !k.Differs():
		return nil, read{}, &curve.SheetError{Line: sheet.Readings[0].Line, Text: fmt.Sprintf("it isn't known how units differ (%s), so readings can't be weighed against it; make the curve of the readings alone", k.From)}
	}
	list, err := usable(sheet, o.Doubts.Leads)
	if err != nil {
		return nil, read{}, err
	}
	p.digit = curve.ResolutionOf(sheet.Readings, p.signal)
	return p, p.read(list), nil
}

// usable refuses figures that aren't readings, and takes the leads off.
func usable(sheet curve.Sheet, leads quantity.Ohm) ([]curve.Reading, error) {
	limit := sheet.Signal.Limit()
	list := make([]curve.Reading, len(sheet.Readings))
	for i, r := range sheet.Readings {
		if !(r.Ohm >= 0 && r.Ohm <= limit) || r.Mark != r.Mark {
			return nil, &curve.SheetError{Line: r.Line, Text: fmt.Sprintf("%s at %s can't come from a level sender; expected 0 to %s", sheet.Signal.Text(r.Ohm), sheet.Unit.Text(r.Mark), sheet.Signal.Text(limit))}
		}
		if sheet.Signal == curve.Ohms && leads > 0 {
			if r.Ohm < leads {
				return nil, &curve.SheetError{Line: r.Line, Text: fmt.Sprintf("%s is less than the shorted test leads alone (%s); read the leads again", r.Ohm, leads)}
			}
			r.Ohm = quantity.Ohm(quantity.Round(float64(r.Ohm-leads), 9))
		}
		list[i] = r
	}
	return list, nil
}

// given gives the values at the knots in the light of readings, in order, and
// their variances without the floor.
func (p *prior) given(r read) (values, variances []float64) {
	variances = p.posterior(r)
	if len(r.list) == 0 {
		return append([]float64(nil), p.mean...), variances
	}
	chol := p.factor(r)
	var solved mat.VecDense
	must(chol.SolveVecTo(&solved, mat.NewVecDense(len(r.off), r.off)))
	values = make([]float64, len(p.x))
	for i := range values {
		sum := 0.0
		for j := range r.list {
			sum += p.cov(place{i, i, 0}, r.places[j], p.wide) * solved.AtVec(j)
		}
		values[i] = p.mean[i] + sum
	}
	return p.ordered(values, variances), variances
}

// ordered puts values in the type's order and within what a sender can give. As
// the true values are in order, that takes them nearer to those and never
// further off, so their doubt stands.
func (p *prior) ordered(values, variances []float64) []float64 {
	sign := 1.0
	if p.mean[len(p.mean)-1] < p.mean[0] {
		sign = -1
	}
	y, w := make([]float64, len(values)), make([]float64, len(values))
	for i, v := range values {
		y[i] = sign * v
		w[i] = 1 / (variances[i] + square(1e-6*p.span))
	}
	limit := float64(p.signal.Limit())
	out := curve.Isotonic(y, w)
	for i, v := range out {
		out[i] = min(limit, max(0, quantity.Round(sign*v, 9)))
	}
	return out
}

// posterior gives the variances at the knots once readings are taken. They don't
// depend on what the readings turn out to be.
func (p *prior) posterior(r read) []float64 {
	before := p.variances()
	if len(r.list) == 0 {
		return before
	}
	chol := p.factor(r)
	n := len(r.list)
	out := make([]float64, len(before))
	row, solved := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range out {
		for j := range n {
			row.SetVec(j, p.cov(place{i, i, 0}, r.places[j], p.wide))
		}
		must(chol.SolveVecTo(solved, row))
		out[i] = min(before[i], max(0, before[i]-mat.Dot(row, solved)))
	}
	return out
}

// factor takes the covariance of the readings apart, as the type is believed
// for a band: widened, without the floor, which no reading takes away.
func (p *prior) factor(r read) *mat.Cholesky {
	var chol mat.Cholesky
	if !chol.Factorize(p.expected(r, p.wide, false)) {
		panic("kin: the covariance of the readings isn't positive definite")
	}
	return &chol
}

// must takes a solution that is only told to be inexact: the sums are kept well
// enough conditioned by what every reading has of its own.
func must(err error) {
	if _, blunt := err.(mat.Condition); err != nil && !blunt {
		panic("kin: " + err.Error())
	}
}

func leftOut(n int, p *prior) string {
	first, last := p.x[0], p.x[len(p.x)-1]
	what := fmt.Sprintf("%d readings lie", n)
	if n == 1 {
		what = "One reading lies"
	}
	return fmt.Sprintf("%s outside the marks at which the type is known (%s to %s) and %s left out.", what, p.unit.Figure(first), p.unit.Text(last), map[bool]string{true: "was", false: "were"}[n == 1])
}
