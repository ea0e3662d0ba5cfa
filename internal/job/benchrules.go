package job

import (
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/strict"
)

// bench refuses what a bench, that of the tank or of a later service, says of its
// marks and of its sender where the tank's readings say otherwise, readings that
// aren't as the tank's first, ends that can't be, and doubts that can't be.
func (r *ruler) bench(place []any, t Tank, b Bench) {
	unit, signal := t.Unit(), t.Signal()
	at := func(names ...any) []any { return append(slices.Clone(place), names...) }
	if stated, ok := b.unit(); ok && stated != unit {
		r.say(at("marks"), "the marks are said to be in %s, and those of the readings are in %s; correct marks, or delete it", stated.Symbol(), unit.Symbol())
	}
	if b.Gives != "" && b.Gives != signal.Column() {
		r.say(at("gives"), "the sender is said to give %s, and the readings are in %s; correct gives, or delete it", strict.Quoted(b.Gives), signal.Figures())
	}
	for _, m := range []struct {
		name string
		mark *float64
	}{{"empty_mark", b.EmptyMark}, {"full_mark", b.FullMark}} {
		if m.mark != nil && *m.mark > unit.Limit() {
			r.say(at(m.name), "found %g, expected up to %g, as the tank's marks are in %s", *m.mark, unit.Limit(), unit.Symbol())
		}
	}
	if b.EmptyMark != nil && b.FullMark != nil && !(*b.FullMark > *b.EmptyMark) {
		r.say(at("full_mark"), "found %g; the full mark lies above the empty mark, which is %g", *b.FullMark, *b.EmptyMark)
	}
	for i, reading := range b.Readings {
		r.unit(at("readings", i), reading.Mark, unit)
		if reading.Signal != signal {
			r.say(at("readings", i, reading.Signal.Column()), "a reading in %s, and the first reading is in %s; all readings of a bench are in the same",
				reading.Signal.Figures(), signal.Figures())
		}
	}
	for i, s := range b.Struck {
		r.unit(at("struck", i), s.Mark, unit)
		if s.Signal != signal {
			r.say(at("struck", i, s.Signal.Column()), "a struck reading in %s, and the bench reads %s; all readings of a bench are in the same",
				s.Signal.Figures(), signal.Figures())
		}
	}
	if b.Doubts != nil {
		r.doubts(at("doubts"), *b.Doubts, unit, signal)
	}
}

// doubts refuses doubts that aren't of this bench.
func (r *ruler) doubts(place []any, d Doubts, unit curve.MarkUnit, signal curve.Signal) {
	if d.LeadsOhm != 0 && signal != curve.Ohms {
		r.say(append(slices.Clone(place), "leads_ohm"), "leads are taken off ohms, and the bench reads %s; delete it", signal.Figures())
	}
	if most := float64(signal.Limit()) / 10; d.MeterStep > most {
		r.say(append(slices.Clone(place), "meter_step"), "found %g, expected up to %g, as the bench reads %s", d.MeterStep, most, signal.Figures())
	}
	r.markDoubt(append(slices.Clone(place), "mark"), d.Mark, unit)
}

// markDoubt refuses a doubt of marks that leaves no marks to speak of.
func (r *ruler) markDoubt(place []any, d float64, unit curve.MarkUnit) {
	if most := unit.Limit() / 4; d > most {
		r.say(place, "found %g, expected up to %g, as the tank's marks are in %s", d, most, unit.Symbol())
	}
}
