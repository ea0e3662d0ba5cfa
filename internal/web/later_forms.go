package web

import (
	"errors"
	"net/http"
	"net/url"
	"time"

	"gaugewright/internal/drift"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// keepCheckSetup keeps who made a later check, when and with what.
func (s *Site) keepCheckSetup(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	form, note := setupFrom(r), field(r, "note")
	var wrong *benchWrong
	_, err = s.changeTank(r, job.Change{Words: d.words("how it was made")}, func(j *job.Job, t *job.Tank) error {
		if wrong = dayFits(*t, d.k, form.Date); wrong != nil {
			return errWrong
		}
		err := d.change(t, func(own *job.Tank) error {
			form.Marks = own.Unit().Column()
			form.Gives = own.Signal().Column()
			if wrong = form.onto(own, j.Shown()); wrong != nil {
				return errWrong
			}
			return nil
		})
		if err == nil {
			t.Services[d.k].Note = note // the list is a new one
		}
		return err
	})
	switch {
	case err == nil:
		return goTo(w, r, d.path)
	case wrong != nil:
		wrong.Text = "Not kept: " + wrong.Text + "."
	case judged(err).status == http.StatusUnprocessableEntity || errors.Is(err, job.ErrFull):
		wrong = &benchWrong{Text: judged(err).text}
	default:
		return err
	}
	return s.showCheck(w, r, http.StatusUnprocessableEntity, d, checkAsk{Setup: &form, Note: note}, wrong)
}

// dayFits says why a check can't have been made on a day: the checks of a tank
// stand in the order of time, behind its bench.
func dayFits(t job.Tank, k int, date string) *benchWrong {
	if _, err := time.Parse(time.DateOnly, date); err != nil || k >= len(t.Services) {
		if date == "" {
			return &benchWrong{"a later check needs its day", "date"}
		}
		return nil // onto says it better
	}
	after, before := t.Bench.Date, ""
	if k > 0 {
		after = t.Services[k-1].Date
	}
	if k+1 < len(t.Services) {
		before = t.Services[k+1].Date
	}
	switch {
	case after != "" && date < after:
		return &benchWrong{"the day " + date + " lies before " + after + ", that of what was read before this check", "date"}
	case before != "" && date > before:
		return &benchWrong{"the day " + date + " lies after " + before + ", that of the check after this one", "date"}
	}
	return nil
}

// dropCheck takes out a check of which no reading was ever taken.
func (s *Site) dropCheck(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	var refusal error
	_, err = s.changeTank(r, job.Change{Words: d.words("taken out, as it has no readings")}, func(_ *job.Job, t *job.Tank) error {
		if err := d.still(t); err != nil {
			return err
		}
		refusal = sitting.Drop(t, d.k)
		return refusal
	})
	switch {
	case err == nil:
		return goTo(w, r, d.at.Path+"/later")
	case refusal != nil:
		return d.show(w, r, http.StatusUnprocessableEntity, benchAsk{}, &benchWrong{Text: "It wasn’t taken out: " + refusal.Error() + "."})
	}
	return err
}

// rebench makes the readings of a check the bench of the tank. The bench before
// stays in the job's history.
func (s *Site) rebench(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	target := d.at.Path + "/set"
	if l, err := s.laterOf(s.fitOf(d.kept, d.at.N), d.k); err == nil && l.Advice != nil && l.Advice.Do == drift.ReKey && l.Advice.Table == nil && l.Advice.Lower != nil {
		target += "?" + url.Values{"lower": {quantity.Short(*l.Advice.Lower, 9)}, "upper": {quantity.Short(*l.Advice.Upper, 9)}}.Encode()
	}
	var refusal error
	_, err = s.changeTank(r, job.Change{Words: d.words("its readings are the bench from now on")}, func(_ *job.Job, t *job.Tank) error {
		if err := d.still(t); err != nil {
			return err
		}
		refusal = sitting.Rebench(t, d.k)
		return refusal
	})
	switch {
	case err == nil:
		return goTo(w, r, target)
	case refusal != nil:
		return d.show(w, r, http.StatusUnprocessableEntity, benchAsk{}, &benchWrong{Text: "The bench stays as it is: " + refusal.Error() + "."})
	}
	return err
}
