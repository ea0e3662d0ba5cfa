package simulated

import (
	"cmp"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"
	"github.com/eclipse/paho.golang/paho/session/state"

	"gaugewright/internal/feed"
)

// Config says where to publish and as whom.
type Config struct {
	// Broker is its address: mqtt://HOST:PORT, or mqtts:// over TLS. A user's name
	// and pass word may stand in it.
	Broker string
	// Client is the client identifier; the state of the connection is published
	// under it.
	Client string
	Root   string      // of the topics; "": gaugewright
	TLS    *tls.Config // nil: the usual
	// Bound is how many readings wait at most while the broker is away; 0: 50,000.
	Bound int
	// Lanes is how many queues the tanks are dealt out to; 0: 4.
	Lanes int
	// Window is how many readings may be on their way at once; 0: 400. Whoever
	// receives them acknowledges them together, some ten seconds later perhaps.
	Window int
}

// UsualBound is how many readings wait at most where nothing else is said.
const UsualBound = 50_000

// The words that are retained at ROOT/simulated/CLIENT.
const (
	Running = "running"
	Ended   = "ended"
	Gone    = "gone" // the will: the connection was lost
)

// lastWait is how long readings that wait are still sent after the end, and how long
// anything else may take then.
const lastWait = 3 * time.Second

// lastAcks is how long after the end acknowledgements are waited for.
const lastAcks = 12 * time.Second

// usualWindow is less than what the broker inside takes from one client.
const usualWindow = 400

// Publisher publishes readings over one connection.
type Publisher struct {
	c      Config
	url    *url.URL
	user   *url.Userinfo
	lanes  []*lane
	bound  int // of a lane
	window int // of a lane
	acked  atomic.Uint64
	denied atomic.Uint64 // acknowledged with a reason against it
	up     atomic.Bool

	first     time.Duration // the wait before the second try; [feed.FirstWait] but in tests
	launching sync.Mutex
	sequence  sequence

	dealing sync.Mutex
	dealt   map[string]int // lanes, by tank

	mu     sync.Mutex
	lost   error              // why the connection is down
	ever   bool               // it was up before
	since  time.Time          // when it came up; zero while it is down
	hardly int                // how often in a row it was up for a moment only
	again  context.CancelFunc // ends what was sent in a session that the broker has lost
	era    context.Context
	taken  error // another client has our identifier
}

// New makes a publisher. The error says what of the configuration can't be.
func New(c Config) (*Publisher, error) {
	u, err := url.Parse(c.Broker)
	if err != nil || u.Host == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts" {
		return nil, fmt.Errorf("the broker's address is %q; expected one like mqtt://127.0.0.1:1883, or mqtts://HOST:8883 over TLS", withoutSecret(c.Broker))
	}
	if u.Port() == "" {
		u.Host += map[string]string{"mqtt": ":1883", "mqtts": ":8883"}[u.Scheme]
	}
	if c.Root == "" {
		c.Root = "gaugewright"
	}
	if strings.ContainsAny(c.Root, "+#\x00") || strings.HasPrefix(c.Root, "/") || strings.HasSuffix(c.Root, "/") {
		return nil, fmt.Errorf("the root of the topics is %q; expected words between slashes, without + and #", c.Root)
	}
	if c.Client == "" || strings.ContainsAny(c.Client, "+#/\x00") {
		return nil, fmt.Errorf("the client is named %q; expected a name without +, # and /", c.Client)
	}
	if c.Bound == 0 {
		c.Bound = UsualBound
	}
	if c.Lanes == 0 {
		c.Lanes = 4
	}
	if c.Window == 0 {
		c.Window = usualWindow
	}
	if c.Bound < c.Lanes || c.Lanes < 1 {
		return nil, fmt.Errorf("%d readings may wait for the broker; expected %d or more", c.Bound, max(1, c.Lanes))
	}
	p := &Publisher{c: c, url: u, first: feed.FirstWait, bound: c.Bound / c.Lanes, window: max(1, c.Window/c.Lanes), dealt: map[string]int{}}
	// Errors name the address; they are to name no pass word.
	p.user, u.User = u.User, nil
	for range c.Lanes {
		p.lanes = append(p.lanes, newLane())
	}
	p.era, p.again = context.WithCancel(context.Background())
	p.sequence.State, p.sequence.DefaultPinger = state.NewInMemory(), paho.NewDefaultPinger()
	return p, nil
}

// withoutSecret gives an address without what may be a pass word in it.
func withoutSecret(address string) string {
	if at := strings.LastIndexByte(address, '@'); at >= 0 {
		return "…" + address[at:]
	}
	return address
}

// Put publishes a reading of a tank as soon as may be. It never waits, and keeps
// the payload. A tank's readings stay in one lane, and so in order; the tanks are
// dealt out to the lanes as they come.
func (p *Publisher) Put(tank string, payload []byte) {
	p.dealing.Lock()
	n, ok := p.dealt[tank]
	if !ok {
		n = len(p.dealt) % len(p.lanes)
		p.dealt[tank] = n
	}
	p.dealing.Unlock()
	p.lanes[n].put(message{tank, payload}, p.bound)
}

// Counts are what became of the readings that were put in.
type Counts struct {
	Acknowledged uint64
	Denied       uint64 // the broker took them with a reason against it
	Waiting      int
	Dropped      map[string]uint64 // by tank, for want of room
	Up           bool              // the broker is there
}

// Counts gives the counts so far.
func (p *Publisher) Counts() Counts {
	c := Counts{Acknowledged: p.acked.Load(), Denied: p.denied.Load(), Dropped: map[string]uint64{}, Up: p.up.Load()}
	for _, l := range p.lanes {
		c.Waiting += l.waiting()
		l.mu.Lock()
		maps.Copy(c.Dropped, l.dropped)
		l.mu.Unlock()
	}
	return c
}

