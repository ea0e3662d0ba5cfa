package app

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"gaugewright/internal/certificate"
	"gaugewright/internal/doors"
	"gaugewright/internal/job"
	"gaugewright/internal/language"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/web"
)

// Loopback is where the pages are unless something else is asked for: at a port
// of this machine that no other machine reaches.
const Loopback = "127.0.0.1:8765"

// Options is what the program was started with.
type Options struct {
	Data   string // the data file; "": that of [DataFile]
	Listen string // host:port; "": [Loopback]
	// NewPhrase sets the fitters' pass phrase; "" leaves the one that is set. One is
	// asked for whenever Listen reaches beyond this machine. NewOwnerPhrase sets the
	// owner's in the same way, which nobody needs to have.
	NewPhrase, NewOwnerPhrase string
	// Guarded asks for the pass phrase on this machine too, as behind a proxy.
	Guarded bool
	// Certificate and Key are the files (PEM) of a certificate for TLS; both or
	// neither.
	Certificate, Key string
	// SelfSigned serves over TLS with a certificate that is made here, beside the
	// data, where no other is given.
	SelfSigned bool
	Hosts      []string // names, besides addresses and its own, by which this machine is reached

	// Languages is a folder of catalogues besides those in the program; "": none.
	Languages string

	Log *slog.Logger     // nil: nothing is logged
	Now func() time.Time // nil: time.Now

	// Watch is what is watched, for the page of the levels; nil: nothing is.
	Watch web.Watched
	// Passes are the links and tokens of what is watched; nil: there are none.
	Passes *doors.Register

	// Version is the program's, for programs that ask; "": it isn't told.
	Version string

	// Demo makes the data of a demonstration: an invented workshop with a
	// simulated meter. Data must then name a file that isn't there yet.
	Demo *Demo
}

// App is the running program.
type App struct {
	o       Options
	store   *sqlite.Store
	phrases *phrases
	pair    *certificate.Pair // nil: without TLS

	mu       sync.Mutex
	server   *http.Server
	listener net.Listener
	meters   *meters
	hand     *hand
	cancel   context.CancelFunc
	stopped  bool
	ended    chan struct{} // closed when the server has ended
	err      error         // why, where it ended by itself
}

// ErrPhraseWanted says that pages which other machines reach were asked for and
// no pass phrase has been set.
var ErrPhraseWanted = errors.New("pages that other machines reach need a pass phrase, and none has been set")

// stopWithin is how long Stop waits for requests to end by themselves.
const stopWithin = 5 * time.Second

// New opens the data file, and makes it where there is none. What is wrong with
// the options is an error; ErrPhraseWanted among them.
func New(ctx context.Context, o Options) (*App, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Listen == "" {
		o.Listen = Loopback
	}
	if _, _, err := net.SplitHostPort(o.Listen); err != nil {
		return nil, fmt.Errorf("the address %q to listen at is not one; expected a host and a port, like %s, or :8765 for every network", o.Listen, Loopback)
	}
	if (o.Certificate == "") != (o.Key == "") {
		return nil, errors.New("a certificate and its key belong together; found only one of them")
	}
	if o.Data == "" {
		var err error
		if o.Data, err = DataFile(); err != nil {
			return nil, err
		}
	}
	store, err := sqlite.Open(ctx, o.Data, sqlite.Options{Now: o.Now, Log: o.Log})
	if err != nil {
		return nil, err
	}
	a := &App{o: o, store: store, ended: make(chan struct{})}
	if err := a.secured(ctx); err != nil {
		return nil, errors.Join(err, store.Close())
	}
	return a, nil
}

// secured sets the pass phrases that are asked for, and sees that there is one
// where it is needed.
func (a *App) secured(ctx context.Context) (err error) {
	if a.phrases, err = openPhrases(ctx, a.store, a.o.Log); err != nil {
		return err
	}
	for _, set := range [...]struct {
		role doors.Role
		text string
	}{{doors.Fitter, a.o.NewPhrase}, {doors.Owner, a.o.NewOwnerPhrase}} {
		if set.text == "" {
			continue
		}
		if err := doors.CheckPhrase(set.text); err != nil {
			return err
		}
		other, err := a.phrases.Opens(ctx, set.text)
		if err != nil {
			return err
		}
		if other != doors.Nobody && other != set.role {
			return errors.New("fitters and the owner need a pass phrase each, and this one is the other's already; choose another")
		}
		if err := a.phrases.Set(ctx, set.role, set.text); err != nil {
			return err
		}
	}
	if a.beyond() && a.phrases.Mark(doors.Fitter) == "" {
		return ErrPhraseWanted
	}
	return nil
}

// beyond says whether others than this machine may reach the pages.
func (a *App) beyond() bool {
	if a.o.Guarded {
		return true
	}
	host, _, _ := net.SplitHostPort(a.o.Listen)
	if host == "localhost" {
		return false
	}
	ip := net.ParseIP(host)
	return ip == nil || !ip.IsLoopback()
}

