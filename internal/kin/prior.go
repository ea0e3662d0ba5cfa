package kin

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

const (
	// restReach is the distance, in parts of the range of marks, over which the
	// rest of one place tells nothing any more: its correlation falls as
	// exp(−d/restReach). Common practice, no source; a short reach claims less.
	restReach = 0.05
	// noiseUnknown stands for the scatter of one reading, in parts of the span,
	// where no unit of the type was read twice at a mark: what windings and the
	// hand on the dial take (common practice, no source).
	noiseUnknown = 0.0025
)

// prior is what is known of a unit before it is read: a normal distribution
// over the values at the knots, and between them in straight lines about the
// monotone curve of the mean.
type prior struct {
	k      Known
	unit   curve.MarkUnit
	signal curve.Signal
	doubts curve.Doubts
	x      []float64 // marks inside
	mean   []float64 // shown unit of the signal
	modes  [][]float64
	rest   []float64
	floor  []float64
	wide   float64 // Student's t over the normal distribution, 1 or more
	span   float64
	course *curve.Curve // through the mean
	noise  float64      // of one reading
	digit  quantity.Ohm // last digit of the meter, where it isn't stated
}

func (k Known) prior(doubts curve.Doubts) (*prior, error) {
	if err := k.check(); err != nil {
		return nil, err
	}
	p := &prior{k: k, doubts: doubts, wide: 1}
	p.unit, _ = k.Unit()
	p.signal, _ = k.Signal()
	n := len(k.Knots)
	p.x, p.mean, p.rest, p.floor = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	p.modes = make([][]float64, len(k.Knots[0].Modes))
	for m := range p.modes {
		p.modes[m] = make([]float64, n)
	}
	for i, knot := range k.Knots {
		p.x[i], p.mean[i], p.floor[i] = p.unit.FromShown(knot.Mark), knot.Value, knot.Floor
		left := knot.U*knot.U - knot.Floor*knot.Floor
		for m, v := range knot.Modes {
			p.modes[m][i] = v
			left -= v * v
		}
		p.rest[i] = math.Sqrt(max(0, left))
	}
	if k.DF > 0 {
		p.wide = doubt.Factor(0.95, k.DF) / doubt.Factor(0.95, math.Inf(1))
	}
	p.span = math.Abs(p.mean[n-1] - p.mean[0])
	p.noise = k.Noise
	if k.NoiseDF == 0 {
		p.noise = max(k.Noise, noiseUnknown*p.span)
	}
	var err error
	p.course, err = p.curve(p.mean, make([]float64, n), k.From, nil, nil)
	return p, err
}

// curve makes the curve of values at the knots with their variances, floor and
// the sender's temperature apart, which are put in here.
func (p *prior) curve(values, variances []float64, from string, readings []curve.Reading, findings []finding.Finding) (*curve.Curve, error) {
	knots := make([]curve.Knot, len(values))
	for i, v := range values {
		warm := doubt.Rectangular(float64(p.doubts.Temperature) * math.Abs(v))
		knots[i] = curve.Knot{Mark: p.x[i], Ohm: quantity.Ohm(v), U: quantity.Ohm(doubt.Combine(math.Sqrt(max(0, variances[i])), p.floor[i], warm))}
	}
	return curve.FromKnots(p.unit, p.signal, knots, curve.Source{From: from, Repeat: p.k.repeat(), Readings: readings, Findings: findings})
}

// variances gives the variance at each knot without the floor, widened.
func (p *prior) variances() []float64 {
	out := make([]float64, len(p.x))
	for i := range out {
		out[i] = p.cov(place{i, i, 0}, place{i, i, 0}, p.wide)
	}
	return out
}

// place is a mark between two knots: t of the way from a to b.
type place struct {
	a, b int
	t    float64
}

// placeOf finds a mark; false outside the knots.
func (p *prior) placeOf(mark float64) (place, bool) {
	n := len(p.x)
	hair := 1e-9 * (p.x[n-1] - p.x[0])
	if !(mark >= p.x[0]-hair && mark <= p.x[n-1]+hair) {
		return place{}, false
	}
	i := min(max(sort.SearchFloat64s(p.x, mark)-1, 0), n-2)
	return place{i, i + 1, min(1, max(0, (mark-p.x[i])/(p.x[i+1]-p.x[i])))}, true
}

func (q place) of(v []float64) float64 { return v[q.a] + q.t*(v[q.b]-v[q.a]) }

