package watch

import (
	"fmt"
	"math"

	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// amount is a quantity that goes with the share.
type amount struct{ mid, u table }

// marks fills the tables of the curve. Where it has no answer, the nearest two
// that it has are carried on in a straight line.
func (in *Instrument) marks(p Parts) error {
	span := p.Most - p.Least
	from, to := p.Least-beyondPart*span, p.Most+beyondPart*span
	mark, u := newTable(from, to, markCells), newTable(from, to, markCells)
	known := make([]bool, len(mark.y))
	perPoint := (p.High - p.Low) / 100
	first, last := -1, -1
	for i := range mark.y {
		m, um, ok := p.Mark(mark.x(i))
		if !ok || math.IsNaN(m) || math.IsInf(m, 0) || !(um >= 0) || math.IsInf(um, 0) {
			continue
		}
		mark.y[i], u.y[i], known[i] = (m-p.Low)/perPoint, um/perPoint, true
		if first < 0 {
			first = i
		}
		last = i
	}
	if last <= first {
		return fmt.Errorf("the curve has no answer between %g and %g; expected marks for the signals it was calibrated for", p.Least, p.Most)
	}
	for i := first + 1; i < last; i++ {
		if !known[i] {
			mark.y[i], u.y[i] = mark.y[i-1], u.y[i-1]
		}
	}
	// The slope at an end is taken over a twentieth of the span, so that a step
	// there isn't carried on as a cliff.
	wide := min(last-first, max(1, markCells/20))
	below := (mark.y[first+wide] - mark.y[first]) / float64(wide)
	above := (mark.y[last] - mark.y[last-wide]) / float64(wide)
	for i := range mark.y {
		if i < first {
			mark.y[i], u.y[i] = mark.y[first]-below*float64(first-i), u.y[first]
		}
		if i > last {
			mark.y[i], u.y[i] = mark.y[last]+above*float64(i-last), u.y[last]
		}
	}
	in.mark, in.uMark = mark, byPoints(&mark, &u)
	in.risesWith = 1
	if in.mark.at(p.Most) < in.mark.at(p.Least) {
		in.risesWith = -1
	}
	return nil
}

// byPoints gives the doubt of the marks by where the sender stands: where several
// values of the signal mean one mark, the largest.
func byPoints(mark, u *table) table {
	out := newTable(-farPoints, 100+farPoints, shareCells)
	for i := range out.y {
		out.y[i] = -1
	}
	for i, m := range mark.y {
		if k := math.Round((m - out.from) * out.perCell); k >= 0 && k <= shareCells {
			out.y[int(k)] = max(out.y[int(k)], u.y[i])
		}
	}
	last := -1
	for i, v := range out.y {
		if v < 0 {
			continue
		}
		for k := last + 1; k < i; k++ {
			out.y[k] = v
			if last >= 0 {
				f := float64(k-last) / float64(i-last)
				out.y[k] = out.y[last] + f*(v-out.y[last])
			}
		}
		last = i
	}
	for k := last + 1; k < len(out.y); k++ {
		out.y[k] = 0
		if last >= 0 {
			out.y[k] = out.y[last]
		}
	}
	return out
}

func (in *Instrument) signals(p Parts) error {
	if p.Into == nil {
		return nil
	}
	for s := Ohm; s <= Count; s++ {
		r := p.Reach[s]
		if s == p.Own || r.Least == r.Most {
			continue
		}
		if !(r.Most > r.Least) || math.IsInf(r.Most-r.Least, 0) {
			return fmt.Errorf("%s reaching from %g to %g; expected the second above the first", s, r.Least, r.Most)
		}
		t := newTable(r.Least, r.Most, markCells)
		for i := range t.y {
			v, ok := p.Into(s, t.x(i))
			if !ok || math.IsNaN(v) {
				v = math.Inf(1)
			}
			// Far out of the span the size doesn't matter; infinities would spoil the
			// interpolation next to them.
			t.y[i] = min(max(v, p.Least-1e9), p.Most+1e9)
		}
		in.into[s] = &t
	}
	return nil
}

func (in *Instrument) shares(p Parts) error {
	shown := p.Share
	if shown == nil {
		shown = func(mark float64) quantity.Share { return quantity.Share((mark - p.Low) / (p.High - p.Low)) }
	}
	in.share = newTable(-farPoints, 100+farPoints, shareCells)
	for i := range in.share.y {
		s := float64(shown(p.Low + in.share.x(i)/100*(p.High-p.Low)))
		if math.IsNaN(s) {
			return fmt.Errorf("the scale has no level at the mark %g", p.Low+in.share.x(i)/100*(p.High-p.Low))
		}
		in.share.y[i] = min(1, max(0, s))
		if i > 0 && in.share.y[i] < in.share.y[i-1] {
			if in.share.y[i] < in.share.y[i-1]-1e-6 {
				return fmt.Errorf("the scale falls from %g to %g as the mark rises to %g; expected one that rises", in.share.y[i-1], in.share.y[i], p.Low+in.share.x(i)/100*(p.High-p.Low))
			}
			in.share.y[i] = in.share.y[i-1]
		}
	}
	in.points = in.share.inverse(0, 1, shareCells)
	in.volume = newAmount(p.Volume)
	in.mass = newAmount(p.Mass)
	return nil
}

func newAmount(f func(quantity.Share) gauge.Figure) *amount {
	if f == nil {
		return nil
	}
	a := amount{newTable(0, 1, shareCells), newTable(0, 1, shareCells)}
	for i := range a.mid.y {
		v := f(quantity.Share(a.mid.x(i)))
		if math.IsNaN(v.Mid) || math.IsInf(v.Mid, 0) {
			return nil
		}
		a.mid.y[i], a.u.y[i] = v.Mid, v.U
		if !(v.U >= 0) {
			a.u.y[i] = 0
		}
	}
	return &a
}

// at gives the amount at a share with a standard uncertainty.
func (a *amount) at(share, u float64) gauge.Figure {
	if a == nil {
		return gauge.Figure{Mid: math.NaN(), U: math.NaN()}
	}
	mid, slope := a.mid.both(share)
	own := a.u.at(share)
	return gauge.Figure{Mid: mid, U: math.Sqrt(slope*slope*u*u + own*own)}
}
