package web

import (
	"fmt"
	"net/http"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// mostChanges is how many changes of a job the history shows.
const mostChanges = 500

// historyBody is the changes of a job, the newest first, by day.
type historyBody struct {
	Days    []historyDay
	More    bool  // there may be older ones
	Last    int64 // the present revision
	Compare compareBody
}

type historyDay struct {
	Day     string
	Changes []historyChange
}

// historyChange is one revision: what was done, and the paths to what changed by
// it and to the job as it was after it.
type historyChange struct {
	N        int64
	At       time.Time
	Clock    string
	By, Text string
	Before   int64 // the revision before; 0 for the first
	Now      bool  // it is the present one
}

// compareBody is two revisions to choose, and what changed between them.
type compareBody struct {
	From, To       string // as typed
	FromBad, ToBad string
	Asked          bool
	First, Second  int64 // the numbers that were compared, the smaller first
	Changes        []string
}

func (s *Site) historyPage(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	changes, err := s.o.Store.History(r.Context(), kept.ID, mostChanges)
	if err != nil {
		return err
	}
	body := historyBody{Last: kept.Revision}
	for _, c := range changes {
		body.add(c, s.o.Now().Location())
	}
	if n := len(changes); n == mostChanges && changes[n-1].Revision > 1 {
		body.More = true
	} else if n == 0 || changes[n-1].Revision > 0 {
		body.add(job.Change{At: kept.Made, Words: "started"}, s.o.Now().Location())
	}
	v := view{Page: "history", Title: "History of job " + cutTo(kept.Job.Number, 60), Job: kept}
	if body.Compare, err = s.compared(r, kept); err != nil {
		return err
	}
	if v.Fault = body.Compare.FromBad; v.Fault == "" {
		v.Fault = body.Compare.ToBad
	}
	if v.Fault != "" {
		v.Title += ", question refused"
	}
	v.Body = body
	return s.show(w, r, v)
}

// add puts the next older change into its day.
func (b *historyBody) add(c job.Change, zone *time.Location) {
	at := c.At.In(zone)
	day := at.Format("Monday, 2 January 2006")
	if n := len(b.Days); n == 0 || b.Days[n-1].Day != day {
		b.Days = append(b.Days, historyDay{Day: day})
	}
	last := &b.Days[len(b.Days)-1]
	n := c.Revision + 1 // a change is noted with the revision that it was made of
	last.Changes = append(last.Changes, historyChange{n, at, at.Format("15:04:05"), c.By, c.Words, c.Revision, n == b.Last})
}

// compared reads which two revisions are to be compared, and compares them.
// Nothing asked compares nothing.
func (s *Site) compared(r *http.Request, kept *job.Kept) (compareBody, error) {
	q := r.URL.Query()
	c := compareBody{From: cutTo(q.Get("from"), 40), To: cutTo(q.Get("to"), 40)}
	if c.From == "" && c.To == "" {
		c.From, c.To = fmt.Sprint(max(1, kept.Revision-1)), fmt.Sprint(kept.Revision)
		return c, nil
	}
	var from, to int64
	from, c.FromBad = revisionOf(c.From, kept.Revision)
	to, c.ToBad = revisionOf(c.To, kept.Revision)
	if c.FromBad != "" || c.ToBad != "" {
		return c, nil
	}
	c.Asked, c.First, c.Second = true, min(from, to), max(from, to)
	was, err := s.o.Store.At(r.Context(), kept.ID, c.First)
	if err != nil {
		return c, err
	}
	is, err := s.o.Store.At(r.Context(), kept.ID, c.Second)
	if err != nil {
		return c, err
	}
	c.Changes = whatChanged(r.Context(), was, is)
	return c, nil
}

// revisionOf reads the number of a revision.
func revisionOf(text string, last int64) (n int64, bad string) {
	v, err := quantity.ParseNumber(text, true)
	if n = int64(v); err != nil || float64(n) != v || n < 1 || n > last {
		return 0, fmt.Sprintf("Found %q for the number of a change; expected a whole number, 1 to %d.", wording.Clip(text, 40), last)
	}
	return n, ""
}
