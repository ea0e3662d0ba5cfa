package web

import (
	"net/http"
	"strings"
	"time"

	"gaugewright/internal/job"
)

const (
	// mostLines is how many jobs the list shows; the field finds the others.
	mostLines = 100
	// longestFind is how many characters are looked for, at the most.
	longestFind = 300
)

// jobsBody is the list of jobs.
type jobsBody struct {
	Find  string
	Count string // what the list holds, in a sentence
	Lines []jobLine
	Key   string // of the job that may be started
	Any   bool   // there is a job, found or not
	Code  codeBody
}

// jobLine is a job as one line of the list.
type jobLine struct {
	Path, Customer, Vehicle, Number string
	Changed                         time.Time
	When                            string
	Tanks                           []lineTank
}

// lineTank is what is still to do on one tank of a job.
type lineTank struct {
	Name, Words, Accent, Next string
	Done                      bool
}

// jobsPage is the list, with one field that finds and starts.
func (s *Site) jobsPage(w http.ResponseWriter, r *http.Request) error {
	body, err := s.jobsBody(r, cutTo(r.URL.Query().Get("find"), longestFind))
	if err != nil {
		return err
	}
	return s.show(w, r, view{Page: "jobs", Title: "Jobs", Body: body})
}

func (s *Site) jobsBody(r *http.Request, find string) (jobsBody, error) {
	ctx := r.Context()
	ownIn(r.Context(), find)
	cards, all, err := s.o.Store.Jobs(ctx, toFind(find), mostLines)
	if err != nil {
		return jobsBody{}, err
	}
	body := jobsBody{Find: find, Count: countOf(find, len(cards), all), Key: newKey(), Any: all > 0}
	if all == 0 && find != "" {
		if _, every, err := s.o.Store.Jobs(ctx, "", 1); err == nil {
			body.Any = every > 0
		}
	}
	now := s.o.Now()
	for _, c := range cards {
		ownIn(r.Context(), c.Customer, c.Vehicle, c.Number)
		line := jobLine{Path: jobPath(c.ID), Customer: c.Customer, Vehicle: c.Vehicle, Number: c.Number,
			Changed: c.Changed, When: whenWords(c.Changed, now)}
		for _, t := range c.Tanks {
			ownIn(r.Context(), t.Name)
			in := looksOf(t.Contents)
			if strings.EqualFold(in.words, t.Name) {
				in.words = "" // its name says it
			}
			line.Tanks = append(line.Tanks, lineTank{t.Name, in.words, in.accent.Class(), t.Next, t.Done})
		}
		body.Lines = append(body.Lines, line)
	}
	return body, nil
}

// countOf says how many jobs there are, and how many are not shown.
func countOf(find string, shown, all int) string {
	jobs := howMany(all, "job", "jobs")
	switch {
	case all == 0 && find != "":
		return "No job has all of that in its customer, vehicle, number, date or tanks."
	case all == 0:
		return ""
	case shown < all && find != "":
		return howMany(shown, "job", "jobs") + " shown, " + howMany(all-shown, "more matches", "more match") + ". Type more to find one."
	case shown < all:
		return howMany(shown, "job", "jobs") + " shown, the last changed first; there are " + howMany(all-shown, "more", "more") + ". Type a word to find one."
	case find != "":
		return jobs + " found."
	}
	return jobs + ", the last changed first."
}

// startJob starts a job for the customer that was typed. The form's key makes
// the same button pressed twice one job.
func (s *Site) startJob(w http.ResponseWriter, r *http.Request) error {
	now := s.o.Now()
	usual := s.usual(r.Context())
	j := &job.Job{Number: s.nextNumber(r.Context(), now), Customer: field(r, "find"), Fitter: usual.Fitter,
		Date: now.Format(time.DateOnly), Units: usual.Units, Tanks: []job.Tank{}}
	id, err := s.o.Store.Start(r.Context(), field(r, "key"), j, now)
	if faults := faultsOf(err); faults != nil {
		body, listErr := s.jobsBody(r, "")
		if listErr != nil {
			return listErr
		}
		body.Find = j.Customer
		return s.show(w, r, view{Page: "jobs", Title: "Jobs", Body: body, Fault: "Not started. " + asSentence(faults.all())})
	} else if err != nil {
		return err
	}
	return goTo(w, r, jobPath(id)+"/facts")
}

// openJob leads to where a job was left.
func (s *Site) openJob(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	return goTo(w, r, placeOf(kept))
}

// copyJob starts a job with the same tanks for the next vehicle.
func (s *Site) copyJob(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	now := s.o.Now()
	j := copied(kept.Job, s.nextNumber(r.Context(), now), now.Format(time.DateOnly))
	id, err := s.o.Store.Start(r.Context(), field(r, "key"), j, now)
	if err != nil {
		return err
	}
	return goTo(w, r, jobPath(id)+"/facts")
}
