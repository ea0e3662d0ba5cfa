package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"time"

	"gaugewright/internal/doors"
)

// group is who may go somewhere.
type group int

const (
	fitters  group = iota // and nobody else
	owners                // and owners; no guests
	lookers               // owners and guests too
	everyone              // those too who haven't signed in
)

func (g group) has(role doors.Role) bool {
	switch g {
	case everyone:
		return true
	case lookers:
		return role == doors.Fitter || role == doors.Owner || role == doors.Guest
	case owners:
		return role == doors.Fitter || role == doors.Owner
	}
	return role == doors.Fitter
}

// seeRoom is where links lead.
const seeRoom = "see"

// entry is who may look at what is in a room, and who may do something there.
type entry struct{ look, do group }

// rooms are the first parts of the addresses of the site: who may go there. What
// isn't here is for fitters, and a test asks for every address to be here.
var rooms = map[string]entry{
	"":         {lookers, fitters}, // the list of jobs, from which others are led to their own page; and what isn't there
	"static":   {everyone, fitters},
	"sign-in":  {everyone, everyone},
	"sign-out": {fitters, everyone},
	"language": {fitters, everyone},
	"see":      {everyone, fitters},
	"SEE":      {everyone, fitters}, // as a QR code has it
	"left":     {lookers, fitters},
	"alarms":   {lookers, owners}, // guests look, owners acknowledge and shelve
	"doors":    {fitters, fitters},
	"watched":  {fitters, fitters},
	"live":     {fitters, fitters},
	"jobs":     {fitters, fitters},
	"types":    {fitters, fitters},
	"meters":   {fitters, fitters},
	"signing":  {fitters, fitters},
	"words":    {fitters, fitters},
}

// singles are addresses of which something else holds than of their room.
var singles = map[string]group{
	// Browsers ask for it without a cookie. Nothing of a tank stands in it.
	"GET /left/manifest.webmanifest": everyone,
	// Who asks to be told of alarms, on a device of their own.
	"POST /alarms/device":      lookers,
	"POST /alarms/device/end":  lookers,
	"GET /alarms/sent":         fitters,
	"POST /alarms/sent/test":   fitters,
	"POST /alarms/sent/again":  fitters,
	"POST /alarms/sent/drop":   fitters,
	"POST /alarms/sent/remove": fitters,
	// At the pump stands who owns the tank, not who fitted it.
	"GET /left/{tank}/docket":            owners,
	"POST /left/{tank}/docket":           owners,
	"POST /left/{tank}/docket/strike":    owners,
	"POST /left/{tank}/docket/unit":      owners,
	"GET /left/{tank}/docket/{id}":       owners,
	"GET /left/{tank}/docket/{id}/photo": owners,
}

// roomOf is the first part of a path.
func roomOf(path string) string {
	room, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	if strings.HasPrefix(room, "{") {
		return ""
	}
	return room
}

// groupOf says who may go to the address of a pattern.
func groupOf(pattern string) (g group, known bool) {
	if g, ok := singles[pattern]; ok {
		return g, true
	}
	method, path, ok := strings.Cut(pattern, " ")
	if !ok {
		method, path = http.MethodGet, pattern
	}
	e, known := rooms[roomOf(path)]
	if method == http.MethodGet {
		return e.look, known
	}
	return e.do, known
}

// crossing is a mux that lets through to each address whom it is for.
type crossing struct {
	http.ServeMux
	s *Site
}

func (s *Site) crossing() *crossing { return &crossing{s: s} }

// Handle registers what answers at a pattern.
func (m *crossing) Handle(pattern string, h http.Handler) {
	m.s.patterns = append(m.s.patterns, pattern)
	g, known := groupOf(pattern)
	if !known {
		g = fitters
	}
	if strings.HasSuffix(pattern, "/live") {
		h = m.s.whileLetIn(h)
	}
	m.ServeMux.Handle(pattern, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := m.s.who(r)
		switch {
		case !g.has(v.Role):
			m.s.turnedAway(w, r, v)
		case r.PathValue("tank") != "" && g != fitters && !v.Sees(r.PathValue("tank")):
			// As if it weren't there: a guest needn't know what else is.
			m.s.page(func(http.ResponseWriter, *http.Request) error { return notFound("There is no such page.") }).ServeHTTP(w, r)
		case r.URL.Path == "/" && (v.Role == doors.Owner || v.Role == doors.Guest):
			http.Redirect(w, r, leftPath, http.StatusSeeOther)
		default:
			h.ServeHTTP(w, r)
		}
	}))
}

// HandleFunc registers what answers at a pattern.
func (m *crossing) HandleFunc(pattern string, h func(http.ResponseWriter, *http.Request)) {
	m.Handle(pattern, http.HandlerFunc(h))
}

// turnedAway answers who may not go where they asked to.
func (s *Site) turnedAway(w http.ResponseWriter, r *http.Request, v doors.Visitor) {
	switch {
	case v.Role == doors.Nobody && r.Method == http.MethodGet && strings.Contains(r.Header.Get("Accept"), "text/html"):
		http.Redirect(w, r, signInPath+"?"+url.Values{"next": {r.URL.RequestURI()}}.Encode(), http.StatusSeeOther)
	case v.Role == doors.Nobody:
		http.Error(w, "Sign in first.", http.StatusUnauthorized)
	case r.PathValue("tank") != "" && v.Role == doors.Guest:
		s.o.Log.Warn("turned away", "role", v.Role, "pass", v.Pass, "address", addressOf(r), "from", device(r))
		s.page(func(http.ResponseWriter, *http.Request) error {
			return &fault{http.StatusForbidden, "Receipts are entered by those who own the tanks or fit them. Give yours to one of them.", nil}
		}).ServeHTTP(w, r)
	default:
		s.o.Log.Warn("turned away", "role", v.Role, "pass", v.Pass, "address", addressOf(r), "from", device(r))
		s.page(func(http.ResponseWriter, *http.Request) error {
			return &fault{http.StatusForbidden, "This page is for those who fit the tanks. What is left in them stands on a page of its own.", nil}
		}).ServeHTTP(w, r)
	}
}

// lookAgain is how often it is looked at whether who follows a stream may still do
// so.
const lookAgain = 2 * time.Second

// whileLetIn ends a stream when who follows it is no longer let in: signed out,
// timed out, or by a link that was revoked.
func (s *Site) whileLetIn(h http.Handler) http.Handler {
	if !s.o.Guarded {
		return h
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, done := context.WithCancel(r.Context())
		defer done()
		go func() {
			tick := time.NewTicker(lookAgain)
			defer tick.Stop()
			for {
				select {
				case <-ctx.Done():
					return
				case <-tick.C:
				}
				// By the cookies alone, as a new request would come.
				if again, err := s.Visitor(r.WithContext(context.Background())); err == nil && again.Role != s.who(r).Role {
					done()
					return
				}
			}
		}()
		h.ServeHTTP(w, r.WithContext(ctx))
	})
}