// Data is the data file.
func (a *App) Data() string { return a.o.Data }

// Store gives the jobs.
func (a *App) Store() job.Store { return a.store }

// Start serves the pages and comes back at once. It can be called once.
func (a *App) Start(ctx context.Context) (err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.stopped || a.listener != nil {
		return errors.New("app: it was started already")
	}
	running, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer func() {
		if err != nil {
			cancel()
		}
	}()
	languages, err := language.Open(a.o.Languages)
	if err != nil {
		return err
	}
	if a.pair, err = a.certified(); err != nil {
		return err
	}
	options := web.Options{Languages: languages, Store: a.store, Watch: a.o.Watch, Now: a.o.Now, Log: a.o.Log, Hosts: a.o.Hosts, Secure: a.pair != nil, Strict: a.o.Key != "", Sessions: a.store.Sessions(),
		Phrases: a.phrases, Guarded: a.beyond(), Passes: a.o.Passes, SigningKey: keyFileOf(a.o.Data).Key}
	if a.o.Demo != nil {
		if a.hand, err = a.o.Demo.setUp(ctx, a.store); err != nil {
			return err
		}
		options.Hand, options.Invented = a.hand.move, a.o.Demo.Words
	}
	meterNow := a.o.Now
	if a.o.Demo != nil {
		meterNow = time.Now // a demonstration's time may run faster, and a reading stands still by this machine's
	}
	if a.meters, err = openMeters(running, a.store, a.o.Log, meterNow); err != nil {
		return err
	}
	options.Meters = a.meters
	site, err := web.New(options)
	if err != nil {
		return err
	}
	forPrograms, err := a.programs(running, site)
	if err != nil {
		return err
	}
	if err := a.listen(web.Named(a.o.Hosts, forPrograms.Before(site)), running); err != nil {
		return err
	}
	a.cancel = cancel
	return nil
}

// certified gives the certificate by which the pages are served over TLS; nil
// where they aren't.
func (a *App) certified() (*certificate.Pair, error) {
	switch {
	case a.o.Key != "":
		return certificate.Given(a.o.Certificate, a.o.Key, a.o.Log, a.o.Now)
	case a.o.SelfSigned:
		return certificate.Own(certificate.Beside(a.o.Data), a.o.Hosts, a.o.Log, a.o.Now)
	}
	return nil, nil
}

// Fingerprint is the SHA-256 of the certificate that was made here, by which
// people tell it from another's; "" where there is none.
func (a *App) Fingerprint() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.pair == nil || !a.o.SelfSigned || a.o.Key != "" {
		return ""
	}
	return a.pair.Fingerprint()
}

// listen begins to serve. The lock is held.
func (a *App) listen(site http.Handler, running context.Context) error {
	l, err := net.Listen("tcp", a.o.Listen)
	if err != nil {
		return fmt.Errorf("the pages can't be served at %s: %w; another program may have the port: name another with --listen", a.o.Listen, err)
	}
	if a.pair != nil {
		l = tls.NewListener(l, a.pair.Config("h2", "http/1.1"))
	}
	a.listener = l
	a.server = &http.Server{
		Handler:           site,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       2 * time.Minute, // of an import over a poor network
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(a.o.Log.Handler(), slog.LevelWarn),
		// Live pages hold a request open; they end when the program does.
		BaseContext: func(net.Listener) context.Context { return running },
	}
	go func() {
		if err := a.server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			a.err = err
		}
		close(a.ended)
	}()
	return nil
}

// URL is the address of the pages, once started.
func (a *App) URL() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.listener == nil {
		return ""
	}
	scheme := "http"
	if a.pair != nil {
		scheme = "https"
	}
	host, port, _ := net.SplitHostPort(a.listener.Addr().String())
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "localhost"
	}
	return scheme + "://" + net.JoinHostPort(host, port) + "/"
}

// Ended is closed when the pages are no longer served; Err then says why, where
// nobody asked for it.
func (a *App) Ended() <-chan struct{} { return a.ended }

// Err is for after Ended.
func (a *App) Err() error { return a.err }

// Stop ends everything: no new request is taken, those under way have a few
// seconds to end, the meters are let go, and the data file is closed. Asked for
// again it does nothing.
func (a *App) Stop() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.stopped {
		return nil
	}
	a.stopped = true
	var errs []error
	if a.cancel != nil {
		a.cancel() // live pages and meters
	}
	if a.server != nil {
		ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
		defer cancel()
		if err := a.server.Shutdown(ctx); err != nil {
			errs = append(errs, a.server.Close())
		}
	}
	if a.meters != nil {
		a.meters.wait()
	}
	if a.hand != nil {
		errs = append(errs, a.hand.close())
	}
	return errors.Join(append(errs, a.store.Close())...)
}