// Behind says that the broker is there and takes less than is put in: half of
// the room is taken up.
func (p *Publisher) Behind() bool {
	if !p.up.Load() {
		return false
	}
	for _, l := range p.lanes {
		if l.waiting() > p.bound/2 {
			return true
		}
	}
	return false
}

// Run connects, and again whenever the connection is lost, until the context
// ends; then it sends what still waits, for a few seconds, and takes its leave.
// It returns an error where another client has taken its identifier.
func (p *Publisher) Run(ctx context.Context, tell feed.Teller) error {
	life, end := context.WithCancel(context.WithoutCancel(ctx))
	defer end()
	cm, err := autopaho.NewConnection(life, p.connection(tell, end))
	if err != nil {
		return err
	}
	var all sync.WaitGroup
	for _, l := range p.lanes {
		all.Go(func() { p.drive(life, cm, l) })
	}
	select {
	case <-ctx.Done():
	case <-life.Done():
	}
	if life.Err() == nil {
		p.leave(life, cm)
	}
	end()
	all.Wait()
	select {
	case <-cm.Done():
	case <-time.After(lastWait):
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.taken
}

// leave sends what still waits and says that it was the end.
func (p *Publisher) leave(life context.Context, cm *autopaho.ConnectionManager) {
	ctx, cancel := context.WithTimeout(life, lastAcks)
	defer cancel()
	there := func() bool {
		soon, cancel := context.WithTimeout(ctx, 50*time.Millisecond)
		defer cancel()
		return cm.AwaitConnection(soon) == nil
	}
	for there() && p.Counts().Waiting > 0 && ctx.Err() == nil {
		time.Sleep(5 * time.Millisecond)
	}
	if there() {
		p.state(ctx, cm, Ended)
	}
	stop, halt := context.WithTimeout(context.Background(), lastWait)
	defer halt()
	_ = cm.Disconnect(stop) // it is the end either way
}

// state publishes how the connection stands, retained.
func (p *Publisher) state(ctx context.Context, cm *autopaho.ConnectionManager, word string) {
	_, _ = cm.Publish(ctx, &paho.Publish{Topic: p.StateTopic(), QoS: 1, Retain: true, Payload: []byte(word)}) // told at the next connection again
}

// StateTopic is where it says how its connection stands.
func (p *Publisher) StateTopic() string { return p.c.Root + "/state/" + p.c.Client }

// flight is a message on its way.
type flight struct {
	message
	number uint64
	sent   func() // tells that it has been written, behind those before it
	again  bool   // it has to be sent anew
}

// drive sends the messages of a lane in their order, several at a time.
func (p *Publisher) drive(life context.Context, cm *autopaho.ConnectionManager, l *lane) {
	landed := make(chan flight, p.window)
	var failed, anew []flight // that have to be sent anew; and those whose turn it is
	away, number := 0, uint64(0)
	land := func(f flight) {
		away--
		if f.again {
			failed = append(failed, f)
		} else {
			l.arrived()
		}
	}
	for {
		for len(landed) > 0 {
			land(<-landed)
		}
		if away == 0 && len(failed) > 0 {
			anew = append(failed, anew...)
			slices.SortFunc(anew, func(a, b flight) int { return cmp.Compare(a.number, b.number) })
			failed = nil
		}
		var f flight
		ok := false
		if len(failed) == 0 && away < p.window {
			if ok = len(anew) > 0; ok {
				f, anew = anew[0], anew[1:]
			} else if f.message, ok = l.take(); ok {
				number++
				f.number = number
			}
		}
		if !ok {
			select {
			case <-life.Done():
				return
			case <-l.some:
			case f := <-landed:
				land(f)
			}
			continue
		}
		away++
		sent := make(chan struct{})
		f.sent = sync.OnceFunc(func() { close(sent) })
		p.launching.Lock() // one at a time, of all lanes
		go func() {
			f.again = !p.deliver(life, cm, f)
			landed <- f // has room; before the next is launched
			f.sent()
		}()
		select {
		case <-sent:
		case <-life.Done():
		}
		p.launching.Unlock()
	}
}

// deliver sends one message until it is acknowledged; false where it has to be sent
// anew, as the broker has lost its session, or the end came first. A message that the
// session holds comes again by itself.
func (p *Publisher) deliver(life context.Context, cm *autopaho.ConnectionManager, f flight) bool {
	topic := p.c.Root + "/" + f.tank + "/reading"
	if cm.AwaitConnection(life) != nil {
		return false
	}
	p.mu.Lock()
	era := p.era
	p.mu.Unlock()
	ctx, cancel := context.WithCancel(context.WithValue(life, written{}, f.sent))
	stop := context.AfterFunc(era, cancel)
	answer, err := cm.Publish(ctx, &paho.Publish{Topic: topic, QoS: 1, Payload: f.payload})
	stop()
	cancel()
	switch {
	case err == nil:
		p.acked.Add(1)
		return true
	case life.Err() != nil:
		return false
	case answer != nil && answer.ReasonCode >= 0x80, errors.Is(err, paho.ErrInvalidArguments):
		p.denied.Add(1)
		return true
	}
	select { // the connection is going down; it may not be known yet
	case <-life.Done():
	case <-time.After(20 * time.Millisecond):
	}
	return false
}

// wait is how long to wait before a try: none before the first of all, then first
// at most, a second usually, and twice as long each time up to a minute; each drawn
// between half of it and all of it, so that many don't come back at once.
func wait(first time.Duration, try int, ever bool) time.Duration {
	if try == 0 && !ever {
		return 0
	}
	most := feed.MostWait
	if try < 7 {
		most = min(most, first<<try)
	}
	return most/2 + rand.N(most/2)
}
