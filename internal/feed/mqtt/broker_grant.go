package mqtt

import (
	"net"
	"strings"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// Grant is what a client may do that connected with a token. It is asked for each
// message.
type Grant interface {
	// Name is part of the source of the client's readings.
	Name() string
	// Sends says whether anything may be published at all, the client's own state too.
	Sends() bool
	// Publishes says whether readings of a tank may be published.
	Publishes(tank string) bool
	// Sees says whether the levels of a tank may be read.
	Sees(tank string) bool
	// Still looks whether the token lets in still, and is asked now and then.
	Still() bool
}

// Guesses slows down whoever guesses passwords.
type Guesses interface {
	Wait(from string, now time.Time) time.Duration
	Wrong(from string, now time.Time)
	Right(from string)
}

// stillEvery is how often it is looked at whether tokens let in still.
const stillEvery = 2 * time.Second

// watchGrants ends the connections of those whose tokens don't let in any more.
func (b *Broker) watchGrants(done <-chan struct{}) {
	tick := time.NewTicker(stillEvery)
	defer tick.Stop()
	for {
		select {
		case <-done:
			return
		case <-tick.C:
		}
		for _, c := range b.connected() {
			if !c.told.Load() || c.grant == nil || c.grant.Still() {
				continue
			}
			b.sink.Refused(c.source, tokenEnded, []byte(c.client.ID))
			c.client.Properties.Will = mochi.Will{} // it has no say any more
			c.disconnect(packets.ErrNotAuthorized)
			_ = c.Close()
		}
	}
}

const (
	tokenEnded = "a token that has ended or was revoked"
	noRight    = "a tank that the token isn't for"
	guessing   = "too many wrong passwords"
)

// admits says whether a client's name and password let it in, and what it may do
// then: nil is everything.
func (b *Broker) admits(c *conn, pk packets.Packet) (g Grant, ok bool, why string) {
	from := c.RemoteAddr().String()
	local := fromHere(c.RemoteAddr())
	if b.c.Guesses != nil && !local && b.c.Guesses.Wait(from, time.Now()) > 0 {
		return nil, false, guessing
	}
	password := pk.Connect.Password
	if b.c.Admit != nil {
		if g, is := b.c.Admit(password); g != nil {
			b.right(from)
			return g, true, ""
		} else if is {
			b.wrong(from)
			return nil, false, wrongPassword
		}
	}
	switch {
	case b.listed(pk):
		b.right(from)
		return nil, true, ""
	case len(b.c.Users) == 0 && c.free:
		return nil, true, ""
	}
	b.wrong(from)
	return nil, false, wrongPassword
}

func (b *Broker) right(from string) {
	if b.c.Guesses != nil {
		b.c.Guesses.Right(from)
	}
}

func (b *Broker) wrong(from string) {
	if b.c.Guesses != nil {
		b.c.Guesses.Wrong(from, time.Now())
	}
}

func fromHere(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

// mayPublish says whether a client may publish readings of a tank.
func (c *conn) mayPublish(tank string) bool {
	return c == nil || c.grant == nil || c.grant.Publishes(tank)
}

// mayRead says whether a client may have a topic, or subscribe to a filter, of
// which each message is looked at again when it is passed on.
func (b *Broker) mayRead(c *conn, topic string) bool {
	if c == nil || c.grant == nil {
		return true
	}
	if strings.HasPrefix(topic, "$share/") || strings.ContainsAny(topic, "+#") {
		return true
	}
	if topic == b.prefix+WatchTopic {
		return true
	}
	rest, ok := strings.CutPrefix(topic, b.prefix)
	if !ok {
		return false
	}
	tank, ok := publishedTank(rest)
	return ok && c.grant.Sees(tank)
}

// maySend says whether a client may publish at all.
func (c *conn) maySend() bool { return c == nil || c.grant == nil || c.grant.Sends() }
