package web

import (
	"context"
	"crypto/ed25519"
	"errors"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"

	"gaugewright/internal/doors"
	"gaugewright/internal/job"
	"gaugewright/internal/language"
	"gaugewright/internal/record"
)

// Options is what the pages need of the world.
type Options struct {
	Store  job.Store
	Meters Meters           // nil: ohms are typed only
	Watch  Watched          // what is watched; nil: nothing is, and there is no page of it
	Now    func() time.Time // nil: time.Now
	Log    *slog.Logger     // nil: nothing is logged

	// Phrases are the pass phrases of the workshop; nil: there is no way to set any.
	Phrases Phrases
	// Guarded asks everybody who they are. Otherwise whoever reaches the pages is a
	// fitter, which is for pages that only this machine can reach.
	Guarded bool
	// Passes are the links and tokens of a watch; nil: there are none.
	Passes   *doors.Register
	Sessions scs.Store // of who is signed in; nil: kept in memory
	Secure   bool      // the pages are reached over TLS
	// Strict has browsers come over TLS alone from now on, which is for a certificate
	// that they know how to check.
	Strict bool

	// Hosts are the names that a browser may have used to get here, without
	// port; names of this machine itself and bare addresses always may.
	Hosts []string

	// SigningKey gives the workshop's key to sign job files with. It makes one where
	// there is none yet, or gives nil where it isn't to. nil: nothing is signed here.
	SigningKey func(create bool) (ed25519.PrivateKey, error)
	// Languages are those that the pages can be read in besides English.
	Languages language.Books

	// Hand moves the magnet or float of a simulated sender; nil: there is none.
	Hand func(t job.Tank, mark float64)
	// Invented is said on every page of a demonstration.
	Invented string
}

// Site is the pages. It is an [http.Handler] and may be used at once.
type Site struct {
	o          Options
	handler    http.Handler
	sessions   *scs.SessionManager // of those who gave a pass phrase
	guests     *scs.SessionManager // of those who came by a link
	patterns   []string            // every address of the site
	pulse      pulse
	run        string // names this run of the program
	tries      tries
	linkTries  doors.Guesses
	spells     spellRuns
	fits       fits
	records    recall[*record.Document] // by the checksum of the job
	gone       recall[*job.Job]         // by the job and its revision
	cards      recall[*record.Cards]    // likewise
	codes      recall[[]printedCode]    // likewise
	checkMarks recall[[]float64]        // by the job, its revision and the tank
	said       sync.Map                 // what scripts say, by language
	types      typesKept
	laters     recall[laterFound] // by the job, its revision, the tank and the check
	feeds      feedRuns           // of tanks whose display is proved
	followers  followers          // of the owner's page
}

// New makes the pages.
func New(o Options) (*Site, error) {
	if o.Store == nil {
		return nil, errors.New("web: there is no store of jobs")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Meters == nil {
		o.Meters = noMeters{}
	}
	s := &Site{o: o, run: newKey()[:8]}
	if o.Guarded && o.Phrases == nil {
		return nil, errors.New("web: there are no pass phrases")
	}
	s.sessions, s.guests = newSessions(o, "gaugewright"), newSessions(o, "gaugewright-link")
	s.handler = s.guarded(s.routes())
	return s, nil
}

// ServeHTTP answers one request.
func (s *Site) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// change makes one change of a job and tells every page that looks at it.
func (s *Site) change(ctx context.Context, id job.ID, c job.Change) (*job.Kept, error) {
	if c.At.IsZero() {
		c.At = s.o.Now()
	}
	kept, err := s.o.Store.Change(ctx, id, c)
	if err == nil {
		s.pulse.beat(id)
	}
	return kept, err
}
