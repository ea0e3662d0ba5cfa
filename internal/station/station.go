package station

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/certificate"
	"gaugewright/internal/docket"
	"gaugewright/internal/doors"
	"gaugewright/internal/feed"
	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/history"
	"gaugewright/internal/language"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// Options is what a station is started with besides its configuration.
type Options struct {
	Log *slog.Logger     // nil: nothing is logged
	Now func() time.Time // nil: time.Now
	// Passed is the time that has passed since some moment, whatever the clock is set
	// to; nil: by the machine, or by Now where that is given.
	Passed func() time.Duration
	Zone   *time.Location // of times in sentences; nil: the machine's
	// Languages are those in which the page can be read besides English.
	Languages language.Books
	// Version is the program's; "": it isn't told.
	Version string
	// Out gets each tank's level as it is published, a line each; nil: nothing is
	// printed. JSON has them as they are published.
	Out  io.Writer
	JSON bool

	through func(Keeper) Keeper // by which readings are kept, for tests; nil: the store
}

// settled fills in what is usual.
func (o Options) settled() Options {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	begun := time.Now()
	switch now := o.Now; {
	case o.Passed != nil:
	case now != nil:
		first := now()
		o.Passed = func() time.Duration { return now().Sub(first) }
	default:
		o.Passed = func() time.Duration { return time.Since(begun) }
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Zone == nil {
		o.Zone = time.Local
	}
	return o
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

	telling sync.Mutex      // taken last: a tank's lock may be held before it, never after
	events  []history.Event // that wait to be written
	unheard uint64          // events for which there was no room
	notes   []string

	started time.Time
	clock   clock // of the housekeeping
	// doubted is when it was last doubted that the clock tells how old readings are,
	// by the time that passes; nil: it isn't.
	doubted      *time.Duration
	pace         pace
	begun        time.Time    // for turned
	caller       alarm.Caller // of the goroutine that calls
	alarmWriting sync.Mutex
	goneAlarms   []string     // that aren't set up any more
	turned       atomic.Int64 // when the publishing last went round, ns since it began

	changed chan struct{} // something may have to be published
	changes changes       // for those who wait for the next
	stop    context.CancelFunc
	running sync.WaitGroup
	once    sync.Once
	err     error

	ending  sync.Once
	ended   chan struct{} // closed where the watch ended by itself
	why     error
	passes  *doors.Register   // links and tokens
	book    *book             // of dockets
	pair    *certificate.Pair // of the broker; nil: it has none
	posting *posting          // of notices
}

// tank is one that is watched.
type tank struct {
	about about
	plain watch.Config // what its watch is made of where nothing is learned
	mu    sync.Mutex
	watch *watch.Watch
	level watch.Level // after the last reading
	// corrected is how its levels are corrected by dockets; nil: they aren't.
	corrected *docket.Correction
	any       bool // there was one

	published watch.Level // the last that went out
	sent      time.Time   // when
	dirty     bool

	rolls   history.LevelRolls // levels that aren't written yet
	until   time.Time          // levels of readings before are, or are counted
	told    told
	recent  recently
	follows follows
	sealing sync.RWMutex // held while levels are written; before mu
	kept    time.Time    // until when the store has them
	alarms  alarming
}

// New builds a station: it opens the file of readings, goes through the last of
// them again, and makes the feeds, none of which runs yet. All that is wrong with
// the configuration is told, a line each.
func New(ctx context.Context, c Config, o Options) (*Station, error) {
	s := &Station{config: c, o: o.settled(), tanks: map[string]*tank{}, taken: map[string]uint64{}, changed: make(chan struct{}, 1), pace: usualPace, ended: make(chan struct{})}
	o = s.o
	s.started, s.begun = o.Now(), time.Now()
	var faults []error
	for _, n := range slices.Sorted(maps.Keys(c.Tank)) {
		w, a, err := c.built(n, c.Tank[n])
		if err != nil {
			faults = append(faults, err)
			continue
		}
		s.tanks[n] = &tank{watch: w, about: a, plain: a.Watch, follows: newFollows(a.Follows, o.Zone)}
		s.names = append(s.names, n)
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	var err error
	if s.store, err = sqlite.OpenReadings(ctx, c.path(c.Data), sqlite.Options{Now: o.Now, Log: o.Log, Backups: c.path(c.Backup.Folder)}); err != nil {
		return nil, err
	}
	s.book = newBook(s)
	s.book.begin(ctx) // before levels are told
	for _, begin := range []func(context.Context) error{s.recall, s.beginAlarms, s.warm, s.warmed} {
		if err := begin(ctx); err != nil {
			return nil, errors.Join(err, s.store.Close())
		}
	}
	s.repaired()
	s.passes = doors.NewRegister(s.store)
	s.timed = &timedKeeper{Keeper: s.store}
	keeper := Keeper(s.timed)
	if o.through != nil {
		keeper = o.through(keeper)
	}
	s.intake = NewIntake(IntakeConfig{Keep: keeper, Knows: s.knows, Show: s.take, Kept: s.count, Stands: s.disk, Log: o.Log, Every: time.Duration(c.CommitEvery)})
	if err := errors.Join(s.build(), s.buildNotices(ctx)); err != nil {
		s.intake.Close()
		return nil, errors.Join(err, s.store.Close())
	}
	return s, nil
}

// furthestBack is how far back levels are rolled up again at the most, where the
// watch before was cut off: as far as there is room for their minutes.
const furthestBack = (history.MostMinutes - 60) * time.Minute

// warm goes through the last readings that were kept, so that the watch knows what it
// knew before it was stopped, and rolls up those levels that weren't written.
func (s *Station) warm(ctx context.Context) error {
	now := s.o.Now()
	for _, n := range s.names {
		t := s.tanks[n]
		until, err := s.store.LevelsUntil(ctx, n)
		if err != nil {
			return err
		}
		from := now.Add(-furthestBack)
		if !until.IsZero() {
			from = until
		}
		if back := until.Add(-time.Duration(s.config.Warm)); !until.IsZero() && back.Before(from) {
			from = back
		}
		t.until, t.kept = until, until
		if from, err = s.recallFlows(ctx, t, from); err != nil {
			return err
		}
		if err := s.store.Each(ctx, from, time.Time{}, n, func(r watch.Reading) error {
			s.follow(t, r)
			return nil
		}); err != nil {
			return err
		}
		t.told.until = time.Time{}
		if !until.IsZero() && now.Sub(until) > longestOff {
			s.doubtClock()
		}
		if last := t.level.Time; last.Sub(now) > time.Minute {
			text := fmt.Sprintf("This machine's clock is at %s, and the last reading of %s was kept at %s by it: the clock may be wrong, or was.", s.said(now), t.about.Label.Label, s.said(last))
			s.o.Log.Warn("this machine's clock is before the last reading", "tank", n, "clock", now, "reading", last)
			s.noted(text)
			s.itself(history.ClockMoved, text)
		}
	}
	return nil
}

// follow watches one reading of a tank, whose lock is held or that nobody else has.
// Where the watch breaks down over it, it is begun anew without.
func (s *Station) follow(t *tank, r watch.Reading) {
	defer func() {
		if p := recover(); p != nil {
			s.o.Log.Error("the watch of a tank broke down over a reading, and is begun anew", "tank", r.Tank, "reading", fmt.Sprintf("%+v", r), "error", p, "stack", firstLines(debug.Stack()))
			text := fmt.Sprintf("The watch of %s broke down over a reading of %s and was begun anew: %v.", t.about.Label.Label, r.Source, p)
			s.noted(text)
			s.happened(history.Event{Time: s.o.Now().UTC(), Tank: r.Tank, Kind: history.Repaired, Level: -1, Text: text})
			if w, err := watch.New(t.about.Watch); err == nil { // it could be made before
				t.watch = w
			}
		}
	}()
	before, gap := t.level.Time, t.gap(r.Time)
	t.level, t.any = t.watch.Take(r), true
	if t.level.Time.After(before) {
		if !t.level.Time.Before(t.until) {
			t.rolls.Add(t.level)
		}
		s.followed(t, gap)
		s.followed(t, t.level)
	}
	s.watches(t, t.level)
	t.alarmed(t.level)
}

// repaired tells what was put right at the start.
func (s *Station) repaired() {
	list := append(s.store.Repairs(), s.leftovers()...)
	for _, text := range list {
		s.o.Log.Warn("something was put right at the start", "what", text)
		s.noted(text)
		s.itself(history.Repaired, text)
	}
	s.itself(history.Began, "")
}

// disk notes that readings can't be kept, or can again.
func (s *Station) disk(_ int, err error) {
	if err != nil {
		s.itself(history.DiskFailed, err.Error())
	} else {
		s.itself(history.DiskWorks, "")
	}
}

// knows says whether a tank is watched.
func (s *Station) knows(name string) bool { return s.tanks[name] != nil }

// take watches readings as they come in: rounded as they are kept, so that what is
// watched now and what is gone through again after a restart are the same.
func (s *Station) take(readings []watch.Reading) {
	urgent := false
	defer s.changes.tell()
	at := s.o.Passed()
	for _, r := range readings {
		t := s.tanks[r.Tank]
		if t == nil {
			continue
		}
		r = sqlite.Rounded(r)
		t.mu.Lock()
		t.recent.add(lately{r, at})
		s.follow(t, r)
		t.dirty = true
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
	s.clock = newClock(s.o.Now, s.o.Passed)
	s.keepGoing(ctx, "The publishing of levels", s.publishing)
	s.keepGoing(ctx, "The housekeeping", s.housekeeping)
	s.keepGoing(ctx, "The learning from dockets", s.book.follow)
	s.keepGoing(ctx, "The calling of alarms", s.calling)
	s.startNotices(ctx)
	if s.config.Backup.Folder != "" {
		s.keepGoing(ctx, "The making of backups", s.backups)
	}
	if s.server != nil {
		s.running.Go(func() {
			if err := s.server.Serve(s.listener); err != nil && !errors.Is(err, http.ErrServerClosed) {
				s.o.Log.Error("the pages of the watch ended", "error", err)
				s.ends(fmt.Errorf("the pages of the watch ended: %w", err))
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
		s.itself(history.Ended, "")
		faults = append(faults, s.finish(), s.store.Close())
		s.err = errors.Join(faults...)
	})
	return s.err
}

// finish writes what is left. What can't be written is worked out again at the next
// start; what happened is lost then.
func (s *Station) finish() error {
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	var faults []error
	for _, n := range s.names {
		faults = append(faults, s.sealLevels(ctx, s.tanks[n]), s.sealFlows(ctx, s.tanks[n], true), s.keepAlarms(ctx, s.tanks[n]))
	}
	return errors.Join(append(faults, s.store.Seal(ctx), s.writeEvents(ctx))...)
}

// Told says in lines what runs where, for someone who started it.
func (s *Station) Told() []string {
	var lines []string
	if s.listener != nil {
		lines = append(lines, "Page:   http://"+s.listener.Addr().String()+"/")
	}
	for _, f := range s.feeds {
		if at, ok := f.feed.(interface{ Addr() net.Addr }); ok && at.Addr() != nil && s.config.MQTT.Listen != "none" {
			lines = append(lines, "MQTT:   mqtt://"+at.Addr().String())
		}
		if at, ok := f.feed.(interface{ TLSAddr() net.Addr }); ok && at.TLSAddr() != nil {
			lines = append(lines, "MQTT:   mqtts://"+at.TLSAddr().String())
			if s.config.MQTT.SelfSigned {
				lines = append(lines, "        its certificate's SHA-256: "+s.pair.Fingerprint())
			}
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
