package web

import (
	"fmt"
	"math"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"
)

// What a session holds.
const (
	sessionLife = 30 * 24 * time.Hour // as long as a tablet stays in a workshop
	sessionMark = "of"                // the pass phrase it was given for
)

func newSessions(o Options) *scs.SessionManager {
	m := scs.New()
	m.Lifetime = sessionLife
	m.Cookie.Name = "gaugewright"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = o.Secure
	if o.Sessions != nil {
		m.Store = o.Sessions
	}
	return m
}

// signedIn lets nobody further who hasn't given the pass phrase, where there is
// one.
func (s *Site) signedIn(h http.Handler) http.Handler {
	if s.o.PassPhrase == nil {
		return h
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		token := ""
		if c, err := r.Cookie(s.sessions.Cookie.Name); err == nil {
			token = c.Value
		}
		ctx, err := s.sessions.Load(r.Context(), token)
		if err != nil {
			s.o.Log.Error("sessions", "error", err)
			http.Error(w, "The data file can't be read, so nobody can be let in. Look at the program's log.", http.StatusInternalServerError)
			return
		}
		r = r.WithContext(ctx)
		switch {
		case s.knows(r), r.URL.Path == signInPath, r.URL.Path == languagePath, strings.HasPrefix(r.URL.Path, staticPath):
			h.ServeHTTP(w, r)
		case r.Method == http.MethodGet && strings.Contains(r.Header.Get("Accept"), "text/html"):
			http.Redirect(w, r, signInPath+"?"+url.Values{"next": {r.URL.RequestURI()}}.Encode(), http.StatusSeeOther)
		default:
			http.Error(w, "Sign in first.", http.StatusUnauthorized)
		}
	})
}

// knows says whether a request comes from someone who has given the present
// pass phrase.
func (s *Site) knows(r *http.Request) bool {
	return s.sessions.GetString(r.Context(), sessionMark) == "in "+s.o.PassPhraseMark
}

type signInBody struct{ Next string }

func (s *Site) signInPage(w http.ResponseWriter, r *http.Request) error {
	next := localPath(r.URL.Query().Get("next"), r.Host)
	if s.o.PassPhrase == nil || s.knows(r) {
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
	if s.o.PassPhrase == nil {
		return goTo(w, r, orHome(next))
	}
	again := func(text string) error {
		return s.show(w, r, view{Page: "signin", Title: "Sign in", Fault: text, Body: signInBody{next}})
	}
	from := device(r)
	if wait := s.tries.wait(from, s.o.Now()); wait > 0 {
		return again(fmt.Sprintf("Too many wrong tries. Wait %d seconds, then try again.", int(math.Ceil(wait.Seconds()))))
	}
	if !s.tries.check(func() bool { return s.o.PassPhrase(r.PostFormValue("phrase")) }) {
		s.tries.wrong(from, s.o.Now())
		s.o.Log.Warn("wrong pass phrase", "from", from)
		return again("That isn't the pass phrase. It was set when the program was first started for the workshop's network.")
	}
	s.tries.right(from)
	if err := s.sessions.RenewToken(r.Context()); err != nil {
		return err
	}
	s.sessions.Put(r.Context(), sessionMark, "in "+s.o.PassPhraseMark)
	token, until, err := s.sessions.Commit(r.Context())
	if err != nil {
		return err
	}
	s.sessions.WriteSessionCookie(r.Context(), w, token, until)
	return goTo(w, r, orHome(next))
}

func (s *Site) signOut(w http.ResponseWriter, r *http.Request) error {
	if s.o.PassPhrase != nil {
		if err := s.sessions.Destroy(r.Context()); err != nil {
			return err
		}
		s.sessions.WriteSessionCookie(r.Context(), w, "", time.Time{})
	}
	return goTo(w, r, signInPath)
}

// tries slows down whoever guesses: after a few wrong tries from one device,
// each costs twice the wait of the one before.
type tries struct {
	mu     sync.Mutex
	wrongs map[string]wrong
	one    sync.Mutex // a pass phrase is costly to check; one at a time
}

type wrong struct {
	n    int
	last time.Time
}

const (
	freeTries    = 4
	longestWait  = time.Minute
	mostGuessers = 1000 // devices remembered; a workshop has a few
)

func (t *tries) wait(from string, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	w := t.wrongs[network(from)]
	if w.n <= freeTries {
		return 0
	}
	pause := min(longestWait, time.Second<<min(w.n-freeTries-1, 10))
	left := pause - now.Sub(w.last)
	return min(pause, max(0, left)) // a clock set back makes nobody wait longer
}

func (t *tries) check(right func() bool) bool {
	t.one.Lock()
	defer t.one.Unlock()
	return right()
}

func (t *tries) wrong(from string, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.wrongs == nil || len(t.wrongs) >= mostGuessers {
		t.wrongs = map[string]wrong{}
	}
	w := t.wrongs[network(from)]
	t.wrongs[network(from)] = wrong{w.n + 1, now}
}

func (t *tries) right(from string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.wrongs, network(from))
}

// network is what counts as one guesser: an IPv4 address, or the first 64 bits
// of an IPv6 one, of which a single device has as many as it likes.
func network(from string) string {
	ip := net.ParseIP(from)
	if ip == nil || ip.To4() != nil {
		return from
	}
	return ip.Mask(net.CIDRMask(64, 128)).String()
}
