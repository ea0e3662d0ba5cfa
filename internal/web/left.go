package web

import (
	"net/http"
	"time"

	"gaugewright/internal/doors"
)

// Addresses of the owner's page and of what a phone needs of it.
const (
	leftPath     = "/left"
	leftNow      = leftPath + "/now"
	leftStream   = leftPath + "/live"
	leftManifest = leftPath + "/manifest.webmanifest"
	leftWorker   = leftPath + "/worker.js"
	leftAway     = leftPath + "/away"
)

// NotTanks are names that no tank may have: below the owner's page they are others'.
var NotTanks = []string{"now", "live", "away"}

// leftRoutes adds the owner's page to the addresses of a site.
func (s *Site) leftRoutes(m *crossing) {
	m.Handle("GET "+leftPath, s.page(s.leftPage))
	m.Handle("GET "+leftNow, s.page(s.leftNow))
	m.Handle("GET "+leftStream, s.page(s.leftLive))
	m.Handle("GET "+leftManifest, s.page(s.leftManifest))
	m.Handle("GET "+leftWorker, s.page(s.leftWorker))
	m.Handle("GET "+leftAway, s.page(s.leftAway))
}

// firstPatience is for how long after its start a watch that has heard nothing of a
// tank is only waiting for it.
const firstPatience = 10 * time.Minute

const leftTitle = "What is left"

// leftPage says what is left in each tank that the visitor may look at.
func (s *Site) leftPage(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, view{Page: "left", Title: leftTitle, Wide: true, Body: s.leftBody(r)})
}

// leftNow is what stands on the owner's page now, for its script.
func (s *Site) leftNow(w http.ResponseWriter, r *http.Request) error {
	return s.showPart(w, "left", "now", view{Page: "left", Languages: s.languages(r), Body: s.leftBody(r)})
}

// leftBody is the owner's page as it stands.
func (s *Site) leftBody(r *http.Request) leftBody {
	b := s.leftWords(r)
	b.Tell = s.tellKey()
	for i := range b.Tanks {
		t := &b.Tanks[i]
		t.Column = leftColumn(t.label, t.level, *t)
	}
	return b
}

// leftWords is the owner's page without its drawings.
func (s *Site) leftWords(r *http.Request) leftBody {
	now, who, standing := s.o.Now(), s.who(r), s.o.Watch.Standing()
	b := leftBody{AsOf: now.Format("2 Jan, 15:04:05"), Fitter: who.Role == doors.Fitter, Watch: leftTroubleOf(standing, now)}
	if who.Tanks != nil { // other tanks may be named there
		b.Watch.Note, b.Watch.Earlier = "", nil
	}
	levels, a := s.o.Watch.Levels(now), aheadOf(s.o.Watch, now)
	for i, l := range s.o.Watch.Labels() {
		if i >= len(levels) || !who.Sees(l.Tank) {
			continue
		}
		t := leftTankOf(i+1, l, levels[i], now)
		if t.Age == "" && !standing.Started.IsZero() && now.Sub(standing.Started) > firstPatience {
			t.Class, t.First = "none", "no level"
		}
		t.goesOn(r.Context(), a, i, now)
		t.Docket = s.docketLink(l, who)
		ownIn(r.Context(), t.Name)
		b.Tanks = append(b.Tanks, t)
		if t.First != "" {
			b.First = append(b.First, t)
		}
		b.Cautions = cautioned(b.Cautions, t.Name, l.Cautions)
	}
	b.Well, b.Alarms, b.Board = leftWell(b.Tanks), s.alarmsLine(r), s.board() != nil
	if b.Alarms != "" {
		b.Well = leftWellBut(b.Tanks)
	}
	if len(b.Tanks) == 1 {
		b.First = nil // it stands right below
	}
	b.Mark = b.mark()
	return b
}
