package station

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"slices"
	"sync"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/feed"
	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/language"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// Options is what a station is started with besides its configuration.
type Options struct {
	Log  *slog.Logger     // nil: nothing is logged
	Now  func() time.Time // nil: time.Now
	Zone *time.Location   // of times in sentences; nil: the machine's
	// Languages are those in which the page can be read besides English.
	Languages language.Books
	// Version is the program's; "": it isn't told.
	Version string
	// Out gets each tank's level as it is published, a line each; nil: nothing is
	// printed. JSON has them as they are published.
	Out  io.Writer
	JSON bool
}

// Station is a running watch: feeds in, readings on disk, a watch for each tank,
// levels out.
type Station struct {
	config Config
	o      Options

	tanks  map[string]*tank
	names  []string // of the tanks, in order
	store  *sqlite.Readings
	timed  *timedKeeper
	intake *Intake
	feeds  []*fed
	out    []mqtt.Publisher

	server   *http.Server
	listener net.Listener

	counting sync.Mutex
	taken    map[string]uint64 // readings that were kept, by their source

	changed chan struct{} // something may have to be published
	changes changes       // for those who wait for the next
	stop    context.CancelFunc
	running sync.WaitGroup
	once    sync.Once
	err     error
	passes  *doors.Register // links and tokens
}

// tank is one that is watched.
type tank struct {
	about about
	mu    sync.Mutex
	watch *watch.Watch
	level watch.Level // after the last reading
	any   bool        // there was one

	published watch.Level // the last that went out
	sent      time.Time   // when
	dirty     bool
}

// New builds a station: it opens the file of readings, goes through the last of
// them again, and makes the feeds, none of which runs yet. All that is wrong with
// the configuration is told, a line each.
func New(ctx context.Context, c Config, o Options) (*Station, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Zone == nil {
		o.Zone = time.Local
	}
	s := &Station{config: c, o: o, tanks: map[string]*tank{}, taken: map[string]uint64{}, changed: make(chan struct{}, 1)}
	var faults []error
	for _, n := range slices.Sorted(maps.Keys(c.Tank)) {
		w, a, err := c.built(n, c.Tank[n])
		if err != nil {
			faults = append(faults, err)
			continue
		}
		s.tanks[n] = &tank{watch: w, about: a}
		s.names = append(s.names, n)
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	var err error
	if s.store, err = sqlite.OpenReadings(ctx, c.path(c.Data), sqlite.Options{Now: o.Now, Log: o.Log}); err != nil {
		return nil, err
	}
	s.passes = doors.NewRegister(s.store)
	s.timed = &timedKeeper{Keeper: s.store}
	if err := s.warm(ctx); err != nil {
		return nil, errors.Join(err, s.store.Close())
	}
	s.intake = NewIntake(IntakeConfig{Keep: s.timed, Knows: s.knows, Show: s.take, Kept: s.count, Log: o.Log, Every: time.Duration(c.CommitEvery)})
	if err := s.build(); err != nil {
		s.intake.Close()
		return nil, errors.Join(err, s.store.Close())
	}
	return s, nil
}

// warm goes through the last readings that were kept, so that the watch knows
// what it knew before it was stopped.
func (s *Station) warm(ctx context.Context) error {
	return s.store.Each(ctx, s.o.Now().Add(-time.Duration(s.config.Warm)), time.Time{}, "", func(r watch.Reading) error {
		if t := s.tanks[r.Tank]; t != nil {
			t.level, t.any = t.watch.Take(r), true
		}
		return nil
	})
}

// knows says whether a tank is watched.
func (s *Station) knows(name string) bool { return s.tanks[name] != nil }

// take watches readings as they come in.
func (s *Station) take(readings []watch.Reading) {
	urgent := false
	defer s.changes.tell()
	for _, r := range readings {
		t := s.tanks[r.Tank]
		if t == nil {
			continue
		}
		t.mu.Lock()
		t.level, t.any, t.dirty = t.watch.Take(r), true, true
		urgent = urgent || t.level.Status != t.published.Status || t.level.Fault != t.published.Fault || t.sent.IsZero()
		t.mu.Unlock()
	}
	if urgent {
		select {
		case s.changed <- struct{}{}:
		default:
		}
	}
}

// mostSources is how many sources are counted by themselves.
const mostSources = 1024

// count counts readings by their source; mostly many in a row are of one.
func (s *Station) count(readings []watch.Reading) {
	s.counting.Lock()
	defer s.counting.Unlock()
	for from := 0; from < len(readings); {
		source, to := readings[from].Source, from+1
		for to < len(readings) && readings[to].Source == source {
			to++
		}
		if _, known := s.taken[source]; known || len(s.taken) < mostSources {
			s.taken[source] += uint64(to - from)
		}
		from = to
	}
}

// Start begins to listen and runs the feeds. It returns when what listens does.
func (s *Station) Start(ctx context.Context) error {
	ctx, s.stop = context.WithCancel(context.WithoutCancel(ctx))
	if s.config.HTTP != nil {
		if err := s.listen(); err != nil {
			return err
		}
	}
	for _, f := range s.feeds {
		if starts, ok := f.feed.(interface{ Start(feed.Sink) error }); ok {
			if err := starts.Start(s.intake); err != nil {
				return err
			}
		}
	}
	for _, out := range s.out {
		if err := out.Publish(mqtt.WatchTopic, []byte(mqtt.Running), true); err != nil {
			return err
		}
	}
	for _, f := range s.feeds {
		s.running.Go(func() { f.run(ctx, s.intake) })
	}
	s.running.Go(func() { s.publishing(ctx) })
	if s.server != nil {
		s.running.Go(func() {
			if err := s.server.Serve(s.listener); err != nil && !errors.Is(err, http.ErrServerClosed) {
				s.o.Log.Error("the pages of the watch ended", "error", err)
			}
		})
	}
	return nil
}

// stopWithin is how long Stop waits for requests to end by themselves.
const stopWithin = 5 * time.Second

// Stop ends the feeds, keeps what has come in, and closes the file. It may be
// called again.
func (s *Station) Stop() error {
	s.once.Do(func() {
		var faults []error
		s.intake.Soon() // those who wait for an acknowledgement are to have it
		if s.server != nil {
			ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
			faults = append(faults, s.server.Shutdown(ctx))
			cancel()
		}
		if s.stop != nil {
			s.stop()
		}
		s.running.Wait()
		s.intake.Close()
		faults = append(faults, s.store.Close())
		s.err = errors.Join(faults...)
	})
	return s.err
}

// Told says in lines what runs where, for someone who started it.
func (s *Station) Told() []string {
	var lines []string
	if s.listener != nil {
		lines = append(lines, "Page:   http://"+s.listener.Addr().String()+"/")
	}
	for _, f := range s.feeds {
		if at, ok := f.feed.(interface{ Addr() net.Addr }); ok && at.Addr() != nil {
			lines = append(lines, "MQTT:   mqtt://"+at.Addr().String())
		}
	}
	return append(lines, "Data:   "+s.store.Path())
}

// signal says what a bare number means that comes for a tank.
func (s *Station) signal(name string) watch.Signal {
	if t := s.tanks[name]; t != nil {
		return t.about.Signal
	}
	return watch.Ohm
}
