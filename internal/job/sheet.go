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
	return t.sheet(t.Bench.Readings, fmt.Sprintf("of tank %q", t.Name))
}

// sheet gives readings of the tank, whose place is for messages.
func (t Tank) sheet(list []Reading, place string) (curve.Sheet, error) {
	sheet := curve.Sheet{Unit: t.Unit(), Signal: t.Signal(), Readings: make([]curve.Reading, len(list))}
	for i, r := range list {
		mark, unit, ok := r.Mark()
		if !ok {
			return curve.Sheet{}, fmt.Errorf("reading %d %s has no mark, or more than one", i+1, place)
		}
		if unit != sheet.Unit {
			return curve.Sheet{}, fmt.Errorf("reading %d %s has its mark in %s and the first has it in %s; all marks of a tank are in one unit",
				i+1, place, unit.Symbol(), sheet.Unit.Symbol())
		}
		if r.Signal != sheet.Signal {
			return curve.Sheet{}, fmt.Errorf("reading %d %s is in %s and the first is in %s; all readings of a bench are in the same",
				i+1, place, r.Signal.Figures(), sheet.Signal.Figures())
		}
		sweep, err := curve.ParseSweep(r.Sweep)
		if err != nil {
			return curve.Sheet{}, fmt.Errorf("reading %d %s: %w", i+1, place, err)
		}
		var at time.Time
		if r.Time != "" {
			if at, err = time.Parse(time.RFC3339, r.Time); err != nil {
				return curve.Sheet{}, fmt.Errorf("reading %d %s: time %s is not as in RFC 3339", i+1, place, strict.Quoted(r.Time))
			}
		}
		sheet.Readings[i] = curve.Reading{Mark: unit.FromShown(mark), Ohm: quantity.Ohm(r.Ohm), Sweep: sweep, Time: at, Note: r.Note}
	}
	return sheet, nil
}

// SetSheet puts readings in the place of those on the bench. Marks and ohms are
// rounded to nine decimals of their shown unit, which takes off the noise of
// the conversion from SI and nothing that a meter shows.
func (t *Tank) SetSheet(sheet curve.Sheet) { t.Bench.Readings = readingsOf(sheet) }

func readingsOf(sheet curve.Sheet) []Reading {
	readings := make([]Reading, len(sheet.Readings))
	for i, r := range sheet.Readings {
		readings[i] = Reading{Ohm: tidy(float64(r.Ohm)), Signal: sheet.Signal, Sweep: r.Sweep.String(), Note: r.Note}
		readings[i].SetMark(tidy(sheet.Unit.ToShown(r.Mark)), sheet.Unit)
		if !r.Time.IsZero() {
			readings[i].Time = r.Time.Format(time.RFC3339Nano)
		}
	}
	return readings
}

// Claims gives the claimed spans of the sender.
func (t Tank) Claims() []curve.Claim {
	claims := make([]curve.Claim, len(t.Sender.Claimed))
	for i, c := range t.Sender.Claimed {
		claims[i] = curve.Claim{Empty: quantity.Ohm(c.EmptyOhm), Full: quantity.Ohm(c.FullOhm)}
	}
	return claims
}

// Doubts gives what is stated of the bench's own errors.
func (t Tank) Doubts() curve.Doubts { return t.Bench.Doubts.Curve(t.Unit()) }

// Curve gives the curve of the tank's sender with the doubts that are stated of
// the bench: that of the bench readings; or, without any, what is known of the
// sender without them; or what is known of its type made that of the unit by the
// readings. Its errors are those of [curve.Fit], of Sheet and of [kin.Known].
func (t Tank) Curve() (*curve.Curve, error) { return t.CurveWith(curve.Options{Doubts: t.Doubts()}) }

// CurveWith is Curve with options of the caller's own, the doubts among them.
func (t Tank) CurveWith(o curve.Options) (*curve.Curve, error) {
	sheet, err := t.Sheet()
	if err != nil {
		return nil, err
	}
	return CurveOf(t.Sender.Known, sheet, o)
}

// tidy takes off the noise of a conversion.
func tidy(v float64) float64 { return quantity.Round(v, 9) }
