package web

import (
	"net/http"
	"time"
)

// mostChanges is how many changes of a job the history shows.
const mostChanges = 500

// historyBody is the changes of a job, the newest first, by day.
type historyBody struct {
	Days []historyDay
	More bool // there may be older ones
}

type historyDay struct {
	Day     string
	Changes []historyChange
}

type historyChange struct {
	At       time.Time
	Clock    string
	By, Text string
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
	body := historyBody{More: len(changes) == mostChanges}
	zone := s.o.Now().Location()
	for _, c := range changes {
		at := c.At.In(zone)
		day := at.Format("Monday, 2 January 2006")
		if n := len(body.Days); n == 0 || body.Days[n-1].Day != day {
			body.Days = append(body.Days, historyDay{Day: day})
		}
		last := &body.Days[len(body.Days)-1]
		last.Changes = append(last.Changes, historyChange{at, at.Format("15:04:05"), c.By, c.Words})
	}
	return s.show(w, r, view{Page: "history", Title: "History of job " + cutTo(kept.Job.Number, 60), Job: kept, Body: body})
}
