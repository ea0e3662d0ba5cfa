package web

import (
	"context"
	"time"

	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// lastsOf says how long a tank lasts, in a sentence; "" where there is nothing to
// say, and for a level that isn't shown. Doubt says that it rests on a level which is
// in doubt.
func lastsOf(v watch.Level, o outlook.Outlook, now time.Time) (lasts string, doubt bool) {
	if !v.Shown || o.At.IsZero() {
		return "", false
	}
	lasts = o.Sentence(now.Location())
	return lasts, lasts != "" && v.Status != watch.Good && o.Left.Known
}

// goesOn says how long a tank lasts, and whether it leaks: that first of all.
func (t *leftTank) goesOn(ctx context.Context, a ahead, i int, now time.Time) {
	o := a.outlook(i)
	if said, doubt := lastsOf(t.level, o, now); o.Left.Known {
		t.Lasts, t.LastsDoubt = said, doubt
	} else {
		t.LastsNot = said
	}
	e, leaks := a.leakOf(ctx, t.label.Tank, now)
	if !leaks {
		return
	}
	t.Leak, t.LeakDo, t.LeakSince = leakSaid(t.label, measureOf(t.label, a.use(i)), e, now)
	t.First = "may be leaking"
	// While it leaks it lasts as long as the leak lets it, and nobody is to fill it.
	t.Lasts, t.LastsDoubt, t.LastsNot = "", false, ""
}
