package job

import (
	"fmt"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// Later is a later bench of a tank's sender held against its record.
type Later struct {
	RecordDay, Day time.Time // zero where they aren't stated
	Drift          drift.Result
	// Advice is what to do about what is keyed in; nil where nothing is.
	Advice *drift.Advice
}

// Later holds service i of a tank, from 0, against its record. The record is the
// tank's own curve, which a caller has that has made it already; nil has it made
// here. See [Tank.Against].
func (t Tank) Later(i int, record *curve.Curve, tolerance quantity.Share, o drift.Options) (Later, error) {
	sheet, err := t.Service(i)
	if err != nil {
		return Later{}, err
	}
	return t.Against(record, sheet, t.ServiceDoubts(i), dateOf(t.Services[i].Date), tolerance, o)
}

// Against holds a later bench against the curve of a tank's record, and says what
// to do about what is keyed in. The services that the tank has from before that day
// tell with it how fast the sender changes. The tolerance is that of the display,
// as a share, 0 the usual one; a zero day stands for an unknown one. A nil record
// is the tank's own.
//
// Errors are those of the curve, of [drift.Compare] and of [drift.Advise]; and a
// later bench that comes before its record.
func (t Tank) Against(record *curve.Curve, later curve.Sheet, doubts curve.Doubts, day time.Time, tolerance quantity.Share, o drift.Options) (Later, error) {
	if record == nil {
		var err error
		if record, err = t.Curve(); err != nil {
			return Later{}, fmt.Errorf("tank %q has no record to compare with: %w", t.Name, err)
		}
	}
	l := Later{RecordDay: dateOf(t.Bench.Date), Day: day}
	o.RecordDay = l.RecordDay
	var err error
	if l.Drift, err = drift.Compare(record, later, doubts, o); err != nil {
		return Later{}, err
	}
	if t.Setting == nil {
		return l, nil
	}
	in, err := t.readout(tolerance)
	if err != nil {
		return Later{}, err
	}
	in.RecordDay, in.Day = l.RecordDay, day
	if !in.RecordDay.IsZero() && !day.IsZero() && day.Before(in.RecordDay) {
		return Later{}, fmt.Errorf("the service is dated %s and the record %s; a service can't come before its record", day.Format(time.DateOnly), in.RecordDay.Format(time.DateOnly))
	}
	if in.Earlier, err = t.visits(record, in); err != nil {
		return Later{}, err
	}
	advice, err := drift.Advise(l.Drift, in)
	if err != nil {
		return Later{}, err
	}
	l.Advice = &advice
	return l, nil
}

// Tolerance gives how far the display of a tank may be off, as a share: that of
// its last check made as left, or 0 where there was none.
func (t Tank) Tolerance() quantity.Share {
	last := 0.0
	for _, c := range t.Checks {
		if c.When == AsLeft && c.TolerancePct > 0 {
			last = c.TolerancePct
		}
	}
	return quantity.Share(last / 100)
}

// readout gives what a tank's setting says of its readout.
func (t Tank) readout(tolerance quantity.Share) (drift.Readout, error) {
	sc, err := t.Scale()
	if err != nil {
		return drift.Readout{}, err
	}
	keyed, err := t.Setting.Keyed()
	if err != nil {
		return drift.Readout{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	objective, err := span.ParseObjective(t.Setting.Objective)
	if err != nil {
		return drift.Readout{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	return drift.Readout{
		Setting: keyed, Scale: sc, Tolerance: tolerance,
		Margin:    span.Margin{Ohm: quantity.Ohm(t.Setting.MarginOhm)},
		Takes:     span.Readout{Step: quantity.Ohm(t.Setting.StepOhm), Lowest: quantity.Ohm(t.Setting.LowestOhm), Highest: quantity.Ohm(t.Setting.HighestOhm)},
		Points:    t.Setting.Points,
		ShareStep: quantity.Share(t.Setting.StepPct / 100),
		Objective: objective,
		Overfills: len(t.Cautions()) > 0,
	}, nil
}

// CanAdvise says why nothing can be advised about what is keyed in, where there is
// something keyed in: its scale or its numbers can't be used.
func (t Tank) CanAdvise() error {
	if t.Setting == nil {
		return nil
	}
	_, err := t.readout(0)
	return err
}

// visits gives what the services of a tank before a day found of its display.
// Those without a date or readings, or dated no later than the record, say nothing
// of how fast.
func (t Tank) visits(record *curve.Curve, in drift.Readout) ([]drift.Visit, error) {
	if in.RecordDay.IsZero() {
		return nil, nil
	}
	var visits []drift.Visit
	for i, s := range t.Services {
		at := in
		at.Day = dateOf(s.Date)
		if len(s.Readings) == 0 || !at.Day.After(in.RecordDay) || !at.Day.Before(in.Day) {
			continue
		}
		sheet, err := t.Service(i)
		if err != nil {
			return nil, err
		}
		v, ok, err := drift.VisitOf(record, sheet, t.ServiceDoubts(i), at)
		if err != nil {
			return nil, fmt.Errorf("the service of %s: %w", s.Date, err)
		}
		if ok {
			visits = append(visits, v)
		}
	}
	return visits, nil
}

// SinceLeft holds check i of those proved, from 0, against the last one before it
// that was made as left; nil where there is none. What is looked for is what the
// display does, by [drift.CompareSeen].
func (t Tank) SinceLeft(proofs []Proved, i int, o drift.Options) (*drift.SeenResult, error) {
	now := proofs[i].Proof
	for k := i - 1; k >= 0; k-- {
		p := proofs[k]
		if p.Check.When != AsLeft {
			continue
		}
		sc, err := t.Scale()
		if err != nil {
			return nil, err
		}
		d := p.Proof.Doubt
		d.Step = max(d.Step, now.Doubt.Step)
		o.Record, o.RecordDay = "the check as left", dateOf(p.Check.Date) // without a date the sentence names no day
		r, err := drift.CompareSeen(seenIn(p.Proof), seenIn(now), t.Unit(), sc, d, o)
		if err != nil {
			return nil, fmt.Errorf("beside the check made as left: %w", err)
		}
		return &r, nil
	}
	return nil, nil
}

// seenIn gives what was seen in a check.
func seenIn(p span.Proof) []span.Seen {
	out := make([]span.Seen, len(p.Rows))
	for i, row := range p.Rows {
		out[i] = row.Seen
	}
	return out
}

// dateOf reads a date as a job keeps it; zero where there is none.
func dateOf(text string) time.Time {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}
	}
	return day
}
