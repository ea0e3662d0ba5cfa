package sitting

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

// MostServices is how many later checks a tank has room for, as in the job file.
const MostServices = 200

// LaterMarks is how many marks are suggested for a later check (common practice,
// no source).
const LaterMarks = 5

// errNoService says that a later check isn't there any more.
var errNoService = fmt.Errorf("there is no such later check: %w", ErrGone)

// Later gives a tank as it stands at later check k, from 0: its bench is that
// check, so that whatever can be done with a bench can be done with it. What is
// known of the sender's type has no part in it, and its marks go as far as those
// of the tank's own bench.
func Later(t job.Tank, k int) (job.Tank, error) {
	if k < 0 || k >= len(t.Services) {
		return job.Tank{}, errNoService
	}
	own := t.Unit()
	low, high, err := Reach(t)
	t.Bench = t.Services[k].Bench
	if t.Bench.Readings == nil {
		t.Bench.Readings = []job.Reading{}
	}
	if err == nil && own != curve.Dial {
		l, h := own.ToShown(low), own.ToShown(high)
		t.Bench.EmptyMark, t.Bench.FullMark = &l, &h
	}
	t.Services, t.Sender.Known = nil, nil
	return t, nil
}

// OnLater does something with later check k, from 0, as if it were the tank's
// bench. The lists of the tank are new ones; an error leaves them as they were.
func OnLater(t *job.Tank, k int, do func(*job.Tank) error) error {
	later, err := Later(*t, k)
	if err != nil {
		return err
	}
	if err := do(&later); err != nil {
		return err
	}
	service := t.Services[k]
	later.Bench.EmptyMark, later.Bench.FullMark = service.EmptyMark, service.FullMark
	service.Bench = later.Bench
	t.Services = slices.Clone(t.Services)
	t.Services[k] = service
	return nil
}

// Begin puts a later check without readings behind the others of its tank, at its
// place in the order of time, and gives that place. Its marks and what the sender
// gives are those of the bench. A date that lies before the bench's is refused.
func Begin(t *job.Tank, s job.Service) (int, error) {
	if len(t.Services) >= MostServices {
		return 0, fmt.Errorf("this tank has %d later checks, and no more are kept; go on in another job", len(t.Services))
	}
	day, err := time.Parse(time.DateOnly, s.Date)
	if err != nil {
		return 0, fmt.Errorf("the day %s can't be read; expected one like 2027-05-02", quoted(s.Date))
	}
	if bench, err := time.Parse(time.DateOnly, t.Bench.Date); err == nil && day.Before(bench) {
		return 0, fmt.Errorf("the day %s lies before that of the bench, %s; a later check comes after it", s.Date, t.Bench.Date)
	}
	s.Readings, s.Struck = []job.Reading{}, nil
	s.Marks, s.Gives = t.Unit().Column(), t.Signal().Column()
	k := len(t.Services)
	for k > 0 && t.Services[k-1].Date > s.Date {
		k--
	}
	t.Services = slices.Insert(slices.Clone(t.Services), k, s)
	return k, nil
}

// Drop takes out later check k, from 0, of which no reading was ever taken; one
// with readings stays.
func Drop(t *job.Tank, k int) error {
	if k < 0 || k >= len(t.Services) {
		return errNoService
	}
	if b := t.Services[k].Bench; len(b.Readings)+len(b.Struck) > 0 {
		return errors.New("this check has readings, which are kept")
	}
	t.Services = slices.Delete(slices.Clone(t.Services), k, k+1)
	return nil
}

// Rebench makes the readings of later check k, from 0, the tank's bench. The bench
// before and the later checks up to this one go: they are of a sender that was
// another. What was known of the sender without readings goes with them.
func Rebench(t *job.Tank, k int) error {
	if k < 0 || k >= len(t.Services) {
		return errNoService
	}
	b := t.Services[k].Bench
	if marks := places(b.Readings); marks < 2 {
		return fmt.Errorf("a bench needs readings at two marks at least; this check has %d", marks)
	}
	b.EmptyMark, b.FullMark = t.Bench.EmptyMark, t.Bench.FullMark
	t.Bench, t.Sender.Known = b, nil
	t.Services = slices.Clone(t.Services[k+1:])
	if len(t.Services) == 0 {
		t.Services = nil
	}
	return nil
}

// places counts the different marks of readings.
func places(list []job.Reading) int {
	marks := map[float64]bool{}
	for _, r := range list {
		if m, _, ok := r.Mark(); ok {
			marks[m] = true
		}
	}
	return len(marks)
}

// ToCheck gives the few marks to go to at a later check of a tank, rising, as
// they are inside: those read on the bench, where its curve is known best, that
// are nearest to its lowest, its highest and the quarters between. None lies
// outside [Reach]. The error is that of the tank's curve, or of Reach.
func ToCheck(t job.Tank) ([]float64, error) {
	c, err := t.Curve()
	if err != nil {
		return nil, err
	}
	low, high, err := Reach(t)
	if err != nil {
		return nil, err
	}
	slack := 1e-9 * (high - low)
	var marks []float64
	for _, p := range c.Points() {
		if p.Mark >= low-slack && p.Mark <= high+slack {
			marks = append(marks, p.Mark)
		}
	}
	if len(marks) == 0 {
		return nil, fmt.Errorf("none of the bench's marks lies between %s and %s, where it may be gone to", t.Unit().Text(low), t.Unit().Text(high))
	}
	first, last := marks[0], marks[len(marks)-1]
	var out []float64
	for i := range LaterMarks {
		out = withNearest(out, marks, first+(last-first)*float64(i)/(LaterMarks-1))
	}
	return out, nil
}

// SuggestLater says which mark to go to next at a later check, whose tank is that of
// [Later]: the first of the marks of [ToCheck] that hasn't been read; then the one
// that would tell most, as it is inside, where there is one; and where the readings
// tell little, for how they scatter isn't known, each of the marks once more.
func SuggestLater(later job.Tank, marks []float64, tell *float64, again bool) Next {
	unit := later.Unit()
	read := map[string]int{}
	for _, r := range later.Bench.Readings {
		if m, _, ok := r.Mark(); ok {
			read[unit.Text(unit.FromShown(m))]++
		}
	}
	for _, m := range marks {
		if read[unit.Text(m)] == 0 {
			n := Next{Known: true, Mark: m, Sweep: curve.Up, First: true, Words: "next: " + unit.Text(m) + ", going up"}
			if len(later.Bench.Readings) == 0 {
				n.Words = "begin at " + unit.Text(m) + ", going up"
			}
			return n
		}
	}
	low, high, err := Reach(later)
	if tell != nil && err == nil && *tell >= low && *tell <= high && read[unit.Text(*tell)] < enoughRepeats {
		return Next{Known: true, Mark: *tell, Sweep: curve.Up, Words: unit.Text(*tell) + ", going up: it would tell most about the cause"}
	}
	for _, m := range marks {
		if again && read[unit.Text(m)] == 1 {
			return Next{Known: true, Mark: m, Sweep: curve.Up, Words: unit.Text(m) + " once more, going up from below it: how readings scatter is hardly known, so a small change can't be seen yet"}
		}
	}
	return Next{Words: "these readings are enough; more are welcome anywhere"}
}
