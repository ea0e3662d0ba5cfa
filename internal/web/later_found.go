package web

import (
	"errors"
	"net/http"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
	"gaugewright/internal/span"
)

// foundBody is what the display was seen to show as found, on the day of a check.
type foundBody struct {
	Can         bool // something is keyed in, so that there is a display to look at
	Mark, Shown string
	Field       string // that couldn't be used
	Check       *proveCheck
}

// foundOf is the part of the page that asks what the display shows.
func (s *Site) foundOf(d *desk, typed *foundBody) foundBody {
	var b foundBody
	if typed != nil {
		b = *typed
	}
	at := d.at
	b.Can = at.Setting != nil
	proofs, err := at.Proofs()
	if err != nil {
		b.Can = false
		return b
	}
	date := at.Services[d.k].Date
	for i, p := range proofs {
		if p.Check.When == job.AsFound && p.Check.Date == date {
			c := checkOf(at.Unit(), i, p)
			c.Few = "" // it is no proof, and needn't be one
			b.Check = &c
		}
	}
	if b.Mark == "" {
		if n := len(at.Services[d.k].Readings); n > 0 {
			if mark, _, ok := at.Services[d.k].Readings[n-1].Mark(); ok {
				b.Mark = quantity.Short(mark, 3)
			}
		}
	}
	return b
}

// keepFound keeps one look at the display as it was found.
func (s *Site) keepFound(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	f := foundBody{Mark: field(r, "mark"), Shown: field(r, "shown")}
	var wrong *benchWrong
	_, err = s.changeTank(r, job.Change{Words: d.words("as found, display at " + f.Mark + " shows " + f.Shown)}, func(_ *job.Job, t *job.Tank) error {
		if err := d.still(t); err != nil {
			return err
		}
		service := t.Services[d.k]
		look := proveBody{Mark: f.Mark, Shown: f.Shown, By: service.By, When: job.AsFound, Tol: quantity.Short(float64(span.DefaultTolerance)*100, 2)}
		for _, c := range t.Checks {
			if c.When == job.AsLeft {
				look.Tol = quantity.Short(c.TolerancePct, 2)
			}
		}
		l, err := look.look(*t, s.o.Now())
		var refusal *fault
		if errors.As(err, &refusal) {
			f.Field = "found-shown"
			if _, bad := sitting.ParseMark(t.Unit(), f.Mark); bad != nil {
				f.Field = "found-mark"
			}
			wrong = &benchWrong{Text: refusal.text, Field: f.Field}
			return errWrong
		} else if err != nil {
			return err
		}
		l.Date = service.Date
		if err := sitting.Check(t, l); err != nil {
			f.Field = "found-shown"
			wrong = &benchWrong{Text: capital(err.Error()) + ".", Field: f.Field}
			return errWrong
		}
		return nil
	})
	switch {
	case err == nil:
		return goTo(w, r, d.path+"#found")
	case wrong == nil && !(judged(err).status == http.StatusUnprocessableEntity || errors.Is(err, job.ErrFull)):
		return err
	case wrong == nil:
		wrong = &benchWrong{Text: judged(err).text}
	}
	return s.showCheck(w, r, http.StatusUnprocessableEntity, d, checkAsk{Found: &f}, wrong)
}
