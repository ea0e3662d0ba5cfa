package mqtt

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"math"
	"net"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"

	"gaugewright/internal/feed"
)

// Broker is the broker inside: a [feed.Feed] and a [Publisher].
//
// Connecting, sessions, subscriptions, retained messages, wills and what goes out
// to subscribers are the library's. Readings on their way in are not: a
// connection takes PUBLISH packets out of the stream before the library sees
// them, see conn, so that all that came at once is handed over at once, and
// acknowledges them once they are on disk.
type Broker struct {
	c      Config
	log    *slog.Logger
	server *mochi.Server
	sink   feed.Sink
	prefix string // of the topics: "gaugewright/"

	mu       sync.Mutex
	listener net.Listener
	doors    []*door
	conns    map[*conn]struct{}

	remember sync.Mutex          // for what follows; taken last
	sessions map[string]*session // by client, those that have something to remember
	left     map[string]*left    // by client
	lefts    atomic.Int64        // how many of these there are
	states   map[string]bool     // names of clients that said how they stand
	delayed  map[string]bool     // clients whose will, which comes after a delay, is to be retained

	// retaining is held while the library retains a message, and for reading while it
	// looks for those that a new subscriber gets: see broker_retain.go.
	retaining sync.RWMutex

	// subscribed changes with each subscription that comes or goes, so that
	// connections needn't ask for each reading whether somebody wants it.
	subscribed atomic.Uint64
	stamps     atomic.Int64
	stopping   atomic.Bool
	stop       sync.Once
	over       chan struct{} // closed when it stops
}

var (
	_ feed.Feed = (*Broker)(nil)
	_ Publisher = (*Broker)(nil)
)

// NewBroker makes a broker, which listens once it is started. The error says what
// of the configuration can't be.
func NewBroker(c Config, log *slog.Logger) (*Broker, error) {
	c, err := c.settle()
	if err != nil {
		return nil, err
	}
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	b := &Broker{c: c, log: log, prefix: c.Root + "/", conns: make(map[*conn]struct{}), sessions: make(map[string]*session), states: make(map[string]bool), over: make(chan struct{})}
	can := mochi.NewDefaultServerCapabilities()
	can.MaximumClients = int64(c.Clients)
	can.MaximumMessageExpiryInterval = 0  // or a level would be gone after a day
	can.MaximumClientWritesPending = 1024 // 8 KB for each client
	can.MaximumSessionExpiryInterval = sessionExpiry
	can.MaximumPacketSize = most
	can.ReceiveMaximum = receiveMaximum
	can.MaximumInflight = 1024
	can.TopicAliasMaximum = 0
	b.server = mochi.New(&mochi.Options{
		Capabilities: can,
		InlineClient: true,
		// The library is silent: it logs whole packets, at whatever rate they come.
		Logger:                   slog.New(slog.DiscardHandler),
		SysTopicResendInterval:   60,
		ClientNetReadBufferSize:  1024,
		ClientNetWriteBufferSize: 4096,
	})
	if err := b.server.AddHook(&hook{b: b}, nil); err != nil {
		return nil, err
	}
	return b, nil
}

// Name is "mqtt".
func (b *Broker) Name() string { return source }

// source is whose readings they are; "mqtt/NAME" where the client has logged in.
const source = "mqtt"

// Start begins to listen. Readings go to the sink.
func (b *Broker) Start(to feed.Sink) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.listener != nil {
		return nil
	}
	b.sink = to
	if b.c.Listen != nowhere {
		if err := b.addDoor("tcp", b.c.Listen, nil); err != nil {
			return err
		}
	}
	if b.c.TLSListen != "" {
		if err := b.addDoor("tls", b.c.TLSListen, b.c.TLS); err != nil {
			return errors.Join(err, b.closeDoors())
		}
	}
	b.listener = b.doors[0].listener
	if b.c.Admit != nil {
		go b.watchGrants(b.over)
	}
	return b.server.Serve()
}

// addDoor begins to listen at an address. The lock is held.
func (b *Broker) addDoor(id, listen string, c *tls.Config) error {
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return fmt.Errorf("the broker can't listen at %s: %w; see what else listens there, or choose another address", listen, err)
	}
	if c != nil {
		l = tls.NewListener(l, c)
	}
	d := &door{id: id, listener: l, b: b, open: local(listen)}
	if err := b.server.AddListener(d); err != nil {
		return errors.Join(err, l.Close())
	}
	d.inside.Add(1)
	b.doors = append(b.doors, d)
	return nil
}

func (b *Broker) closeDoors() error {
	var faults []error
	for _, d := range b.doors {
		faults = append(faults, d.listener.Close())
	}
	return errors.Join(faults...)
}

// TLSAddr is where it listens for TLS, nil where it doesn't.
func (b *Broker) TLSAddr() net.Addr {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, d := range b.doors {
		if d.id == "tls" {
			return d.listener.Addr()
		}
	}
	return nil
}

// Addr is where it listens, nil before it does.
func (b *Broker) Addr() net.Addr {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.listener == nil {
		return nil
	}
	return b.listener.Addr()
}

// Run starts the broker, if it isn't yet, and stops it when the context ends.
func (b *Broker) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	if err := b.Start(to); err != nil {
		return err
	}
	tell.Up(b.Addr().String())
	<-ctx.Done()
	b.Stop()
	return nil
}

// stopWithin is how long Stop waits for readings to be acknowledged.
const stopWithin = 2 * time.Second

// Stop takes in no more readings, acknowledges those that are on their way, and
// closes all connections; one of MQTT 5 is told why. It may be called again.
func (b *Broker) Stop() {
	b.stop.Do(func() {
		b.stopping.Store(true)
		b.mu.Lock()
		doors := b.doors
		_ = b.closeDoors()
		b.mu.Unlock()
		close(b.over)
		if doors == nil {
			_ = b.server.Close()
			return
		}
		for _, c := range b.connected() {
			_ = c.Conn.SetReadDeadline(time.Unix(1, 0)) // so that it sees that it is to stop
		}
		for end := time.Now().Add(stopWithin); b.busy() && time.Now().Before(end); {
			time.Sleep(time.Millisecond)
		}
		list := b.connected()
		for _, c := range list { // or one that doesn't read would keep us
			c.wrote.Store(math.MaxInt64)
			_ = c.Conn.SetWriteDeadline(time.Now().Add(time.Second))
		}
		for _, c := range list {
			c.dismiss()
		}
		for _, d := range doors {
			d.inside.Wait()
		}
		_ = b.server.Close()
	})
}

// connected gives the connections there are.
func (b *Broker) connected() []*conn {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Collect(maps.Keys(b.conns))
}

func (b *Broker) count() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.conns)
}

// busy says whether readings wait to be acknowledged.
func (b *Broker) busy() bool { return slices.ContainsFunc(b.connected(), (*conn).busy) }

// Publish publishes at a topic below the root; see [Publisher].
func (b *Broker) Publish(topic string, payload []byte, retain bool) error {
	topic = b.prefix + topic
	if err := checkTopic(topic); err != nil {
		return err
	}
	// Quality of service 1; whoever subscribed with less gets less.
	return b.server.Publish(topic, payload, retain, 1)
}
