package web

import (
	"errors"
	"net/http"

	"gaugewright/internal/doors"
)

// see lets in who comes by a link: it begins a session of a guest, and leads on to
// an address that has nothing of the secret in it.
func (s *Site) see(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Referrer-Policy", "no-referrer")
	over := &fault{http.StatusNotFound, "This link doesn't work, or no longer. Ask for another where you got it.", nil}
	if s.o.Passes == nil {
		return over
	}
	from := device(r)
	if wait := s.linkTries.Wait(from, s.o.Now()); wait > 0 {
		return tooSoon(w, wait)
	}
	v, err := s.o.Passes.Enter(r.Context(), doors.Link, r.PathValue("secret"), s.o.Now())
	if errors.Is(err, doors.ErrNoPass) {
		s.linkTries.Wrong(from, s.o.Now())
		s.o.Log.Warn("a link that doesn't work", "from", from)
		return over
	}
	if err != nil {
		return err
	}
	s.linkTries.Right(from)
	if s.o.Guarded && r.Method == http.MethodGet && s.who(r).Pass != v.Pass {
		if err := s.begin(w, r, s.guests, doors.Guest, sessionPass, v.Pass); err != nil {
			return err
		}
	}
	return goTo(w, r, leftPath)
}
