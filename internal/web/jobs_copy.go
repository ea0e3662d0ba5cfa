package web

import (
	"slices"

	"gaugewright/internal/job"
	"gaugewright/internal/tankfile"
)

// copied gives a new job with the tanks of another, for the next vehicle: what
// they are, what they hold, what draws from them, their wire and what their
// data sheets claim, and nothing that was measured, keyed in or checked.
func copied(from *job.Job, number, date string) *job.Job {
	j := &job.Job{Number: number, Fitter: from.Fitter, Date: date, Units: from.Units, Tanks: []job.Tank{}}
	for _, t := range from.Tanks {
		t.Bench, t.Setting, t.Checks, t.Services = job.Bench{}, nil, nil, nil
		t.Sender.Batch, t.Sender.Serial = "", ""
		if k := t.Sender.Known; k != nil && !k.Differs() {
			t.Sender.Known = nil // it is of that one sender
		}
		t.Loads = slices.Clone(t.Loads)
		t.Shape = withoutPoint(t.Shape)
		if t.Sender.Numbers != job.OfOhms {
			// A claim in volts can't stand before a reading says that it is volts.
			t.Sender = job.Sender{Description: t.Sender.Description, Type: t.Sender.Type, Known: t.Sender.Known}
		}
		t.Sender.Claimed = slices.Clone(t.Sender.Claimed)
		if t.Wire != nil {
			wire := *t.Wire
			wire.Through = false // it says something of readings
			t.Wire = &wire
		}
		j.Tanks = append(j.Tanks, t)
	}
	return j
}

// withoutPoint gives a shape without the point of its sender that was found in
// place: that is a measurement, of another sender.
func withoutPoint(shape *tankfile.File) *tankfile.File {
	if shape == nil || shape.Sender == nil || shape.Sender.KnownPoint == nil {
		return shape
	}
	own, sender := *shape, *shape.Sender
	sender.KnownPoint = nil
	own.Sender = &sender
	return &own
}
