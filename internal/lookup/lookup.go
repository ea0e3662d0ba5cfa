package lookup

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Limits of what a table may be.
const (
	LeastFull  = 255   // 8 bits
	MostFull   = 65535 // 16 bits
	MostPoints = 256   // of a table with straight lines
	MostShift  = 8     // one entry for 256 counts
)

// Options say which table is wanted.
type Options struct {
	Quantity Quantity
	// Points is the most points of a table with straight lines between them, 2 to
	// MostPoints; 0 asks for a table with one entry for 2^Shift counts.
	Points int
	Shift  int
	// Limits part levels from faults; nil stands for UsualLimits.
	Limits *Limits
}

// Point is one point of a table with straight lines.
type Point struct{ Count, Level int }

// Error is an error of the table in its steps, and the count where it is.
type Error struct {
	Steps float64
	Count int
}

// Table turns counts into a level. It comes from [New] and doesn't change.
type Table struct {
	Quantity Quantity
	Full     int
	// Points are the points in rising order of counts; empty for a table of entries.
	Points []Point
	// Entries are the levels for count>>Shift, the first for Base.
	Entries     []int
	Shift, Base int
	// Rising says that the level rises with the counts, or keeps still.
	Rising bool
	Zones  []Zone
	// First and Last are the counts between which the curve was read; beyond them,
	// where there still is a level, the end is held.
	First, Last int
	// Worst is the largest error against the curve, either way, with the rounding to
	// whole steps in it; TooHigh and TooLow are the largest each way. Every count
	// from First to Last was tried.
	Worst, TooHigh, TooLow Error
	// Bound is an error in steps below which no table of so many points comes that
	// is right at both ends; 0 for a table of entries.
	Bound float64
	// CountStep is the most that one count more changes the level, in steps: the
	// converter tells no finer.
	CountStep float64
	Limits    Limits
	Findings  []finding.Finding
}

// New makes the table of a gauge seen through an input.
//
// The level of a count is that of the resistance it stands for. Figures are
// rounded to the nearest whole step, a half upwards. At both ends of the readings
// the figure is the curve's own, rounded: full shows full. An error says what can't be
// had: a sender without order, an input that doesn't fit 8 to 16 bits or goes to
// and fro, fewer than two counts within the readings, a quantity the gauge
// doesn't know, figures too large for 16 bits.
func New(g gauge.Gauge, in Counts, o Options) (*Table, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	if !g.Curve.Ordered() {
		return nil, fmt.Errorf("the sender keeps no order, so no table can follow it: %s", g.Curve.Disorder())
	}
	steps, err := o.Quantity.of(g)
	if err != nil {
		return nil, err
	}
	ohms, err := ohmsOf(in)
	if err != nil {
		return nil, err
	}
	least, greatest := curveEnds(g.Curve)
	limits := UsualLimits(g.Curve)
	if o.Limits != nil {
		limits = *o.Limits
	}
	if err := limits.check(least, greatest); err != nil {
		return nil, err
	}
	t := &Table{Quantity: o.Quantity, Full: in.Full(), Limits: limits, First: -1}
	by := make([]Fault, len(ohms))
	var truth []float64 // from First to Last
	for c, r := range ohms {
		by[c] = limits.of(r)
		if c == openEnd(ohms) && by[c] != Open {
			// Whatever lies beyond the converter's reach gives this count.
			by[c] = Open
		}
		if by[c] != Fine {
			continue
		}
		if a := g.Curve.Mark(quantity.Ohm(r), curve.Refuse); a.Known {
			if t.First < 0 {
				t.First = c
			}
			t.Last = c
			truth = append(truth, steps(a.Mark))
		}
	}
	t.Zones = zonesOf(by)
	if len(truth) < 2 {
		return nil, fmt.Errorf("%d of the %d counts lie within the readings, %s to %s; choose an input that fits this sender", len(truth), len(ohms), least, greatest)
	}
	if top := max(truth[0], truth[len(truth)-1]); top > mostSteps || min(truth[0], truth[len(truth)-1]) < 0 {
		return nil, fmt.Errorf("the figures go to %.0f %s; a table holds 0 to %d: choose percent", top, o.Quantity.Words(), mostSteps)
	}
	t.Rising = truth[len(truth)-1] >= truth[0]
	if o.Points > 0 {
		t.Points, t.Bound = bestPoints(truth, t.First, o.Points, t.Rising)
	} else {
		t.Shift = o.Shift
		t.Base, t.Entries = entriesOf(truth, t.First, o.Shift)
	}
	t.try(truth)
	t.tell(g, ohms, least, greatest)
	return t, nil
}

func (o Options) check() error {
	switch {
	case o.Points != 0 && (o.Points < 2 || o.Points > MostPoints):
		return fmt.Errorf("a table has 2 to %d points; found %d", MostPoints, o.Points)
	case o.Shift < 0 || o.Shift > MostShift:
		return fmt.Errorf("one entry may stand for 2^0 to 2^%d counts; found 2^%d", MostShift, o.Shift)
	case o.Points != 0 && o.Shift != 0:
		return fmt.Errorf("either points (%d) or entries for 2^%d counts; choose one", o.Points, o.Shift)
	}
	return nil
}

// try looks at every count within the readings.
func (t *Table) try(truth []float64) {
	t.TooHigh, t.TooLow = Error{Count: t.First}, Error{Count: t.First}
	for i, want := range truth {
		c := t.First + i
		off := float64(t.figure(c)) - want
		if off > t.TooHigh.Steps {
			t.TooHigh = Error{off, c}
		}
		if -off > t.TooLow.Steps {
			t.TooLow = Error{-off, c}
		}
		if i > 0 {
			t.CountStep = max(t.CountStep, math.Abs(want-truth[i-1]))
		}
	}
	t.Worst = t.TooHigh
	if t.TooLow.Steps > t.Worst.Steps {
		t.Worst = t.TooLow
	}
}
