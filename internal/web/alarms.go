package web

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/doors"
)

// Addresses of the page of the alarms.
const (
	alarmsPath = "/alarms"
	alarmsNow  = alarmsPath + "/now"
)

// alarmRoutes adds the page of the alarms to the addresses of a site.
func (s *Site) alarmRoutes(m *crossing) {
	m.Handle("GET "+alarmsPath, s.page(s.alarmsPage))
	m.Handle("GET "+alarmsNow, s.page(s.alarmsNow))
	m.Handle("POST "+alarmsPath+"/acknowledge", s.page(s.acknowledgeAlarm))
	m.Handle("POST "+alarmsPath+"/shelve", s.page(s.shelveAlarm))
	m.Handle("POST "+alarmsPath+"/service", s.page(s.serveAlarm))
}

// alarmsPage says how the alarms stand, what needs somebody first.
func (s *Site) alarmsPage(w http.ResponseWriter, r *http.Request) error {
	b, err := s.alarmsBody(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view{Page: "alarms", Title: "Alarms", Body: b})
}

// alarmsNow is what stands on the page of the alarms, for its script.
func (s *Site) alarmsNow(w http.ResponseWriter, r *http.Request) error {
	b, err := s.alarmsBody(r)
	if err != nil {
		return err
	}
	return s.showPart(w, "alarms", "now", view{Page: "alarms", Languages: s.languages(r), Body: b})
}

// board gives the alarms of the watch; nil where there are none.
func (s *Site) board() alarm.Board {
	if s.o.Watch == nil {
		return nil
	}
	return s.o.Watch.Alarms()
}

// alarmsSeen gives the alarms of those tanks that may be looked at.
func (s *Site) alarmsSeen(r *http.Request) ([]alarm.Standing, error) {
	board := s.board()
	if board == nil {
		return nil, nil
	}
	all, err := board.Alarms(r.Context())
	who := s.who(r)
	return slices.DeleteFunc(slices.Clone(all), func(a alarm.Standing) bool { return !who.Sees(a.Rule.Tank) }), err
}

// byWhom is what is written down of who did something about an alarm.
func byWhom(v doors.Visitor) string {
	switch {
	case v.Name != "":
		return v.Name
	case v.Role == doors.Owner:
		return alarm.ByOwner
	}
	return alarm.ByFitter
}

// aboutAlarm does something about the alarm that a form names.
func (s *Site) aboutAlarm(w http.ResponseWriter, r *http.Request, do func(b alarm.Board, id, by string) error) error {
	board, id, who := s.board(), field(r, "alarm"), s.who(r)
	none := notFound("There is no such alarm. It may not be set up any more.")
	if board == nil || !who.Sees(alarm.TankOf(id)) {
		return none
	}
	switch err := do(board, id, byWhom(who)); {
	case errors.Is(err, alarm.ErrNone):
		return none
	case errors.Is(err, alarm.ErrShelf):
		return refused("An alarm can be shelved for a week at most. To have it silent for longer, take it out of service.")
	case err != nil:
		return err
	}
	return goTo(w, r, alarmsPath)
}

func (s *Site) acknowledgeAlarm(w http.ResponseWriter, r *http.Request) error {
	return s.aboutAlarm(w, r, func(b alarm.Board, id, by string) error { return b.Acknowledge(r.Context(), id, by) })
}

// shelves are for how long an alarm can be shelved on the page.
var shelves = []struct {
	name, words string
	until       func(now time.Time) time.Time
}{
	{"hour", "1 hour", func(now time.Time) time.Time { return now.Add(time.Hour) }},
	{"hours", "8 hours", func(now time.Time) time.Time { return now.Add(8 * time.Hour) }},
	{"morning", "until 8:00 tomorrow", func(now time.Time) time.Time {
		return time.Date(now.Year(), now.Month(), now.Day()+1, 8, 0, 0, 0, now.Location())
	}},
}

func (s *Site) shelveAlarm(w http.ResponseWriter, r *http.Request) error {
	var until time.Time
	if how := field(r, "for"); how != "end" {
		at := slices.IndexFunc(shelves, func(x struct {
			name, words string
			until       func(now time.Time) time.Time
		}) bool {
			return x.name == how
		})
		if at < 0 {
			return refused("Nothing says for how long the alarm is to be shelved. Press one of the buttons.")
		}
		until = shelves[at].until(s.o.Now())
	}
	return s.aboutAlarm(w, r, func(b alarm.Board, id, by string) error { return b.Shelve(r.Context(), id, by, until) })
}

func (s *Site) serveAlarm(w http.ResponseWriter, r *http.Request) error {
	in := field(r, "in")
	if in != "yes" && in != "no" {
		return refused("Nothing says whether the alarm is to be in service. Press one of the buttons.")
	}
	return s.aboutAlarm(w, r, func(b alarm.Board, id, by string) error { return b.Service(r.Context(), id, by, in == "yes") })
}
