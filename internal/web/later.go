package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
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

// HasLater says whether a tank's work is done, so that a later check can be made of
// it, or one was.
func (at *tankAt) HasLater() bool {
	if len(at.Services) > 0 {
		return true
	}
	for _, c := range at.Checks {
		if c.When == job.AsLeft {
			return true
		}
	}
	return false
}

// laterStep says on the card how the later checks stand; false while the work isn't
// done.
func (s *Site) laterStep(f *fit) (cardStep, bool) {
	at := f.at
	step := cardStep{Name: "Later", Path: at.Path + "/later", Done: true}
	n := len(at.Services)
	if n == 0 {
		for _, own := range at.Summary() {
			if !own.Done {
				return step, false
			}
		}
		step.Text = telling.UncheckedWords(*at.Tank, s.o.Now())
		return step, true
	}
	step.Text, step.Done = s.laterWords(f, n-1), false
	if len(at.Services[n-1].Readings) == 0 {
		return step, true
	}
	if l, err := s.laterOf(f, n-1); err == nil && l.Advice != nil && l.Advice.Do == drift.Leave {
		step.Done = true
		if due, ok := l.Due(); ok {
			step.Text += "; " + telling.DueWords(due, s.o.Now())
			step.Done = !s.o.Now().After(due)
		}
	}
	return step, true
}

// laterWords says what a check came to, in the words of the card.
func (s *Site) laterWords(f *fit, k int) string {
	service := f.at.Services[k]
	if len(service.Readings) == 0 {
		return "begun on " + dayWords(service.Date) + "; take readings"
	}
	l, err := s.laterOf(f, k)
	if err != nil {
		return howMany(len(service.Readings), "reading", "readings") + " on " + dayWords(service.Date) + "; " + err.Error()
	}
	return l.Summary()
}

// laterOf holds a check against the record, once for each revision.
func (s *Site) laterOf(f *fit, k int) (telling.Later, error) {
	key := fmt.Sprintf("%s|%d|%d|%d", f.kept.ID, f.kept.Revision, f.at.N, k)
	if found, ok := s.laters.get(key); ok {
		return found.Later, found.err
	}
	var out laterFound
	out.Later, out.err = telling.LaterOf(*f.at.Tank, k)
	s.laters.put(key, out)
	return out.Later, out.err
}

// laterFound is what came of a check, or why nothing did.
type laterFound struct {
	telling.Later
	err error
}

// toCheck gives the marks to go to at a later check of a tank, once for each
// revision; none where there is no curve to check against.
func (s *Site) toCheck(f *fit) []float64 {
	key := fmt.Sprintf("%s|%d|%d", f.kept.ID, f.kept.Revision, f.at.N)
	if marks, ok := s.checkMarks.get(key); ok {
		return marks
	}
	marks, err := sitting.ToCheck(*f.at.Tank)
	if err != nil {
		marks = nil
	}
	s.checkMarks.put(key, marks)
	return marks
}

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
