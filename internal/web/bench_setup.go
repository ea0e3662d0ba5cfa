package web

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// benchSetup is how a bench is made, as it stands in the fields of its form.
type benchSetup struct {
	Marks, Gives, Empty, Full string
	By, Date, Meter, Degrees  string
	Doubts                    benchDoubts
	Fixed                     bool   // there are readings, so the units stay
	Temperature               string // the unit of Degrees: "°C"
	Kinds                     []benchKind
	Signals                   []benchKind
}

// benchKind is one of the ways to know a mark, or of what a sender gives.
type benchKind struct{ Value, Name string }

var benchMarks = []benchKind{
	{curve.Dial.Column(), "Percent on a dial"},
	{curve.Height.Column(), "Height of the float, mm"},
	{curve.Volume.Column(), "Litres poured in"},
	{curve.Mass.Column(), "Kilograms weighed in"},
}

var benchSignals = []benchKind{
	{curve.Ohms.Column(), "Ohms"},
	{curve.Volts.Column(), "Volts"},
	{curve.Milliamps.Column(), "Milliamps"},
	{curve.Ratio.Column(), "Percent of the supply"},
}

// benchChosen says whether it is settled how the marks are known.
func benchChosen(t job.Tank) bool {
	return len(t.Bench.Readings) > 0 || len(t.Bench.Struck) > 0 || t.Bench.Marks != "" || t.Sender.Known != nil
}

func setupOf(j *job.Job, t job.Tank) benchSetup {
	b := t.Bench
	s := benchSetup{Marks: t.Unit().Column(), Gives: t.Signal().Column(), By: b.By, Date: b.Date, Meter: b.Meter, Doubts: doubtsOf(t),
		Fixed: len(b.Readings)+len(b.Struck) > 0, Kinds: benchMarks, Signals: benchSignals}
	_, s.Temperature = j.Shown().TemperatureIn(0)
	if b.TemperatureC != nil {
		shown, _ := j.Shown().TemperatureIn(quantity.Celsius(*b.TemperatureC))
		s.Degrees = quantity.Short(shown, 1)
	}
	if b.EmptyMark != nil {
		s.Empty = quantity.Short(*b.EmptyMark, 3)
	}
	if b.FullMark != nil {
		s.Full = quantity.Short(*b.FullMark, 3)
	}
	if b.By == "" && !s.Fixed {
		s.By = j.Fitter
	}
	return s
}

// typed puts what was typed back into the fields.
func (s *benchSetup) typed(t benchSetup) {
	if !s.Fixed {
		s.Marks, s.Gives = t.Marks, t.Gives
	}
	s.Empty, s.Full, s.By, s.Date, s.Meter, s.Degrees = t.Empty, t.Full, t.By, t.Date, t.Meter, t.Degrees
	s.Doubts = t.Doubts
}

// keepBench keeps how the bench is made.
func (s *Site) keepBench(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	form := benchSetup{Marks: field(r, "marks"), Gives: field(r, "gives"), Empty: field(r, "empty"), Full: field(r, "full"),
		By: field(r, "by"), Date: field(r, "date"), Meter: field(r, "meter"), Degrees: field(r, "degrees"),
		Doubts: benchDoubts{Accuracy: field(r, "accuracy"), Leads: field(r, "leads"), Misread: field(r, "misread"), Weather: field(r, "weather")}}
	var wrong *benchWrong
	_, err = s.changeTank(r, job.Change{Words: "how the bench is made: " + benchWords(form)}, func(j *job.Job, t *job.Tank) error {
		if wrong = form.onto(t, j.Shown()); wrong != nil {
			return errors.New(wrong.Text)
		}
		return nil
	})
	switch {
	case err == nil:
		return goTo(w, r, at.Path+"/bench")
	case wrong != nil:
		wrong.Text = "Not kept: " + wrong.Text + "."
		return s.showBench(w, r, http.StatusUnprocessableEntity, kept, at, benchAsk{Setup: &form}, wrong)
	}
	return s.deskFailed(w, r, err, benchAsk{Setup: &form})
}

