package web

import (
	"context"
	"fmt"
	"math"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// lastsOf says how long a tank lasts, in a sentence; "" where there is nothing to
// say, and for a level that isn't shown. Doubt says that it rests on a level which is
// in doubt.
func lastsOf(l Label, v watch.Level, o outlook.Outlook, now time.Time) (lasts string, doubt bool) {
	if !v.Shown || o.At.IsZero() {
		return "", false
	}
	lasts = lastsWords(l, o, now.Location())
	return lasts, lasts != "" && v.Status != watch.Good && o.Left.Known
}

// lastsWords writes an outlook. A waste tank fills up instead.
func lastsWords(l Label, o outlook.Outlook, zone *time.Location) string {
	if l.Contents != job.Waste {
		return aheadWords(o, zone)
	}
	if !o.Left.Known || !(o.Left.Low <= o.Left.High) {
		return o.Why
	}
	fromDays, toDays := math.Floor(o.Left.Low.Hours()/24), math.Floor(o.Left.High.Hours()/24)
	said := ""
	switch {
	case o.Left.Low >= outlook.Farthest:
		return "It has room for more than a year."
	case o.Left.High >= outlook.Farthest:
		said = fmt.Sprintf("Room for %s days or more", whole(fromDays))
	case toDays < 1:
		said = "Full within a day"
	case fromDays < 1:
		said = fmt.Sprintf("Room for %s days at the most", whole(toDays))
	case fromDays == toDays && toDays == 1:
		said = "Room for about 1 day"
	case fromDays == toDays:
		said = fmt.Sprintf("Room for about %s days", whole(toDays))
	default:
		said = fmt.Sprintf("Room for %s to %s days", whole(fromDays), whole(toDays))
	}
	if o.FillBy.IsZero() {
		return said + "."
	}
	return said + "; empty it by " + o.FillBy.In(zone).Format("Monday 2 January") + "."
}

// aheadWords writes an outlook of a tank that is drawn from.
func aheadWords(o outlook.Outlook, zone *time.Location) string {
	if !o.Left.Known {
		return o.Why
	}
	unit := orElse(o.Meals, "days")
	said := fmt.Sprintf("Enough for %s to %s %s", whole(math.Floor(o.Left.Low.Hours()/24)), whole(math.Ceil(o.Left.High.Hours()/24)), unit)
	if !o.FillBy.IsZero() {
		said += "; fill by " + o.FillBy.In(zone).Format("Monday 2 January")
	}
	return said + "."
}

func whole(v float64) string { return fmt.Sprintf("%.0f", v) }

// goesOn says how long a tank lasts, and whether it leaks: that first of all.
func (t *leftTank) goesOn(ctx context.Context, a ahead, i int, now time.Time) {
	o, u := a.of(i)
	if said, doubt := lastsOf(t.label, t.level, o, now); o.Left.Known {
		t.Lasts, t.LastsDoubt = said, doubt
	} else {
		t.LastsNot = said
	}
	e, leaks := a.leakOf(ctx, t.label.Tank, now)
	if !leaks {
		return
	}
	t.Leak, t.LeakDo, t.LeakSince = leakSaid(t.label, measureOf(t.label, u), e, now)
	t.First = "may be leaking"
}
