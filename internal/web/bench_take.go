package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// lateLimit is how old a reading may be that a page couldn't send when it was
// taken.
const lateLimit = 24 * time.Hour

// take takes one reading. A page sends one again until it hears that it is kept,
// always with the same key, so that it is kept once.
func (s *Site) take(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	ask := benchAsk{Mark: field(r, "mark"), Sweep: field(r, "sweep"), Typed: field(r, "ohm")}
	if !benchStill(r, d.own) {
		return job.ErrMoved
	}
	reading, wrong := s.readingOf(r, d.own)
	// Of another tank that stands here now the store knows: a reading that was
	// kept before its tank got another name was kept, and one that wasn't is not.
	if name := field(r, "tank"); wrong != nil && (name == "" || name == d.at.Name) {
		wrong.Text = "Not taken: " + wrong.Text + "."
		return d.show(w, r, http.StatusUnprocessableEntity, ask, wrong)
	}
	var refusal error
	made := false
	_, err = s.changeTank(r, job.Change{Words: d.words("taken: " + sitting.Words(reading))}, func(j *job.Job, t *job.Tank) error {
		return d.change(t, func(own *job.Tank) error {
			if refusal = sitting.Take(own, reading); refusal != nil {
				return refusal
			}
			s.noteBench(r, j, own)
			made = true
			return nil
		})
	})
	switch {
	case err == nil:
		said := ""
		if !made {
			said = "already"
		}
		sweep, _ := curve.ParseSweep(reading.Sweep)
		return goTo(w, r, d.address(sweep, said))
	case refusal != nil:
		return d.show(w, r, http.StatusUnprocessableEntity, ask, &benchWrong{Text: "Not taken: " + refusal.Error() + "."})
	}
	return s.deskFailed(w, r, err, ask)
}

// benchStill says whether the bench is in the units that the page was made for:
// 120 mm must not become 120 litres.
func benchStill(r *http.Request, t job.Tank) bool {
	marks, gives := field(r, "marks"), field(r, "gives")
	return (marks == "" || marks == t.Unit().Column()) && (gives == "" || gives == t.Signal().Column())
}

// readingOf reads a reading from the form that takes it.
func (s *Site) readingOf(r *http.Request, t job.Tank) (job.Reading, *benchWrong) {
	reading := job.Reading{Signal: t.Signal()}
	mark, err := sitting.ParseMark(t.Unit(), field(r, "mark"))
	if err != nil {
		return reading, &benchWrong{err.Error(), "mark"}
	}
	reading.SetMark(t.Unit().ToShown(mark), t.Unit())
	sweep, err := curve.ParseSweep(field(r, "sweep"))
	if err != nil {
		return reading, &benchWrong{err.Error(), "sweep"}
	}
	reading.Sweep = sweep.String()
	reading.Time = s.takenAt(field(r, "seen")).Format(time.RFC3339)
	value, err := s.valueOf(r, t.Signal())
	if err != nil {
		return reading, &benchWrong{err.Error(), "ohm"}
	}
	reading.Ohm = float64(value)
	return reading, nil
}

// valueOf gives what the form says was seen or typed, or where it says nothing
// and comes from a meter, what the meter says now. Nothing but a value that
// stands there as one is taken.
func (s *Site) valueOf(r *http.Request, signal curve.Signal) (quantity.Ohm, error) {
	text := field(r, "ohm")
	if text != "" || field(r, "from") != "meter" {
		return sitting.ParseValue(signal, text)
	}
	m, ok := s.o.Meters.Chosen()
	switch {
	case !ok:
		return 0, errors.New("there is no meter on the bench now; type the " + signal.Figures())
	case m.Last.State != sitting.Reading:
		words := m.Last.Words
		if words == "" {
			words = "the meter gives no value"
		}
		return 0, fmt.Errorf("the meter gives no reading now (%s); put that right, or type the %s", strings.TrimRight(words, "."), signal.Figures())
	case m.Last.Signal != signal:
		return 0, fmt.Errorf("the meter gives %s, and this bench reads %s; set the meter to that", m.Last.Signal.Figures(), signal.Figures())
	case m.Last.Spell != 0:
		return sitting.ParseValue(signal, valueText(m.Steady))
	}
	return sitting.ParseValue(signal, valueText(m.Last.Value))
}

// takenAt gives the time of a reading: now, or where the page couldn't send it
// at once, what it noted. Whoever sets a clock back gets readings whose times
// go backwards; their order is the one they were taken in.
func (s *Site) takenAt(seen string) time.Time {
	now := s.o.Now()
	at, err := time.Parse(time.RFC3339, seen)
	if err != nil || at.After(now) || now.Sub(at) > lateLimit {
		return now
	}
	return at.In(now.Location())
}

// noteBench writes down once who made the readings, when and with what, where
// nobody has.
func (s *Site) noteBench(r *http.Request, j *job.Job, t *job.Tank) {
	b := &t.Bench
	if b.By == "" {
		b.By = j.Fitter
	}
	if b.Date == "" {
		b.Date = s.o.Now().Format(time.DateOnly)
	}
	if m, ok := s.o.Meters.Chosen(); ok && b.Meter == "" && field(r, "from") == "meter" {
		b.Meter = m.Setup.Name
	}
}
