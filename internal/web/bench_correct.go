package web

import (
	"net/http"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// correctBody is one reading and what it should have said.
type correctBody struct {
	Key, Ref, Words               string
	Mark, Sweep, Ohm, Note        string
	MarkUnit, Unit, Figures, Back string
	Wrong                         benchWrong
}

func (s *Site) correctPage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	body, err := correctOf(at, r.URL.Query().Get("ref"))
	if err != nil {
		return s.showBench(w, r, http.StatusUnprocessableEntity, kept, at, benchAsk{}, &benchWrong{Text: "It can’t be corrected: " + err.Error() + "."})
	}
	return s.showCorrect(w, r, kept, at, body)
}

func correctOf(at *tankAt, ref string) (correctBody, error) {
	i, err := sitting.Find(*at.Tank, ref)
	if err != nil {
		return correctBody{}, err
	}
	old := at.Bench.Readings[i]
	b := correctBody{Key: newKey(), Ref: ref, Words: sitting.Words(old), Sweep: old.Sweep, Note: old.Note, Ohm: quantity.Short(old.Ohm, 9),
		MarkUnit: at.Unit().Symbol(), Unit: old.Signal.Unit(), Figures: old.Signal.Figures(), Back: at.Path + "/bench"}
	if mark, _, ok := old.Mark(); ok {
		b.Mark = quantity.Short(mark, 9)
	}
	return b, nil
}

func (s *Site) showCorrect(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt, body correctBody) error {
	v := view{Page: "correct", Title: at.Name + ", a reading corrected", Job: kept, Tank: at, Body: body}
	if body.Wrong.Text != "" {
		v.Fault = body.Wrong.Text
	}
	return s.show(w, r, v)
}

// correct puts a reading right. The old one stays on the strip, struck out.
func (s *Site) correct(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	if name := field(r, "tank"); name != "" && name != at.Name {
		return job.ErrMoved
	}
	ref := field(r, "ref")
	words := "corrected: " + s.wordsOf(*at.Tank, ref)
	var wrong *benchWrong
	_, err = s.changeTank(r, job.Change{Words: words}, func(_ *job.Job, t *job.Tank) error {
		var c sitting.Correction
		if c, wrong = correctionOf(r, *t); wrong != nil {
			return errWrong
		}
		if err := sitting.Correct(t, ref, c, s.o.Now()); err != nil {
			wrong = &benchWrong{Text: err.Error()}
			return errWrong
		}
		return nil
	})
	if err == nil {
		return goTo(w, r, at.Path+"/bench")
	}
	if wrong == nil {
		return err
	}
	wrong.Text = "Nothing was corrected: " + wrong.Text + "."
	body, gone := correctOf(at, ref)
	if gone != nil {
		return s.showBench(w, r, http.StatusUnprocessableEntity, kept, at, benchAsk{}, wrong)
	}
	body.Mark, body.Ohm, body.Sweep, body.Note, body.Wrong = field(r, "mark"), field(r, "ohm"), field(r, "sweep"), field(r, "note"), *wrong
	return s.showCorrect(w, r, kept, at, body)
}

// errWrong ends a change that can't be made; what was wrong stands beside it.
var errWrong = refused("it can't be used")

// correctionOf reads what a reading should have said.
func correctionOf(r *http.Request, t job.Tank) (sitting.Correction, *benchWrong) {
	var c sitting.Correction
	mark, err := sitting.ParseMark(t.Unit(), field(r, "mark"))
	if err != nil {
		return c, &benchWrong{err.Error(), "mark"}
	}
	value, err := sitting.ParseValue(t.Signal(), field(r, "ohm"))
	if err != nil {
		return c, &benchWrong{err.Error(), "ohm"}
	}
	sweep, err := curve.ParseSweep(field(r, "sweep"))
	if err != nil {
		return c, &benchWrong{err.Error(), "sweep"}
	}
	note := field(r, "note")
	c = sitting.Correction{Mark: &mark, Value: &value, Sweep: &sweep, Note: &note}
	return c, nil
}
