package mqtt

import (
	"context"
	"fmt"
	"net"
	"sync/atomic"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// OutsideConfig is a broker outside of the program, which readings come from and
// levels go to. The zero value of a field is its usual value.
type OutsideConfig struct {
	// URL is where the broker is: "mqtt://192.0.2.7", "mqtts://broker.example:8883",
	// or ws:// and wss:// for a broker behind a web server. Ports that aren't
	// written are 1883, 8883, 80 and 443.
	URL string `toml:"url"`
	// Protocol is "5" or "3.1.1"; "": 5.
	Protocol string `toml:"protocol"`
	// ClientID is the session's name at the broker. Two who bear the same throw
	// each other out. "": "gaugewright-", this machine's name, and the feed's.
	ClientID string `toml:"client_id"`
	// Root is the first part of all topics; "": "gaugewright".
	Root string `toml:"root"`

	// User is the name to log in with; "": none. The password is the first line of
	// a file, or stands in an environment variable; it is read at each connection.
	User         string `toml:"user"`
	PasswordFile string `toml:"password_file"`
	PasswordEnv  string `toml:"password_env"`

	// CA is a file of certificates (PEM) to believe; "": those of this machine. Cert
	// and Key are files for brokers that want to know who connects.
	CA   string `toml:"ca"`
	Cert string `toml:"cert"`
	Key  string `toml:"key"`

	// SessionExpiry is how long the broker keeps readings for a watch that isn't
	// there; 0: 24 h. With MQTT 3.1.1 the broker has a limit of its own.
	SessionExpiry feed.Duration `toml:"session_expiry"`
	// KeepAlive is the longest silence on the line; 0: 30 s.
	KeepAlive feed.Duration `toml:"keep_alive"`

	// Signal says what a bare number measures in a tank; nil: ohms.
	Signal func(tank string) watch.Signal `toml:"-"`
}

// Outside is a connection to a broker outside of the program, kept up. It is a
// [feed.Feed] and a [Publisher].
type Outside struct {
	name   string
	source string
	c      settled
	waits  feed.Waits
	// settle is how long after a connection the broker may still be sending what it
	// had kept, where nothing tells otherwise. See [spell.take].
	settle time.Duration
	latest *latest
	open   func(context.Context, *spell) (link, bool, error)

	refused atomic.Uint64
	fresh   atomic.Int64 // when the last message came that nobody had kept; Unix nanoseconds
}

var (
	_ feed.Feed = (*Outside)(nil)
	_ Publisher = (*Outside)(nil)
)

// NewOutside prepares a connection to an outside broker; name is that of the
// feed, "outside/NAME" as a rule. Nothing is connected before [Outside.Run]. The
// error says which key has what and what was expected; files are looked at too.
func NewOutside(name string, c OutsideConfig) (*Outside, error) {
	s, err := c.settle(name)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	o := &Outside{name: name, source: name, c: s, settle: time.Minute, latest: newLatest()}
	if s.old {
		o.open = o.opener311()
	} else {
		o.open = o.opener5()
	}
	return o, nil
}

// Name is the feed's name.
func (o *Outside) Name() string { return o.name }

// Publish hands a message over; see [Publisher]. While the broker isn't there the
// latest for each topic waits, and what is retained is published anew after each
// connection: a broker that was started again may have lost it.
func (o *Outside) Publish(topic string, payload []byte, retain bool) error {
	m := message{topic: o.c.root + "/" + topic, payload: payload, retain: retain}
	err := checkTopic(topic)
	if err == nil {
		err = checkTopic(m.topic) // for its length
	}
	if err == nil {
		err = o.latest.put(m)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", o.name, err)
	}
	return nil
}

// Refusals is how many messages the broker didn't want: for want of a right to
// publish at the topic, as a rule. Only MQTT 5 tells.
func (o *Outside) Refusals() uint64 { return o.refused.Load() }

// Run keeps the connection up until the context ends, and then says that the
// watch is gone.
func (o *Outside) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	o.waits.Again(ctx, tell, func(ctx context.Context) error { return o.connect(ctx, to, tell) })
	return nil
}

// link is one connection, from the broker's consent to its end.
type link interface {
	// subscribe asks for the topics with QoS 1.
	subscribe(ctx context.Context, filters ...string) error
	// publish sends messages of different topics with QoS 1 and waits until the
	// broker has acknowledged all. It returns how many the broker refused, and an
	// error where the connection is no use any more.
	publish(ctx context.Context, batch []message) (refused int, err error)
	// leave ends the connection. In good order the broker doesn't publish the will;
	// otherwise it does.
	leave(goodOrder bool)
}

// Limits of a batch and of the time that the broker may take over it, and over
// anything else that it is asked. A broker may hold back its acknowledgements for
// 40 ms (Nagle's algorithm against delayed ones of TCP), so a batch has many.
const (
	batchMost = 512
	patience  = 10 * time.Second
	farewell  = time.Second
)

// connect is one connection: it returns when that has ended.
func (o *Outside) connect(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	// alive ends with the connection, and has why.
	alive, lose := context.WithCancelCause(ctx)
	defer lose(nil)
	s := newSpell(o, to, lose)
	defer s.end()
	l, resumed, err := o.open(alive, s)
	if err != nil {
		return err
	}
	if resumed {
		s.begin(time.Now().Add(o.settle))
	} else {
		s.begin(time.Time{})
	}
	watchTopic := o.c.root + "/" + WatchTopic
	if err := l.subscribe(alive, o.c.root+"/+"+readingLevel, watchTopic); err != nil {
		lose(err)
		l.leave(false)
		return context.Cause(alive)
	}
	tell.Up(net.JoinHostPort(o.c.url.Hostname(), o.c.port))
	// It comes back after everything that the broker had kept for this session.
	o.latest.again(message{topic: watchTopic, payload: []byte(Running), retain: true, id: s.mark})
	for {
		select {
		case <-alive.Done():
		case <-o.latest.wake:
			if err := o.send(alive, l); err != nil {
				lose(err)
			}
			continue
		}
		if ctx.Err() == nil {
			l.leave(false)
			return context.Cause(alive)
		}
		bye, cancel := context.WithTimeout(context.WithoutCancel(ctx), farewell)
		_, err := l.publish(bye, []message{{topic: watchTopic, payload: []byte(Gone), retain: true}})
		cancel()
		l.leave(err == nil)
		return ctx.Err()
	}
}

// send sends a batch of what waits.
func (o *Outside) send(ctx context.Context, l link) error {
	batch := o.latest.take(batchMost)
	if len(batch) == 0 {
		return nil
	}
	within, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	refused, err := l.publish(within, batch)
	if err != nil {
		o.latest.back(batch)
		return fmt.Errorf("the broker didn't acknowledge what was published: %w", err)
	}
	o.refused.Add(uint64(refused))
	return nil
}
