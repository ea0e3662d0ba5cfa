package web

import (
	"bytes"
	"errors"
	"net/http"
	"net/url"

	"gaugewright/internal/curve"
	"gaugewright/internal/record"
	"gaugewright/internal/telling"
)

// setBody is the page of the numbers to key in.
type setBody struct {
	Waits string // why there is nothing to set yet
	Sick  string // what is wrong with the sender itself

	Kept       string // what is keyed in as the job has it
	Wished     *wished
	Readouts   []setOption
	Scales     []setOption
	Objectives []setOption
	Unit       string // of the values
	Mark       string // the unit of the marks
	UsualStep  string // of end values, in words

	Best     *bestBody
	Own      *ownBody
	Trial    *trialBody
	Findings []record.Sentence
	Keep     keepBody
}

// setPage shows the best numbers, and what others would do.
func (s *Site) setPage(w http.ResponseWriter, r *http.Request) error {
	return s.showSet(w, r, r.URL.Query(), "")
}

// showSet shows the page for the fields that were sent. A fault that isn't empty
// is what was wrong with a form that was sent to be kept.
func (s *Site) showSet(w http.ResponseWriter, r *http.Request, sent url.Values, fault string) error {
	f, err := s.fitNow(r)
	if err != nil {
		return err
	}
	s.left(r, f.kept, f.at.Path+"/set")
	v := view{Page: "set", Title: f.at.Name + ": set", Wide: true, Job: f.kept, Tank: f.at, Fault: fault}
	var body setBody
	if wrong := s.fillSet(&body, f, sent); v.Fault == "" {
		v.Fault = wrong
	}
	v.Body = body
	return s.show(w, r, v)
}

// fillSet works the page out, as far as it can be; the fault is what can't.
func (s *Site) fillSet(b *setBody, f *fit, sent url.Values) (fault string) {
	at := f.at
	c, err := at.View.Fitted()
	var sender *curve.SenderError
	switch {
	case errors.As(err, &sender):
		b.Sick = telling.Sentence(sender.Text)
		return ""
	case err != nil:
		b.Waits = telling.Sentence(err.Error())
		return ""
	case !c.Ordered():
		b.Sick = telling.Sentence(c.Disorder())
		return ""
	}
	w := wishOf(at, c.Signal(), sent)
	b.Wished, b.Unit, b.Mark = w, c.Signal().Unit(), c.Unit().Symbol()
	b.UsualStep = telling.StepWords(c.Signal(), nil)
	b.Kept = keptWords(at)
	b.Readouts, b.Scales, b.Objectives = readoutOptions(c.Signal()), scaleOptions(at, w), objectiveOptions()
	b.Keep = s.keepOf(f, sent)
	if fault = w.faultOf(wishFields...); fault != "" {
		return fault
	}
	p, err := s.propose(f, w.how, w.wish)
	if err != nil {
		return w.refused(err)
	}
	best := bestOf(p.Proposal)
	b.Best, b.Findings = &best, quietNotes(p.remedies)
	if w.wish.Readout == telling.TwoPoint {
		b.Own = ownOf(at, p.Proposal, w)
	}
	trial, err := trialOf(at, p.Proposal, startsAt(at, p.Proposal, w))
	if err != nil {
		return plainWords(at.Name, err.Error())
	}
	b.Trial = trial
	return w.faultOf("lower", "upper")
}

// trySetting gives what end values of somebody's own would do: the part of the
// page alone that tells it.
func (s *Site) trySetting(w http.ResponseWriter, r *http.Request) error {
	f, err := s.fitNow(r)
	if err != nil {
		return err
	}
	trial, fault := s.try(f, r.URL.Query())
	status := http.StatusOK
	if fault != "" {
		status, trial = http.StatusUnprocessableEntity, &trialBody{Fault: fault}
	}
	var b bytes.Buffer
	if err := pageOf("set").ExecuteTemplate(&b, "trial", trial); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = b.WriteTo(w) // a browser that went away is no matter
	return nil
}

// try works a trial out for the fields that were sent.
func (s *Site) try(f *fit, sent url.Values) (*trialBody, string) {
	c, err := f.at.View.Fitted()
	if err != nil {
		return nil, telling.Sentence(err.Error())
	}
	w := wishOf(f.at, c.Signal(), sent)
	if fault := w.faultOf(append(wishFields, "lower", "upper")...); fault != "" {
		return nil, fault
	}
	p, err := s.propose(f, w.how, w.wish)
	if err != nil {
		return nil, w.refused(err)
	}
	trial, err := trialOf(f.at, p.Proposal, startsAt(f.at, p.Proposal, w))
	if err != nil {
		return nil, plainWords(f.at.Name, err.Error())
	}
	return trial, ""
}