// cov gives the covariance of the values at two places, floor apart, with the
// modes widened by a factor. The rest is widened already as it was gathered: many
// marks of each unit tell it, so it has degrees of freedom of its own.
func (p *prior) cov(a, b place, wide float64) float64 {
	sum := 0.0
	for _, m := range p.modes {
		sum += a.of(m) * b.of(m)
	}
	reach := restReach * (p.x[len(p.x)-1] - p.x[0])
	distance := math.Abs(a.of(p.x) - b.of(p.x))
	return wide*wide*sum + a.of(p.rest)*b.of(p.rest)*math.Exp(-distance/reach)
}

// read is the readings that can be weighed, and what is known of them together.
type read struct {
	list   []curve.Reading // leads taken off
	places []place
	off    []float64     // value less the type's
	doubt  *mat.SymDense // covariance of what the bench does to them
}

// read takes the readings that lie within the knots.
func (p *prior) read(list []curve.Reading) read {
	var r read
	for _, one := range list {
		at, ok := p.placeOf(one.Mark)
		if !ok {
			continue
		}
		r.list = append(r.list, one)
		r.places = append(r.places, at)
		r.off = append(r.off, float64(one.Ohm)-float64(p.course.Ohm(one.Mark, curve.Refuse).Ohm))
	}
	n := len(r.list)
	if n == 0 {
		return r
	}
	r.doubt = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			r.doubt.SetSym(i, j, p.benchCov(r.list[i], r.list[j], i == j))
		}
	}
	return r
}

// benchCov is the covariance that the bench gives two readings: the meter's
// error, the leads and the temperature are shared, all else is each one's own.
func (p *prior) benchCov(a, b curve.Reading, same bool) float64 {
	d := p.doubts
	meter := func(r curve.Reading) float64 {
		return doubt.Rectangular(float64(d.Meter.HalfWidth(r.Ohm, p.step())))
	}
	warm := func(r curve.Reading) float64 { return doubt.Rectangular(float64(d.Temperature) * float64(r.Ohm)) }
	v := meter(a)*meter(b) + float64(d.LeadsU)*float64(d.LeadsU) + warm(a)*warm(b)
	if same {
		slope := p.slope(a.Mark)
		v += square(p.scatter()) + square(doubt.Resolution(float64(p.step()))) + square(doubt.Rectangular(d.MarkHalfWidth*slope))
		if d.Pouring != nil {
			v += square(d.Pouring.U(a.Mark) * slope)
		}
		v += square(1e-6 * p.span) // so that two readings are never one
	}
	return v
}

// scatter is the noise of one reading, widened where few repeats tell it.
func (p *prior) scatter() float64 {
	if p.k.NoiseDF == 0 {
		return p.noise
	}
	return p.noise * doubt.Factor(0.95, float64(p.k.NoiseDF)) / doubt.Factor(0.95, math.Inf(1))
}

// step is the last digit of the meter that the unit is read with: as stated, or
// as the readings show it, or before there are any a hundredth of a volt or a
// milliampere and a tenth of an ohm or a percent (common practice, no source).
func (p *prior) step() quantity.Ohm {
	switch {
	case p.doubts.Meter.Step > 0:
		return p.doubts.Meter.Step
	case p.digit > 0:
		return p.digit
	case p.signal == curve.Volts || p.signal == curve.Milliamps:
		return 0.01
	}
	return 0.1
}

// slope gives the steepness of the type's curve in ohms per mark inside, no less
// than that of the straight line beside the mark.
func (p *prior) slope(mark float64) float64 {
	at, _ := p.placeOf(mark)
	return math.Abs((p.mean[at.b] - p.mean[at.a]) / (p.x[at.b] - p.x[at.a]))
}

// expected gives the covariance of the readings: of the units, widened by the
// factor, and of the bench. With floor, what is common to all that the type
// rests on is in it too.
func (p *prior) expected(r read, wide float64, floor bool) *mat.SymDense {
	n := len(r.list)
	v := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			c := p.cov(r.places[i], r.places[j], wide) + r.doubt.At(i, j)
			if floor {
				c += r.places[i].of(p.floor) * r.places[j].of(p.floor)
			}
			if i == j {
				// Readings at one mark differ by their own doubt alone. Where that is
				// nothing beside the type's, a millionth of all keeps the sums' digits.
				c *= 1 + 1e-12
			}
			v.SetSym(i, j, c)
		}
	}
	return v
}

func square(v float64) float64 { return v * v }
