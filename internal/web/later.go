package web

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
	"gaugewright/internal/telling"
)

// laterBody is the page of a tank's later checks.
type laterBody struct {
	takeBody // of it the key, and what is in the fields of the form
	Chosen   bool
	Setup    benchSetup
	Note     string

	Step   string // how it stands, in the words of the card
	Why    string // why no check can be begun
	Checks []laterLine
}

// laterLine is one check in the list.
type laterLine struct{ Path, Day, By, Text, Note string }

// laterPath is the page of later check k, from 0.
func laterPath(at *tankAt, k int) string { return laterForms(at, k) + "/check" }

// laterForms is what the addresses of its forms are under.
func laterForms(at *tankAt, k int) string { return at.Path + "/later/" + itoa(k+1) }

// dayWords writes the date of a job file for people: "2 May 2027".
func dayWords(date string) string {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return "a day that isn’t stated"
	}
	return d.Format("2 January 2006")
}

// laterPage lists the later checks of a tank, and begins another.
func (s *Site) laterPage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	s.left(r, kept, strconv.Itoa(at.N)+"/later")
	setup := benchSetup{By: kept.Job.Fitter, Date: s.o.Now().Format(time.DateOnly), Meter: at.Bench.Meter, Doubts: doubtsOf(*at.Tank)}
	if m, ok := s.o.Meters.Chosen(); ok {
		setup.Meter = m.Setup.Name
	}
	return s.showLater(w, r, kept, at, setup, "", nil)
}

// showLater shows the page with what stands in the fields of its form.
func (s *Site) showLater(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt, setup benchSetup, note string, wrong *benchWrong) error {
	f := s.fitOf(kept, at.N)
	b := laterBody{takeBody: takeBody{Later: true, Key: newKey(), TankName: at.Name, MarkUnit: at.Unit().Symbol(), Figures: at.Signal().Figures()},
		Chosen: true, Setup: setup, Note: note}
	_, b.Setup.Temperature = kept.Job.Shown().TemperatureIn(0)
	_, err := at.View.Fitted()
	var sender *curve.SenderError
	switch {
	case errors.As(err, &sender):
		b.Why = "The record has no curve to hold a later check against: " + telling.Sentence(sender.Text)
	case err != nil:
		b.Why = "A later check is held against the readings of the bench, and no curve can be made of those yet: " + telling.Sentence(err.Error())
	}
	if step, ok := s.laterStep(f); ok {
		b.Step = capital(step.Text) + "."
	}
	for k := len(at.Services) - 1; k >= 0; k-- {
		service := at.Services[k]
		b.Checks = append(b.Checks, laterLine{Path: laterPath(at, k), Day: dayWords(service.Date), By: service.By, Text: capital(s.laterWords(f, k)) + ".", Note: service.Note})
	}
	v := view{Page: "later", Title: at.Name + ", later checks", Job: kept, Tank: at}
	if wrong != nil {
		v.Fault, b.Wrong = wrong.Text, *wrong
	}
	v.Body = b
	return s.show(w, r, v)
}

// setupFrom reads the form of how a later check is made.
func setupFrom(r *http.Request) benchSetup {
	return benchSetup{By: field(r, "by"), Date: field(r, "date"), Meter: field(r, "meter"), Degrees: field(r, "degrees"),
		Doubts: benchDoubts{Accuracy: field(r, "accuracy"), Leads: field(r, "leads"), Misread: field(r, "misread"), Weather: field(r, "weather")}}
}

// beginLater begins a later check. It has no readings yet.
func (s *Site) beginLater(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	form, note := setupFrom(r), field(r, "note")
	if form.Date == "" {
		form.Date = s.o.Now().Format(time.DateOnly)
	}
	var wrong *benchWrong
	place := -1
	changed, err := s.changeTank(r, job.Change{Words: "later check begun, " + dayWords(form.Date)}, func(j *job.Job, t *job.Tank) error {
		own := *t
		own.Bench = job.Bench{Marks: t.Unit().Column(), Gives: t.Signal().Column()}
		form.Marks, form.Gives = own.Bench.Marks, own.Bench.Gives
		if wrong = form.onto(&own, j.Shown()); wrong != nil {
			return errWrong
		}
		k, err := sitting.Begin(t, job.Service{Bench: own.Bench, Note: note})
		if err != nil {
			wrong = &benchWrong{err.Error(), "date"}
			return errWrong
		}
		place = k
		return nil
	})
	switch {
	case err == nil:
		n := max(1, min(at.N, len(changed.Job.Tanks)))
		if place < 0 { // the same form sent again: the last one of that day
			for k, service := range changed.Job.Tanks[n-1].Services {
				if service.Date == form.Date {
					place = k
				}
			}
		}
		if place < 0 {
			return goTo(w, r, at.Path+"/later")
		}
		return goTo(w, r, laterPath(at, place))
	case wrong != nil:
		wrong.Text = "No check was begun: " + wrong.Text + "."
		return s.showLater(w, r, kept, at, form, note, wrong)
	}
	if f := judged(err); f.status == http.StatusUnprocessableEntity || errors.Is(err, job.ErrFull) {
		return s.showLater(w, r, kept, at, form, note, &benchWrong{Text: f.text})
	}
	return err
}
