package job

import "gaugewright/internal/strict"

// bench refuses what a bench says of its marks and of its sender where its
// readings say otherwise, and ends that can't be.
func (r *ruler) bench(t Tank) {
	b, unit, signal := t.Bench, t.Unit(), t.Signal()
	if stated, ok := b.unit(); ok && stated != unit {
		r.say([]any{"bench", "marks"}, "the marks are said to be in %s, and those of the readings are in %s; correct marks, or delete it", stated.Symbol(), unit.Symbol())
	}
	if b.Gives != "" && b.Gives != signal.Column() {
		r.say([]any{"bench", "gives"}, "the sender is said to give %s, and the readings are in %s; correct gives, or delete it", strict.Quoted(b.Gives), signal.Figures())
	}
	for _, m := range []struct {
		name string
		mark *float64
	}{{"empty_mark", b.EmptyMark}, {"full_mark", b.FullMark}} {
		if m.mark != nil && *m.mark > unit.Limit() {
			r.say([]any{"bench", m.name}, "found %g, expected up to %g, as the tank's marks are in %s", *m.mark, unit.Limit(), unit.Symbol())
		}
	}
	if b.EmptyMark != nil && b.FullMark != nil && !(*b.FullMark > *b.EmptyMark) {
		r.say([]any{"bench", "full_mark"}, "found %g; the full mark lies above the empty mark, which is %g", *b.FullMark, *b.EmptyMark)
	}
}
