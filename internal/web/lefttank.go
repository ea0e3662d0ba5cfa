package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"

	"gaugewright/internal/doors"
	"gaugewright/internal/watch"
)

// leftTankPath is the address of a tank's page.
func leftTankPath(tank string) string { return "/left/" + url.PathEscape(tank) }

// pastRoutes are the addresses of a tank's past.
func (s *Site) pastRoutes(page func(pattern string, h handler)) {
	page("GET /left/{tank}", s.leftTankPage)
	page("GET /left/{tank}/history.csv", s.leftTankCSV)
}

// watchedTankAt gives the tank of an address: what it is called and its level now.
// One that isn't watched and one that the visitor may not see are the same.
func (s *Site) watchedTankAt(r *http.Request, visitor doors.Visitor) (Label, watch.Level, error) {
	name := r.PathValue("tank")
	if visitor.Sees(name) {
		levels := s.o.Watch.Levels(s.o.Now())
		for i, l := range s.o.Watch.Labels() {
			if l.Tank != name {
				continue
			}
			ownIn(r.Context(), l.Tank, l.Label)
			var level watch.Level
			if i < len(levels) {
				level = levels[i]
				ownIn(r.Context(), level.Source)
			}
			return l, level, nil
		}
	}
	return Label{}, watch.Level{}, notFound("No tank of this name is watched here, or it isn't yours to look at.")
}

// leftTankPage is a tank: what is left now, and how that came to be.
func (s *Site) leftTankPage(w http.ResponseWriter, r *http.Request) error {
	return s.leftTank(w, r, s.who(r))
}

func (s *Site) leftTank(w http.ResponseWriter, r *http.Request, visitor doors.Visitor) error {
	label, level, err := s.watchedTankAt(r, visitor)
	if err != nil {
		return err
	}
	now := s.o.Now()
	ask, err := pastAskOf(r.URL.Query(), now)
	if err != nil {
		return err
	}
	b := leftTankBody{Path: leftTankPath(label.Tank), AsOf: clockWords(now, now), Cautions: label.Cautions}
	b.Now = watchedTankOf(label, level, now)
	b.Now.Name = orElse(label.Label, label.Tank)
	b.Fitter = visitor.Role == doors.Fitter
	p := tankPast{label: label, level: level, now: now, fitter: b.Fitter, raw: b.Fitter}
	switch err := s.recallPast(r.Context(), &p, ask); {
	case errors.Is(err, context.Canceled):
		return err
	case errors.Is(err, errNothingKept):
		b.Why = "Nothing is kept here: there is no past to show."
	case err != nil:
		s.o.Log.Error("the past can't be read", "tank", label.Tank, "error", err)
		b.Why = "What was kept can't be read at present. What is left now stands above all the same."
	default:
		for _, e := range p.events {
			ownIn(r.Context(), e.Text)
		}
		for _, l := range p.lines {
			ownIn(r.Context(), l.Source)
		}
		b.fill(&p)
	}
	b.choose(&p, ask)
	return s.show(w, r, view{Page: "lefttank", Title: b.Now.Name, Wide: true, Body: b})
}
