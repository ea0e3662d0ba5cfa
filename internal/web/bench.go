package web

import (
	"net/http"
	"net/url"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
)

// benchPage is the sitting at the bench: what the meter says, the mark to go to
// and what was taken so far.
func (s *Site) benchPage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	s.left(r, kept, at.Path+"/bench")
	q := r.URL.Query()
	return s.showBench(w, r, http.StatusOK, kept, at, benchAsk{Mark: q.Get("mark"), Sweep: q.Get("sweep"), Said: q.Get("said")}, nil)
}

// showBench shows the bench as the store has it, with what was asked for or
// typed and couldn't be used still in its fields.
func (s *Site) showBench(w http.ResponseWriter, r *http.Request, status int, kept *job.Kept, at *tankAt, ask benchAsk, wrong *benchWrong) error {
	v := view{Page: "bench", Title: at.Name + ", bench", Wide: true, Meter: true, Job: kept, Tank: at}
	if wrong != nil {
		v.Fault = wrong.Text
	} else {
		wrong = &benchWrong{}
	}
	v.Body = s.benchBody(r.Context(), kept, at, ask, *wrong, s.meterIn(r))
	return s.showAs(w, r, status, v)
}

// benchAsk is where the page stands: what its address or its form says.
type benchAsk struct {
	Mark  string // in the shown unit; "": the mark that is suggested
	Sweep string // "up", "down" or ""
	Typed string // ohms that couldn't be taken
	Said  string // what became of the form before
	Setup *benchSetup
}

// benchWrong is what was wrong with a form, and with which of its fields.
type benchWrong struct {
	Text, Field string
}

// takeAddress is a page on which readings are taken with the direction that it is
// worked in.
func takeAddress(path string, sweep curve.Sweep, said string) string {
	q := url.Values{}
	if sweep != curve.Unstated {
		q.Set("sweep", sweep.String())
	}
	if said != "" {
		q.Set("said", said)
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// moveHand moves the magnet or float of a simulated sender.
func (s *Site) moveHand(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	switch {
	case err != nil:
		return err
	case s.o.Hand == nil:
		return notFound("There is no simulated sender here; this bench is a real one.")
	case field(r, "tank") != "" && field(r, "tank") != d.at.Name:
		return job.ErrMoved
	}
	mark, err := sitting.ParseMark(d.at.Unit(), field(r, "mark"))
	if err != nil {
		return d.show(w, r, http.StatusUnprocessableEntity, benchAsk{}, &benchWrong{Text: "The simulated sender wasn’t moved: " + err.Error() + ".", Field: "hand"})
	}
	s.o.Hand(*d.at.Tank, mark)
	return goTo(w, r, d.path)
}