func benchWords(form benchSetup) string {
	for _, k := range benchMarks {
		if k.Value == form.Marks {
			return k.Name
		}
	}
	return "the facts of it"
}

// onto puts what was typed onto a tank's bench, or says what is wrong with it.
func (s benchSetup) onto(t *job.Tank, units quantity.Units) *benchWrong {
	b := &t.Bench
	if len(b.Readings)+len(b.Struck) == 0 {
		if wrong := s.kinds(t); wrong != nil {
			return wrong
		}
	} else if s.Marks != "" && s.Marks != t.Unit().Column() {
		return &benchWrong{"there are readings with marks in " + t.Unit().Symbol() + ", so the marks stay in that", "marks"}
	}
	unit := t.Unit()
	b.EmptyMark, b.FullMark = nil, nil
	if unit != curve.Dial {
		for _, m := range []struct {
			text, field string
			to          **float64
		}{{s.Empty, "empty", &b.EmptyMark}, {s.Full, "full", &b.FullMark}} {
			if m.text == "" {
				continue
			}
			mark, err := sitting.ParseMark(unit, m.text)
			if err != nil {
				return &benchWrong{err.Error(), m.field}
			}
			shown := unit.ToShown(mark)
			*m.to = &shown
		}
		if b.EmptyMark != nil && b.FullMark != nil && !(*b.FullMark > *b.EmptyMark) {
			return &benchWrong{fmt.Sprintf("full is %s and empty is %s; full lies above empty", s.Full, s.Empty), "full"}
		}
	}
	b.TemperatureC = nil
	if s.Degrees != "" {
		c, err := degrees(s.Degrees, units)
		if err != nil {
			return &benchWrong{err.Error(), "degrees"}
		}
		b.TemperatureC = &c
	}
	if s.Date != "" {
		if _, err := time.Parse(time.DateOnly, s.Date); err != nil {
			return &benchWrong{fmt.Sprintf("the date %q isn’t one; write it as year-month-day, like 2026-11-03", s.Date), "date"}
		}
	}
	b.By, b.Date, b.Meter = s.By, s.Date, s.Meter
	return s.Doubts.onto(t)
}

// kinds settles in what the marks and the sender's values are.
func (s benchSetup) kinds(t *job.Tank) *benchWrong {
	b, before := &t.Bench, t.Signal()
	known := func(list []benchKind, value string) bool {
		for _, k := range list {
			if k.Value == value {
				return true
			}
		}
		return false
	}
	if !known(benchMarks, s.Marks) {
		return &benchWrong{"choose how the marks are known", "marks"}
	}
	if s.Gives != "" && !known(benchSignals, s.Gives) {
		return &benchWrong{"choose what the sender gives", "gives"}
	}
	b.Marks, b.Gives = s.Marks, s.Gives
	if b.Gives == curve.Ohms.Column() {
		b.Gives = "" // what nearly every sender gives needs no word in the file
	}
	if t.Signal() != before && len(t.Sender.Claimed) > 0 {
		return &benchWrong{fmt.Sprintf("the spans of its data sheet are in %s; take them off on the page Tank first", before.Figures()), "gives"}
	}
	return nil
}

// degrees reads a temperature in the job's unit, or with its own, in °C.
func degrees(text string, units quantity.Units) (float64, error) {
	var k quantity.Kelvin
	if v, err := quantity.ParseNumber(text, true); err == nil {
		k = quantity.Celsius(v)
		if units.Temperature == "F" {
			k = quantity.Fahrenheit(v)
		}
	} else if k, err = quantity.ParseKelvin(text); err != nil {
		return 0, fmt.Errorf("the temperature %w", err)
	}
	c := quantity.Round(k.Celsius(), 2)
	if !(c >= -60 && c <= 100) {
		return 0, fmt.Errorf("a sender at %s isn’t worked on; expected −60 to 100 °C", k)
	}
	return c, nil
}
