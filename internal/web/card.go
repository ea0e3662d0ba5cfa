package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// cardBody is one job from top to bottom.
type cardBody struct {
	Facts []record.Fact
	Tanks []cardTank
	Key   string // of a copy, or of a tank that is taken out
	// Cautions are those of each tank that has any.
	Cautions []cardCautions
	Sealed   signatureBody // of the job as it was taken in
}

type cardCautions struct {
	Name string
	List []string
}

// cardTank is one tank on the sketch line.
type cardTank struct {
	*tankAt
	Of     int // how many there are
	Column record.Figure
	Plain  bool // the column has no scale that is known
	Steps  []cardStep
}

// cardStep is a step as a sentence, with the page that takes it further.
type cardStep struct {
	Name, Text, Path string
	Done, Next       bool // Next: the first that isn't done
}

// cardPage is the card of a job.
func (s *Site) cardPage(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	s.left(r, kept, "")
	made := s.recordMade(r.Context(), kept)
	body := cardBody{Facts: cardFacts(kept.Job), Key: newKey(), Sealed: s.signatureOf(r.Context(), kept.Job)}
	for n := range kept.Job.Tanks {
		t := s.cardTank(kept, n+1, made)
		body.Tanks = append(body.Tanks, t)
		if list := t.Cautions(); len(list) > 0 {
			body.Cautions = append(body.Cautions, cardCautions{t.Name, list})
		}
	}
	return s.show(w, r, view{Page: "card", Title: titleOf(kept.Job), Wide: true, Job: kept, Body: body})
}

func (s *Site) cardTank(kept *job.Kept, n int, made cardStep) cardTank {
	t := cardTank{tankAt: tankOf(kept, n), Of: len(kept.Job.Tanks)}
	column, ok := t.View.Column()
	if _, err := t.View.Fitted(); err != nil || !ok {
		// Without a curve there are no marks that a scale could stand on.
		column, t.Plain = plainColumn(t.Name, n, t.Accent), true
	}
	t.Column = column
	for _, step := range t.Summary() {
		t.Steps = append(t.Steps, cardStep{Name: step.Name, Text: step.Text, Done: step.Done,
			Path: t.Path + "/" + strings.ToLower(step.Name)})
	}
	t.Steps = append(t.Steps, made)
	for i := range t.Steps {
		if !t.Steps[i].Done {
			t.Steps[i].Next = true
			break
		}
	}
	if later, ok := s.laterStep(s.fitOf(kept, n)); ok {
		later.Next = !later.Done // whatever else there is to do
		t.Steps = append(t.Steps, later)
	}
	return t
}

// plainColumn is a tube of which nothing is known yet but the dial's own marks.
func plainColumn(name string, n int, accent chart.Accent) record.Figure {
	return record.Figure{ID: "tank-" + itoa(n) + "-column", Wide: chart.DrawColumn(chart.Column{
		Title: name + ": no scale yet", Desc: "An upright tube. Its scale is drawn when there are readings for a curve.",
		MarkTitle: "%", LowMark: 0, HighMark: 100, Width: 240, Height: 320, Accent: accent,
	})}
}

// recordMade is the step of the record, which the job itself doesn't know of.
func (s *Site) recordMade(ctx context.Context, kept *job.Kept) cardStep {
	step := cardStep{Name: "Record", Text: "not printed yet", Path: jobPath(kept.ID) + "/record"}
	words, current, err := s.lastRecord(ctx, kept)
	if err != nil {
		s.o.Log.Warn("what is noted of a record can't be read", "job", kept.ID, "error", err)
	}
	if words != "" {
		step.Text, step.Done = words, current
	}
	return step
}

// cardFacts is who, what and when.
func cardFacts(j *job.Job) []record.Fact {
	day := j.Date
	if d, err := time.Parse(time.DateOnly, j.Date); err == nil {
		day = d.Format("2 January 2006")
	}
	list := []record.Fact{
		{Name: "Number", Value: j.Number}, {Name: "Date", Value: day}, {Name: "Fitter", Value: j.Fitter},
		{Name: "Units", Value: unitsWords(j.Shown())}, {Name: "Note", Value: j.Note},
	}
	for i := range list {
		if list[i].Value == "" {
			list[i].Value, list[i].Missing = "not stated", true
		}
	}
	return list
}

// titleOf names a job for the window.
func titleOf(j *job.Job) string {
	parts := []string{}
	for _, p := range []string{j.Customer, j.Vehicle} {
		if p != "" {
			parts = append(parts, cutTo(p, 60))
		}
	}
	return strings.Join(append(parts, "job "+cutTo(j.Number, 60)), ", ")
}
