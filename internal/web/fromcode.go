package web

import (
	"net/http"

	"gaugewright/internal/job"
	"gaugewright/internal/tag"
)

// fromCodePath is where the text of a printed code is sent.
const fromCodePath = "/jobs/from-code"

// codeBody is the form for the text of a printed code.
type codeBody struct {
	Code  string // as it was pasted
	Fault string // what is wrong with it
}

func (s *Site) fromCodePage(w http.ResponseWriter, r *http.Request) error {
	return s.showFromCode(w, r, codeBody{})
}

func (s *Site) showFromCode(w http.ResponseWriter, r *http.Request, b codeBody) error {
	return s.show(w, r, view{Page: "fromcode", Title: "From a printed code", Fault: b.Fault, Body: b})
}

// startFromCode starts a job with the settings and the curve in a printed code.
// One that has been taken in before leads to the job that it became.
func (s *Site) startFromCode(w http.ResponseWriter, r *http.Request) error {
	b := codeBody{Code: r.PostFormValue("code")}
	j, err := tag.Decode(b.Code)
	if err != nil {
		b.Fault = asSentence(err.Error())
		return s.showFromCode(w, r, b)
	}
	in, err := job.TakeIn(r.Context(), s.o.Store, j, s.o.Now())
	if faults := faultsOf(err); faults != nil {
		b.Fault = "Not started. " + asSentence(faults.all())
		return s.showFromCode(w, r, b)
	}
	if in.ID == "" {
		return err
	}
	if err != nil {
		s.o.Log.Warn("what a printed code was kept as isn't noted", "job", in.ID, "error", err)
	}
	return goTo(w, r, jobPath(in.ID))
}
