package job

import (
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
)

// Tank gives the tank of a name; capitals and small letters count as the same.
// The tank is the job's own, not a copy.
func (j *Job) Tank(name string) (*Tank, error) {
	folded := strings.ToLower(strings.TrimSpace(name))
	names := make([]string, len(j.Tanks))
	for i := range j.Tanks {
		if strings.ToLower(strings.TrimSpace(j.Tanks[i].Name)) == folded {
			return &j.Tanks[i], nil
		}
		names[i] = j.Tanks[i].Name
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("no tank %s; this job has no tanks yet", strict.Quoted(name))
	}
	return nil, fmt.Errorf("no tank %s; this job has %s", strict.Quoted(name), strict.AnyOf(names))
}

// Sheet gives the bench readings for a curve, in SI. It is an error where the
// marks aren't in one unit, or a sweep or a time can't be read.
func (t Tank) Sheet() (curve.Sheet, error) {
	sheet := curve.Sheet{Unit: t.Unit(), Signal: t.Signal(), Readings: make([]curve.Reading, len(t.Bench.Readings))}
	for i, r := range t.Bench.Readings {
		mark, unit, ok := r.Mark()
		if !ok {
			return curve.Sheet{}, fmt.Errorf("reading %d of tank %q has no mark, or more than one", i+1, t.Name)
		}
		if unit != sheet.Unit {
			return curve.Sheet{}, fmt.Errorf("reading %d of tank %q has its mark in %s and the first has it in %s; all marks of a tank are in one unit",
				i+1, t.Name, unit.Symbol(), sheet.Unit.Symbol())
		}
		if r.Signal != sheet.Signal {
			return curve.Sheet{}, fmt.Errorf("reading %d of tank %q is in %s and the first is in %s; all readings of a bench are in the same",
				i+1, t.Name, r.Signal.Figures(), sheet.Signal.Figures())
		}
		sweep, err := curve.ParseSweep(r.Sweep)
		if err != nil {
			return curve.Sheet{}, fmt.Errorf("reading %d of tank %q: %w", i+1, t.Name, err)
		}
		var at time.Time
		if r.Time != "" {
			if at, err = time.Parse(time.RFC3339, r.Time); err != nil {
				return curve.Sheet{}, fmt.Errorf("reading %d of tank %q: time %s is not as in RFC 3339", i+1, t.Name, strict.Quoted(r.Time))
			}
		}
		sheet.Readings[i] = curve.Reading{Mark: unit.FromShown(mark), Ohm: quantity.Ohm(r.Ohm), Sweep: sweep, Time: at, Note: r.Note}
	}
	return sheet, nil
}

// SetSheet puts readings in the place of those on the bench. Marks and ohms are
// rounded to nine decimals of their shown unit, which takes off the noise of
// the conversion from SI and nothing that a meter shows.
func (t *Tank) SetSheet(sheet curve.Sheet) {
	readings := make([]Reading, len(sheet.Readings))
	for i, r := range sheet.Readings {
		readings[i] = Reading{Ohm: tidy(float64(r.Ohm)), Signal: sheet.Signal, Sweep: r.Sweep.String(), Note: r.Note}
		readings[i].SetMark(tidy(sheet.Unit.ToShown(r.Mark)), sheet.Unit)
		if !r.Time.IsZero() {
			readings[i].Time = r.Time.Format(time.RFC3339Nano)
		}
	}
	t.Bench.Readings = readings
}

// Claims gives the claimed spans of the sender.
func (t Tank) Claims() []curve.Claim {
	claims := make([]curve.Claim, len(t.Sender.Claimed))
	for i, c := range t.Sender.Claimed {
		claims[i] = curve.Claim{Empty: quantity.Ohm(c.EmptyOhm), Full: quantity.Ohm(c.FullOhm)}
	}
	return claims
}

// Curve fits the curve of the bench readings in the usual way. Its errors are
// those of [curve.Fit], and those of Sheet.
func (t Tank) Curve() (*curve.Curve, error) {
	sheet, err := t.Sheet()
	if err != nil {
		return nil, err
	}
	return curve.Fit(sheet, curve.Options{})
}

// tidy takes off the noise of a conversion.
func tidy(v float64) float64 { return quantity.Round(v, 9) }
