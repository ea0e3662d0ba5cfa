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
func leftTankPath(tank string) string { return leftPath + "/" + url.PathEscape(tank) }

// pastRoutes are the addresses of a tank's past.
func (s *Site) pastRoutes(page func(pattern string, h handler)) {
	page("GET "+leftPath+"/{tank}", s.leftTankPage)
	page("GET "+leftPath+"/{tank}/now", s.leftTankNow)
	page("GET "+leftPath+"/{tank}/history.csv", s.leftTankCSV)
	page("GET "+leftPath+"/{tank}/use.csv", s.leftTankUse)
	page("GET "+leftPath+"/{tank}/events.csv", s.leftTankEvents)
	s.docketRoutes(page)
}

// leftAt is the tank of an address.
type leftAt struct {
	Label
	level watch.Level
	n     int // its place among those that are watched, from 1
	place int // and among those that the visitor may see, from 0
}

// leftTankAt gives the tank of an address. One that isn't watched and one that the
// visitor may not see are the same.
func (s *Site) leftTankAt(r *http.Request, visitor doors.Visitor) (leftAt, error) {
	levels := s.o.Watch.Levels(s.o.Now())
	place := 0
	for i, l := range s.o.Watch.Labels() {
		if i >= len(levels) || !visitor.Sees(l.Tank) {
			continue
		}
		if l.Tank == r.PathValue("tank") {
			ownIn(r.Context(), l.Tank, l.Label, levels[i].Source)
			return leftAt{l, levels[i], i + 1, place}, nil
		}
		place++
	}
	return leftAt{}, notFound("No tank of this name is watched here, or it isn't yours to look at.")
}

// pastAsked gives the tank of an address, with what of its past is asked for.
func (s *Site) pastAsked(r *http.Request) (leftAt, *tankPast, pastAsk, error) {
	visitor, now := s.who(r), s.o.Now()
	at, err := s.leftTankAt(r, visitor)
	if err != nil {
		return at, nil, pastAsk{}, err
	}
	ask, err := pastAskOf(r.URL.Query(), now)
	return at, &tankPast{label: at.Label, place: at.n - 1, level: at.level, now: now, fitter: visitor.Role == doors.Fitter}, ask, err
}

// leftTankNow is what is left in a tank now, for the script of its page.
func (s *Site) leftTankNow(w http.ResponseWriter, r *http.Request) error {
	at, err := s.leftTankAt(r, s.who(r))
	if err != nil {
		return err
	}
	return s.showPart(w, "lefttank", "now", s.leftTankState(r, at))
}

// leftTankState is what the owner's page has of the tank.
func (s *Site) leftTankState(r *http.Request, at leftAt) leftTank {
	now := s.o.Now()
	t := leftTankOf(at.n, at.Label, at.level, now)
	t.goesOn(r.Context(), aheadOf(s.o.Watch, now), at.n-1, now)
	t.Column = leftColumn(at.Label, at.level, t)
	return t
}

// leftTankPage is a tank: what is left now, and how that came to be.
func (s *Site) leftTankPage(w http.ResponseWriter, r *http.Request) error {
	at, p, ask, err := s.pastAsked(r)
	if err != nil {
		return err
	}
	p.raw = p.fitter
	now := p.now
	b := leftTankBody{Path: leftTankPath(at.Tank), Place: at.place, Now: s.leftTankState(r, at), Cautions: at.Cautions}
	b.Fitter, b.Docket = p.fitter, s.docketLink(at.Label, s.who(r))
	switch err := s.recallPast(r.Context(), p, ask); {
	case errors.Is(err, context.Canceled):
		return err
	case errors.Is(err, errNothingKept):
		b.Why = "Nothing is kept here: there is no past to show."
	case err != nil:
		s.o.Log.Error("the past can't be read", "tank", at.Tank, "error", err)
		b.Why = "What was kept can't be read at present. What is left now stands above all the same."
	default:
		for _, e := range p.events {
			ownIn(r.Context(), e.own)
		}
		for _, l := range p.lines {
			ownIn(r.Context(), l.Source)
		}
		b.fill(p)
	}
	b.choose(p, ask)
	b.Use = tankUseOf(at.Label, aheadOf(s.o.Watch, now), at.n-1, b.Path, now, b.Fitter)
	if b.Use != nil {
		b.Use.Events += ask.address("")
	}
	return s.show(w, r, view{Page: "lefttank", Title: b.Now.Name, Wide: true, Body: b})
}
