package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"

	"gaugewright/internal/doors"
)

func newSessions(o Options, name string) *scs.SessionManager {
	m := scs.New()
	m.Lifetime = lives[doors.Guest].whole // the longest; each role's own is looked at besides
	m.Cookie.Name = name
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = o.Secure
	if o.Secure {
		// Then a browser takes it from this very site alone (RFC 6265bis, 4.1.3.2).
		m.Cookie.Name = "__Host-" + name
	}
	if o.Sessions != nil {
		m.Store = o.Sessions
	}
	return m
}

type signInBody struct{ Next string }

func (s *Site) signInPage(w http.ResponseWriter, r *http.Request) error {
	next := localPath(r.URL.Query().Get("next"), r.Host)
	if role := s.who(r).Role; role == doors.Fitter || role == doors.Owner {
		return goTo(w, r, orHome(next))
	}
	return s.show(w, r, view{Page: "signin", Title: "Sign in", Body: signInBody{next}})
}

func orHome(path string) string {
	if path == "" {
		return "/"
	}
	return path
}

func (s *Site) signIn(w http.ResponseWriter, r *http.Request) error {
	next := localPath(r.PostFormValue("next"), r.Host)
	if !s.o.Guarded {
		return goTo(w, r, orHome(next))
	}
	role, err := s.asked(w, r, r.PostFormValue("phrase"))
	if f := (*fault)(nil); errors.As(err, &f) {
		return s.showAs(w, r, f.status, view{Page: "signin", Title: "Sign in", Fault: f.text, Body: signInBody{next}})
	}
	if err != nil {
		return err
	}
	if err := s.begin(w, r, s.sessions, role, sessionMark, "in "+s.o.Phrases.Mark(role)); err != nil {
		return err
	}
	s.o.Log.Info("signed in", "role", role, "from", device(r))
	return goTo(w, r, orHome(next))
}

// asked says whose pass phrase was given. One that is wrong, or is given too soon
// after others that were, is a fault.
func (s *Site) asked(w http.ResponseWriter, r *http.Request, phrase string) (doors.Role, error) {
	from := device(r)
	role, wait, err := s.tries.check(from, s.o.Now, func() (doors.Role, error) { return s.o.Phrases.Opens(r.Context(), phrase) })
	switch {
	case wait > 0:
		return role, tooSoon(w, wait)
	case err != nil:
		return doors.Nobody, err
	case role == doors.Nobody:
		s.o.Log.Warn("wrong pass phrase", "from", from)
		return role, refused("That isn't the pass phrase. The fitters' was set when the program was first started for the network; an owner's is given by the fitter.")
	}
	return role, nil
}

// tooSoon tells when to try again (RFC 6585, 4).
func tooSoon(w http.ResponseWriter, wait time.Duration) error {
	seconds := int(math.Ceil(wait.Seconds()))
	w.Header().Set("Retry-After", strconv.Itoa(seconds))
	return &fault{http.StatusTooManyRequests, fmt.Sprintf("Too many wrong tries. Wait %d seconds, then try again.", seconds), nil}
}

func (s *Site) signOut(w http.ResponseWriter, r *http.Request) error {
	if s.o.Guarded {
		if err := errors.Join(s.end(w, r, s.sessions), s.end(w, r, s.guests)); err != nil {
			return err
		}
		// What the browser has of the pages goes too (W3C Clear Site Data).
		w.Header().Set("Clear-Site-Data", `"cache"`)
	}
	return goTo(w, r, signInPath)
}

// tries has pass phrases checked one after the other, and slowly where someone
// guesses.
type tries struct {
	doors.Guesses
	mu      sync.Mutex
	one     sync.Mutex
	waiting int
}

// mostWaiting is how many may wait for their pass phrase to be checked: a check
// takes a tenth of a second and 19 MiB.
const mostWaiting = 8

// check checks one, unless whoever asks has to wait.
func (t *tries) check(from string, now func() time.Time, opens func() (doors.Role, error)) (role doors.Role, wait time.Duration, err error) {
	t.mu.Lock()
	full := t.waiting >= mostWaiting
	if !full {
		t.waiting++
	}
	t.mu.Unlock()
	if full {
		return doors.Nobody, time.Second, nil
	}
	defer func() {
		t.mu.Lock()
		t.waiting--
		t.mu.Unlock()
	}()
	// With the lock held, so that many tries at once count one after the other.
	t.one.Lock()
	defer t.one.Unlock()
	if wait = t.Wait(from, now()); wait > 0 {
		return doors.Nobody, wait, nil
	}
	role, err = opens()
	switch {
	case err != nil:
	case role == doors.Nobody:
		t.Wrong(from, now())
	default:
		t.Right(from)
	}
	return role, 0, err
}
