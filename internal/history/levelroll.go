package history

import (
	"time"

	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

// LevelRoll is what the levels of a tank came to in a stretch of time, as it is
// kept: whole numbers, so that rolls can be put together exactly.
type LevelRoll struct {
	From    time.Time   // the minute, hour or day (UTC) begins
	Share   series.Roll // of levels that were shown, in 1/10,000 of the scale
	Low     int64       // sum of the lower ends of their 95 % intervals, in 1/10,000
	High    int64       // of the upper ends
	Without int64       // readings without a level that could be shown
	Worst   watch.Status
}

// Merge takes in what another roll of the same stretch has. The order makes no
// difference.
func (r *LevelRoll) Merge(o LevelRoll) {
	r.Share.Merge(o.Share)
	r.Low += o.Low
	r.High += o.High
	r.Without += o.Without
	r.Worst = Worse(r.Worst, o.Worst)
}

// Worse gives the worse of two: a failure, a check, out of specification,
// maintenance, good.
func Worse(a, b watch.Status) watch.Status {
	order := [...]int{watch.Good: 0, watch.Maintenance: 1, watch.OutOfSpec: 2, watch.Check: 3, watch.Failure: 4}
	if order[a] >= order[b] {
		return a
	}
	return b
}
