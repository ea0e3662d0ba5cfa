package api

import (
	"errors"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
	"github.com/prometheus/client_golang/prometheus"
)

// Options is what programs are answered with.
type Options struct {
	Watch Watch // nil: nothing is watched
	Take  Taker // nil: no readings are taken

	Now     func() time.Time // nil: time.Now
	Zone    *time.Location   // of times in sentences; nil: the machine's
	Version string           // of the program; "": not known
	Log     *slog.Logger     // nil: nothing is logged

	// May says who a request comes from and what it may do, by its token or its
	// session. A [*Refusal] is answered as it stands. nil: whoever comes may do
	// everything, as on an address that this machine alone reaches.
	May func(*http.Request) (Access, error)

	// MostStreams is how many streams may be open at once; 0: 64.
	MostStreams int
	// StreamEvery is how often a stream has news at the most; 0: a second.
	StreamEvery time.Duration
	// Ending ends all streams when it is closed, as when a server is shut down; nil: only
	// their requests' own end does.
	Ending <-chan struct{}
}

// Paths.
const (
	Path        = "/api/v1"
	MetricsPath = "/metrics"
	AlivePath   = "/healthz"
	ReadyPath   = "/readyz"
)

// Limits of what is asked and sent.
const (
	mostTanks    = 1000 // with figures at /metrics
	mostBuckets  = 10_000
	usualBuckets = 300
	mostEvents   = 1000
	usualEvents  = 100
	longestAsked = 50 * 366 * 24 * time.Hour
	usualAsked   = 24 * time.Hour
	mostBody     = 64 << 10
	sentWithin   = 10 * time.Second
	answerWithin = 20 * time.Second
	keptWithin   = 60 * time.Second
	mostStreams  = 64
	streamEvery  = time.Second
	streamQuiet  = 15 * time.Second
)

// API answers programs.
type API struct {
	o       Options
	mux     *http.ServeMux
	asked   func() *http.ServeMux // what is below Path
	huma    huma.API              // once it was asked
	origin  *http.CrossOriginProtection
	figures *prometheus.Registry
	counted *prometheus.CounterVec
	streams chan struct{}
	quiet   time.Duration // after which a stream without news says so
}

// New makes it.
func New(o Options) (*API, error) {
	if o.Watch == nil {
		o.Watch = nothing{}
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Zone == nil {
		o.Zone = time.Local
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.MostStreams < 0 || o.StreamEvery < 0 {
		return nil, errors.New("api: a limit below 0; expected 0 for the usual one, or more")
	}
	if o.MostStreams == 0 {
		o.MostStreams = mostStreams
	}
	if o.StreamEvery == 0 {
		o.StreamEvery = streamEvery
	}
	a := &API{o: o, mux: http.NewServeMux(), origin: http.NewCrossOriginProtection(), streams: make(chan struct{}, o.MostStreams), quiet: streamQuiet}
	a.asked = sync.OnceValue(a.built)
	a.mux.HandleFunc(Path+"/", func(w http.ResponseWriter, r *http.Request) { a.asked().ServeHTTP(w, r) })
	if err := a.register(); err != nil {
		return nil, err
	}
	a.mux.HandleFunc(AlivePath, a.alive)
	a.mux.HandleFunc(ReadyPath, a.ready)
	return a, nil
}

// ServeHTTP answers at /api/v1, /metrics, /healthz and /readyz.
func (a *API) ServeHTTP(w http.ResponseWriter, r *http.Request) { a.mux.ServeHTTP(w, r) }

// Before puts the API before pages, and counts the requests to both.
func (a *API) Before(pages http.Handler) http.Handler {
	m := http.NewServeMux()
	for _, path := range []string{Path + "/", MetricsPath, AlivePath, ReadyPath} {
		m.Handle(path, a)
	}
	m.Handle("/", pages)
	return a.count(m)
}

// built makes what is below Path. It is put off until someone asks: it takes some
// 15 ms and 4 MB, and on many machines nobody ever does.
func (a *API) built() *http.ServeMux {
	m := http.NewServeMux()
	a.huma = humago.New(m, config())
	a.huma.UseMiddleware(a.door)
	a.operations()
	m.HandleFunc("GET "+Path+"/openapi.json", a.document(0))
	m.HandleFunc("GET "+Path+"/openapi-3.0.json", a.document(1))
	m.HandleFunc(Path+"/", a.elsewhere)
	return m
}

// elsewhere answers what is asked at no address of the API, or by no verb that it
// knows there.
func (a *API) elsewhere(w http.ResponseWriter, r *http.Request) {
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		other := r.Clone(r.Context())
		other.Method = method
		if _, pattern := a.asked().Handler(other); pattern != Path+"/" && method != r.Method {
			w.Header().Set("Allow", method)
			writeProblem(w, &Refusal{Status: http.StatusMethodNotAllowed, Detail: "This address is asked by " + method + "."})
			return
		}
	}
	writeProblem(w, &Refusal{Status: http.StatusNotFound, Detail: "There is no such address. " + Path + "/openapi.json lists those there are."})
}
