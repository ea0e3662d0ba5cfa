package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"gaugewright/internal/doors"
)

// Phrases are the pass phrases of a workshop: the fitter's and, where one is set,
// the owner's.
type Phrases interface {
	// Opens says whose pass phrase a text is; [doors.Nobody] where it is nobody's.
	// It takes as long for a wrong one.
	Opens(ctx context.Context, text string) (doors.Role, error)
	// Mark changes when those of a role who are signed in have to sign in again; ""
	// where the role has no pass phrase.
	Mark(role doors.Role) string
	// Set sets the pass phrase of a role; "" takes the owner's away. Those of the role
	// who are signed in have to sign in again.
	Set(ctx context.Context, role doors.Role, text string) error
	// EndAll has everybody sign in again.
	EndAll(ctx context.Context) error
}

// What a session holds, besides what scs keeps.
const (
	sessionMark  = "of"    // the mark of the pass phrase it was given for, after "in "
	sessionRole  = "role"  // "" is a fitter's, as sessions had no roles once
	sessionPass  = "pass"  // the ID of the link that a guest came by
	sessionSince = "since" // when it began, Unix seconds
	sessionSeen  = "seen"  // when it was last used, to an hour
)

// life is how long a session lasts.
type life struct{ whole, idle time.Duration }

// lives of sessions. A tablet stays in a workshop, a phone in an owner's pocket;
// a guest's session ends with the link besides.
var lives = map[doors.Role]life{
	doors.Fitter: {30 * 24 * time.Hour, 7 * 24 * time.Hour},
	doors.Owner:  {90 * 24 * time.Hour, 30 * 24 * time.Hour},
	doors.Guest:  {400 * 24 * time.Hour, 90 * 24 * time.Hour},
}

// seenEvery is how often at most it is written down that a session is used.
const seenEvery = time.Hour

type visitorKey struct{}

// who says who a request comes from. Where nobody is asked, on addresses that this
// machine alone reaches, it is a fitter.
func (s *Site) who(r *http.Request) doors.Visitor {
	if !s.o.Guarded {
		return doors.Visitor{Role: doors.Fitter}
	}
	v, _ := r.Context().Value(visitorKey{}).(doors.Visitor)
	return v
}

// Visitor says who a request comes from by its cookies, for what is served beside
// the pages. An error is the store's, and nobody is to be let in then.
func (s *Site) Visitor(r *http.Request) (doors.Visitor, error) {
	if !s.o.Guarded {
		return doors.Visitor{Role: doors.Fitter}, nil
	}
	r, err := s.recognised(r)
	if err != nil {
		return doors.Visitor{}, err
	}
	return s.who(r), nil
}

// recognised gives a request that knows who it comes from.
func (s *Site) recognised(r *http.Request) (*http.Request, error) {
	ctx := r.Context()
	for _, m := range []*scs.SessionManager{s.sessions, s.guests} {
		token := ""
		if c, err := r.Cookie(m.Cookie.Name); err == nil {
			token = c.Value
		}
		var err error
		if ctx, err = m.Load(ctx, token); err != nil {
			return r, err
		}
	}
	v, err := s.visitor(ctx)
	if err != nil {
		return r, err
	}
	return r.WithContext(context.WithValue(ctx, visitorKey{}, v)), nil
}

// visitor says who the sessions of a request are of.
func (s *Site) visitor(ctx context.Context) (doors.Visitor, error) {
	role := doors.Role(s.sessions.GetString(ctx, sessionRole))
	if role == doors.Nobody {
		role = doors.Fitter
	}
	if mark := s.o.Phrases.Mark(role); mark != "" && s.sessions.GetString(ctx, sessionMark) == "in "+mark && s.lasts(ctx, s.sessions, role) {
		return doors.Visitor{Role: role}, nil
	}
	id := s.guests.GetString(ctx, sessionPass)
	if id == "" || s.o.Passes == nil || !s.lasts(ctx, s.guests, doors.Guest) {
		return doors.Visitor{}, nil
	}
	v, err := s.o.Passes.Still(ctx, id, s.o.Now())
	if errors.Is(err, doors.ErrNoPass) || v.Role != doors.Guest {
		return doors.Visitor{}, nil
	}
	return v, err
}

// lasts says whether a session is within its times, and notes now and then that it
// is used.
func (s *Site) lasts(ctx context.Context, m *scs.SessionManager, role doors.Role) bool {
	now := s.o.Now()
	since, seen := m.GetInt64(ctx, sessionSince), m.GetInt64(ctx, sessionSeen)
	if since == 0 { // one of an earlier version: scs itself ends it
		since, seen = now.Unix(), now.Unix()
		m.Put(ctx, sessionSince, since)
	}
	l := lives[role]
	if now.Sub(time.Unix(since, 0)) >= l.whole || now.Sub(time.Unix(seen, 0)) >= l.idle {
		return false
	}
	if now.Sub(time.Unix(seen, 0)).Abs() >= seenEvery {
		m.Put(ctx, sessionSeen, now.Unix())
	}
	if m.Status(ctx) == scs.Modified {
		if _, _, err := m.Commit(ctx); err != nil { // it counts all the same, a full disk lets people look
			s.o.Log.Warn("that a session is used isn't noted", "error", err)
		}
	}
	return true
}

// begin begins a session and gives its cookie.
func (s *Site) begin(w http.ResponseWriter, r *http.Request, m *scs.SessionManager, role doors.Role, key, value string) error {
	ctx := r.Context()
	if err := m.RenewToken(ctx); err != nil {
		return err
	}
	now := s.o.Now()
	m.Put(ctx, key, value)
	m.Put(ctx, sessionRole, string(role))
	m.Put(ctx, sessionSince, now.Unix())
	m.Put(ctx, sessionSeen, now.Unix())
	m.SetDeadline(ctx, time.Now().Add(lives[role].whole).UTC()) // scs goes by the machine's clock
	token, until, err := m.Commit(ctx)
	if err != nil {
		return err
	}
	m.WriteSessionCookie(ctx, w, token, until)
	return nil
}

// end ends a session and takes its cookie back.
func (s *Site) end(w http.ResponseWriter, r *http.Request, m *scs.SessionManager) error {
	if _, err := r.Cookie(m.Cookie.Name); err != nil {
		return nil
	}
	if err := m.Destroy(r.Context()); err != nil {
		return err
	}
	m.WriteSessionCookie(r.Context(), w, "", time.Time{})
	return nil
}

// signedIn finds out who asks, where anyone is asked.
func (s *Site) signedIn(h http.Handler) http.Handler {
	if !s.o.Guarded {
		return h
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r, err := s.recognised(r)
		if err != nil {
			s.o.Log.Error("sessions", "error", err)
			http.Error(w, "The data file can't be read, so nobody can be let in. Look at the program's log.", http.StatusInternalServerError)
			return
		}
		h.ServeHTTP(w, r)
	})
}

// addressOf is where a request went, as the log may have it: what stands after
// /see/ lets people in.
func addressOf(r *http.Request) string {
	if room := roomOf(r.URL.Path); room == seeRoom || room == strings.ToUpper(seeRoom) {
		return "/" + room + "/…"
	}
	return r.URL.Path
}
