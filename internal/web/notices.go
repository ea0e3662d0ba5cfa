package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/notice"
)

// Addresses of what was sent of the alarms, and of devices that ask to be told.
const (
	sentPath   = alarmsPath + "/sent"
	devicePath = alarmsPath + "/device"
)

// noticeRoutes adds them to the addresses of a site.
func (s *Site) noticeRoutes(m *crossing) {
	m.Handle("GET "+sentPath, s.page(s.sentPage))
	m.Handle("POST "+sentPath+"/test", s.page(s.testWay))
	m.Handle("POST "+sentPath+"/again", s.page(s.sendAgain))
	m.Handle("POST "+sentPath+"/drop", s.page(s.dropNotice))
	m.Handle("POST "+sentPath+"/remove", s.page(s.removeDevice))
	m.Handle("POST "+devicePath, s.page(s.tellDevice))
	m.Handle("POST "+devicePath+"/end", s.page(s.untellDevice))
}

// post sends notices; nil where nothing does.
func (s *Site) post() notice.Post {
	if s.o.Watch == nil {
		return nil
	}
	return s.o.Watch.Notices()
}

// tellKey is the key that a browser has to be given to subscribe; "" where nothing is
// sent to browsers.
func (s *Site) tellKey() string {
	if p := s.post(); p != nil {
		return p.Key()
	}
	return ""
}

// sentSaid is what the page says after something was done.
var sentSaid = map[string]string{
	"is-taken":   "The test was sent, and taken.",
	"is-waiting": "It is sent again now.",
	"is-dropped": "It was let go of.",
	"is-removed": "The device isn’t told any more.",
}

// sentPage says by which ways people and programs are told, what waits and what was
// given up.
func (s *Site) sentPage(w http.ResponseWriter, r *http.Request) error {
	b, err := s.sentBody(r)
	if err != nil {
		return err
	}
	b.Said = sentSaid[r.URL.Query().Get("said")]
	return s.show(w, r, view{Page: "sent", Title: "What was sent", Body: b})
}

// testLimit is how long somebody waits at the page for a test, at the most.
const testLimit = 45 * time.Second

// testWay sends a test by the way that a form names, and says how that went.
func (s *Site) testWay(w http.ResponseWriter, r *http.Request) error {
	post, way := s.post(), field(r, "way")
	if post == nil {
		return notFound("Nothing is sent here.")
	}
	ctx, done := context.WithTimeout(r.Context(), testLimit)
	defer done()
	err := post.Test(ctx, way)
	switch {
	case errors.Is(err, notice.ErrNoWay):
		return notFound("There is no such way. It may have been taken away.")
	case err == nil:
		return goTo(w, r, sentPath+"?said=is-taken")
	}
	s.o.Log.Warn("a test wasn't delivered", "way", way, "error", err)
	b, err2 := s.sentBody(r)
	if err2 != nil {
		return err2
	}
	ownIn(r.Context(), way)
	b.Failed, b.FailedWhy = way, err.Error()
	return s.showAs(w, r, http.StatusBadGateway, view{Page: "sent", Title: "What was sent", Body: b})
}

// sendAgain has a notice that was given up tried again.
func (s *Site) sendAgain(w http.ResponseWriter, r *http.Request) error {
	return s.aboutNotice(w, r, "is-waiting", func(p notice.Post, id, way string) error { return p.Again(r.Context(), id, way) })
}

// dropNotice lets go of a notice.
func (s *Site) dropNotice(w http.ResponseWriter, r *http.Request) error {
	return s.aboutNotice(w, r, "is-dropped", func(p notice.Post, id, way string) error { return p.Drop(r.Context(), id, way) })
}

// removeDevice takes a device away.
func (s *Site) removeDevice(w http.ResponseWriter, r *http.Request) error {
	return s.aboutNotice(w, r, "is-removed", func(p notice.Post, _, way string) error { return p.Remove(r.Context(), way) })
}

func (s *Site) aboutNotice(w http.ResponseWriter, r *http.Request, said string, do func(p notice.Post, id, way string) error) error {
	post := s.post()
	if post == nil {
		return notFound("Nothing is sent here.")
	}
	err := do(post, field(r, "id"), field(r, "way"))
	if errors.Is(err, notice.ErrNoNotice) || errors.Is(err, notice.ErrNoWay) {
		return notFound("It isn’t there any more: it was sent, or let go of, in the meantime.")
	} else if err != nil {
		return err
	}
	return goTo(w, r, sentPath+"?said="+said)
}

// tellDevice keeps the subscription of the browser that sends it.
func (s *Site) tellDevice(w http.ResponseWriter, r *http.Request) error {
	post := s.post()
	if post == nil || post.Key() == "" {
		return notFound("Nothing is sent to browsers here.")
	}
	v := s.who(r)
	d := notice.Device{Label: field(r, "name"), Subscription: []byte(field(r, "subscription"))}
	if v.Role == doors.Guest {
		d.Pass = v.Pass
	}
	if b := s.book(r); b != nil {
		d.Language = b.Code()
	}
	if by := map[doors.Role]string{doors.Guest: v.Name, doors.Owner: "The owner", doors.Fitter: "The fitter"}[v.Role]; d.Label == "" {
		d.Label = by
	} else if v.Role == doors.Guest {
		d.Label = v.Name + ": " + d.Label
	}
	way, err := post.Subscribe(r.Context(), d)
	if errors.Is(err, notice.ErrUnusable) {
		return refused(asSentence(err.Error()))
	} else if err != nil {
		return err
	}
	s.o.Log.Info("a device is told of alarms", "way", way, "role", v.Role, "from", device(r))
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// untellDevice lets go of the subscription of the browser that names it.
func (s *Site) untellDevice(w http.ResponseWriter, r *http.Request) error {
	post := s.post()
	if post == nil {
		return notFound("Nothing is sent here.")
	}
	if err := post.Unsubscribe(r.Context(), field(r, "endpoint")); err != nil && !errors.Is(err, notice.ErrNoWay) {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}
