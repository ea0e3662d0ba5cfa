package drift

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// enough is how much of the record's travel later readings have to reach over
// for a curve of their own to stand for the sender, and enoughMarks at how many
// marks (common practice, no source).
const (
	enough      = 0.8
	enoughMarks = 4
)

// now gives the curve of the sender as it is, and in words what it rests on:
// the record where no change is seen, the record turned by the cause where that
// can be told, the later readings by themselves where they reach over the
// scale, and else the record moved by the change, in straight lines between the
// marks read. The error is that of a curve that can't be made.
func (r Result) now() (*curve.Curve, string, error) {
	b := r.bench
	if !r.Changed || r.told() && r.fits[0].cause == Misread {
		return b.record, "the record", nil
	}
	if r.told() && wholeSender(r.fits[0].cause) {
		f := r.fits[0]
		c, err := b.turned(func(mark, _ float64) (float64, bool) { return f.turn(mark, f.parameter) })
		return c, "the record, changed by " + noun(f.cause), err
	}
	if b.reaches() {
		c, err := curve.Fit(r.later, curve.Options{Doubts: b.doubts, KeepAll: true})
		return c, "the later readings by themselves", err
	}
	c, err := b.turned(func(mark, ohm float64) (float64, bool) { return ohm + b.moved(mark), true })
	return c, "the record, moved by what the later readings differ", err
}

func wholeSender(c Cause) bool {
	switch c {
	case Series, Leak, Offset, Gain, Shift, Lever:
		return true
	}
	return false
}

// turned makes a curve of what becomes of the record's points.
func (b *bench) turned(turn func(mark, ohm float64) (float64, bool)) (*curve.Curve, error) {
	sheet := curve.Sheet{Unit: b.unit, Signal: b.signal}
	for _, p := range b.record.Points() {
		if v, ok := turn(p.Mark, float64(p.Ohm)); ok {
			v = min(max(v, 0), float64(b.signal.Limit()))
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: p.Mark, Ohm: quantity.Ohm(quantity.Round(v, 9))})
		}
	}
	d := b.doubts
	d.Leads, d.Pouring = 0, nil // taken off already; the marks are the record's
	if d.Meter.Step == 0 {
		d.Meter.Step = b.record.Resolution()
	}
	return curve.Fit(sheet, curve.Options{Doubts: d, KeepAll: true})
}

// reaches says whether the later readings can stand for the sender.
func (b *bench) reaches() bool {
	marks := 0
	for i, p := range b.places {
		if i == 0 || p.mark > b.places[i-1].mark {
			marks++
		}
	}
	low, high := max(b.first(), b.places[0].mark), min(b.last(), b.places[len(b.places)-1].mark)
	return marks >= enoughMarks && high-low >= enough*(b.last()-b.first())
}

// moved gives the change at any mark: in straight lines between those read,
// and beyond them as at the outermost.
func (b *bench) moved(mark float64) float64 {
	if mark <= b.places[0].mark {
		return b.r[0]
	}
	for i := 1; i < len(b.places); i++ {
		p, q := b.places[i-1], b.places[i]
		if mark <= q.mark && q.mark > p.mark {
			t := (mark - p.mark) / (q.mark - p.mark)
			return b.r[i-1] + t*(b.r[i]-b.r[i-1])
		}
	}
	return b.r[len(b.r)-1]
}
