package sitting

import (
	"fmt"
	"math"
	"slices"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// proveAt are the parts of the scale at which a display is looked at: bottom,
// middle and top at least, and between them (common practice, no source).
var proveAt = []quantity.Share{0, 0.25, 0.5, 0.75, 1}

// ToProve gives the marks at which to check the display of a tank, in rising
// order, as they are inside: those of a first sweep that are nearest to empty,
// full and the quarters between on the tank's scale. The error is that of the
// scale, or of Ladder.
func ToProve(t job.Tank) ([]float64, error) {
	s, err := t.Scale()
	if err != nil {
		return nil, err
	}
	ladder, err := Ladder(t)
	if err != nil {
		return nil, err
	}
	empty, full := s.Ends()
	within := slices.DeleteFunc(slices.Clone(ladder), func(m float64) bool {
		slack := 1e-9 * (full - empty)
		return m < empty-slack || m > full+slack
	})
	if len(within) == 0 {
		within = ladder
	}
	var out []float64
	for _, share := range proveAt {
		out = withNearest(out, within, s.Of(share))
	}
	return out, nil
}

// withNearest adds to a list the one of the marks that is nearest to the wanted,
// unless it has it already.
func withNearest(list, marks []float64, want float64) []float64 {
	nearest := marks[0]
	for _, m := range marks {
		if math.Abs(m-want) < math.Abs(nearest-want) {
			nearest = m
		}
	}
	if slices.Contains(list, nearest) {
		return list
	}
	return append(list, nearest)
}

// Look is one look at a display.
type Look struct {
	When         string  // [job.AsFound] or [job.AsLeft]
	Date, By     string  // of the check
	TolerancePct float64 // in points
	Mark         float64 // as it is inside
	ShownPct     float64
	Note         string
	// DisplayStepPct and MarkDoubt are those of the check; see [job.Check].
	DisplayStepPct, MarkDoubt *float64
	Anew                      bool // it begins a check of its own, whatever was looked at before
}

// Check puts a look at the display into the tank's checks: into the last one
// where it is of the same kind, day, tolerance and doubts, and otherwise into a
// new one.
func Check(t *job.Tank, l Look) error {
	if !(l.ShownPct >= 0 && l.ShownPct <= 100) {
		return fmt.Errorf("a display shows 0 to 100 %%; found %g", l.ShownPct)
	}
	unit := t.Unit()
	if shown := unit.ToShown(l.Mark); !(shown >= 0 && shown <= unit.Limit()) {
		return fmt.Errorf("the mark %s lies outside 0 to %s %s", unit.Text(l.Mark), quantity.Short(unit.Limit(), 0), unit.Symbol())
	}
	point := job.CheckPoint{ShownPct: l.ShownPct, Note: l.Note}
	point.SetMark(quantity.Round(unit.ToShown(l.Mark), 9), unit)
	checks := slices.Clone(t.Checks)
	if n := len(checks) - 1; n >= 0 && !l.Anew && checks[n].When == l.When && checks[n].Date == l.Date && checks[n].TolerancePct == l.TolerancePct &&
		alike(checks[n].DisplayStepPct, l.DisplayStepPct) && alike(checks[n].MarkDoubt, l.MarkDoubt) {
		checks[n].Readings = append(slices.Clone(checks[n].Readings), point)
		if checks[n].By == "" {
			checks[n].By = l.By
		}
	} else {
		checks = append(checks, job.Check{When: l.When, Date: l.Date, By: l.By, TolerancePct: l.TolerancePct,
			DisplayStepPct: l.DisplayStepPct, MarkDoubt: l.MarkDoubt, Readings: []job.CheckPoint{point}})
	}
	t.Checks = checks
	return nil
}

// alike says whether two figures that may not be stated are the same.
func alike(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }

// Unlook takes look k of check i out again, as a slip of the finger; a check
// without a look goes with its last. Both count from 0.
func Unlook(t *job.Tank, i, k int) error {
	if i < 0 || i >= len(t.Checks) || k < 0 || k >= len(t.Checks[i].Readings) {
		return fmt.Errorf("there is no such look at the display: %w", ErrGone)
	}
	t.Checks = slices.Clone(t.Checks)
	t.Checks[i].Readings = slices.Delete(slices.Clone(t.Checks[i].Readings), k, k+1)
	if len(t.Checks[i].Readings) == 0 {
		t.Checks = slices.Delete(t.Checks, i, i+1)
	}
	return nil
}
