package post

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// Path is where readings are taken: of many tanks at Path itself, of one tank at
// Path/TANK.
const Path = "/readings"

// Usual values of a [Config].
const (
	UsualWithin = 10 * time.Second
	UsualAtOnce = 256
)

// Config is how readings are taken by HTTP. The zero value is usual.
type Config struct {
	// Within is how long the readings of one request may take to be sent, and then
	// again to be kept; 0: [UsualWithin].
	Within feed.Duration `toml:"within"`
	// AtOnce is how many requests may be under way; more are asked to come again.
	// 0: [UsualAtOnce].
	AtOnce int `toml:"at_once"`
	// Signal says what a bare number means that is sent for a tank; nil: ohms.
	Signal func(tank string) watch.Signal `toml:"-"`
}

var _ feed.Feed = (*Feed)(nil)

// Feed is the handler and the feed. It takes readings while it runs.
type Feed struct {
	name   string
	config Config
	slots  chan struct{}
	origin *http.CrossOriginProtection

	mu sync.RWMutex // held for reading while readings are handed over
	to feed.Sink    // nil: it takes nothing
	in bool         // it runs
}

// New makes the feed. The error says which key has what, and what was expected.
func New(name string, c Config) (*Feed, error) {
	if name == "" {
		return nil, errors.New("readings by HTTP: the feed has no name")
	}
	if c.Within < 0 {
		return nil, fmt.Errorf(`%s: within is %v; expected a duration such as "10s"`, name, time.Duration(c.Within))
	}
	if c.AtOnce < 0 || c.AtOnce > 10_000 {
		return nil, fmt.Errorf("%s: at_once is %d; expected 1 to 10000 requests", name, c.AtOnce)
	}
	if c.Within == 0 {
		c.Within = feed.Duration(UsualWithin)
	}
	if c.AtOnce == 0 {
		c.AtOnce = UsualAtOnce
	}
	if c.Signal == nil {
		c.Signal = func(string) watch.Signal { return watch.Ohm }
	}
	return &Feed{name: name, config: c, slots: make(chan struct{}, c.AtOnce), origin: http.NewCrossOriginProtection()}, nil
}

// Name gives the feed's name, which is the source of its readings.
func (f *Feed) Name() string { return f.name }

// Start lets readings in, so that none is turned away from a server that is there
// already; [Feed.Run] does, too, and ends it.
func (f *Feed) Start(to feed.Sink) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.to = to
	return nil
}

// Run lets readings in until the context ends; by then none is under way.
func (f *Feed) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	f.mu.Lock()
	if f.in {
		f.mu.Unlock()
		return fmt.Errorf("%s: it runs already", f.name)
	}
	f.to, f.in = to, true
	f.mu.Unlock()
	tell.Up(Path)
	<-ctx.Done()
	f.mu.Lock()
	f.to, f.in = nil, false
	f.mu.Unlock()
	return nil
}

// sink gives where readings go, for as long as release isn't called; nil while the
// feed doesn't run.
func (f *Feed) sink() (to feed.Sink, release func()) {
	f.mu.RLock()
	return f.to, f.mu.RUnlock
}

// refused counts what was refused, where the feed runs.
func (f *Feed) refused(why string, sample []byte) {
	to, release := f.sink()
	defer release()
	if to != nil {
		to.Refused(f.name, why, sample)
	}
}
