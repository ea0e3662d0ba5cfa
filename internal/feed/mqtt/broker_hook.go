package mqtt

import (
	"bytes"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"sync/atomic"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"

	"gaugewright/internal/feed"
)

// hook is what the library asks and tells the broker.
type hook struct {
	mochi.HookBase
	b *Broker
}

func (h *hook) ID() string { return "readings" }

func (h *hook) Provides(what byte) bool {
	return bytes.IndexByte([]byte{
		mochi.OnConnect, mochi.OnConnectAuthenticate, mochi.OnACLCheck, mochi.OnSessionEstablished, mochi.OnDisconnect, mochi.OnClientExpired,
		mochi.OnPacketEncode, mochi.OnPacketSent, mochi.OnPacketProcessed, mochi.OnSubscribed, mochi.OnUnsubscribed, mochi.OnPublish, mochi.OnRetainMessage, mochi.OnWill, mochi.OnWillSent,
	}, what) >= 0
}

// OnConnectAuthenticate says whether a client may connect.
func (h *hook) OnConnectAuthenticate(cl *mochi.Client, pk packets.Packet) bool {
	c, ok := cl.Net.Conn.(*conn)
	if !ok {
		return false
	}
	g, ok, why := h.b.admits(c, pk)
	if !ok {
		h.b.sink.Refused(source, why, pk.Connect.Username)
		c.told.Store(true)
		return false
	}
	c.grant = g
	if w := cl.Properties.Will; g != nil && atomic.LoadUint32(&w.Flag) != 0 {
		if tank, is := readingTank(h.b.c.Root, w.TopicName); is && !g.Publishes(tank) || !is && !g.Sends() {
			h.b.sink.Refused(source, noRight, []byte(w.TopicName))
			cl.Properties.Will = mochi.Will{}
		}
	}
	return true
}

// listed says whether a client is one of the users.
func (b *Broker) listed(pk packets.Packet) bool {
	want, known := b.c.Users[string(pk.Connect.Username)]
	// By their hashes, which take equally long to compare whatever they are.
	x, y := sha256.Sum256(pk.Connect.Password), sha256.Sum256([]byte(want))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1 && known
}

// sessionsEach is how many sessions there may be for each client that may be
// connected: who connects under ever new names, and wants each remembered, would
// fill the memory.
const sessionsEach = 4

// OnConnect looks at the will, which is published like any other message when
// its client is gone: it may be a reading, or the client's own state.
func (h *hook) OnConnect(cl *mochi.Client, _ packets.Packet) error {
	// The broker itself is one of them.
	if _, known := h.b.server.Clients.Get(cl.ID); !known && h.b.server.Clients.Len() > sessionsEach*h.b.c.Clients {
		h.b.sink.Refused(source, tooManySessions, []byte(cl.ID))
		if c, ok := cl.Net.Conn.(*conn); ok {
			c.told.Store(true)
		}
		return packets.ErrQuotaExceeded
	}
	if atomic.LoadUint32(&cl.Properties.Will.Flag) == 0 {
		return nil
	}
	will := cl.Properties.Will
	if _, ok := readingTank(h.b.c.Root, will.TopicName); !ok && !h.b.own([]byte(will.TopicName), will.Payload) {
		h.b.sink.Refused(source, foreignWill, []byte(will.TopicName))
		cl.Properties.Will = mochi.Will{}
	}
	return nil
}

// Reasons for which a client's doings count for nothing.
const (
	wrongPassword   = "a wrong name or password"
	tooManySessions = "too many sessions"
	againstRules    = "what the rules of MQTT don't allow"
	foreignWill     = "a will at a topic that isn't for readings"
)

// OnWill has a will that is a reading not retained: it is of one moment.
func (h *hook) OnWill(cl *mochi.Client, will mochi.Will) (mochi.Will, error) {
	if _, ok := readingTank(h.b.c.Root, will.TopicName); ok {
		will.Retain = false
	}
	if h.b.delays(cl, will) {
		will.Retain = false // by the library
	}
	if will.Retain {
		h.b.retains()
	}
	return will, nil
}

// OnWillSent takes in a will as the reading that it is. The library has passed it
// on to subscribers.
func (h *hook) OnWillSent(cl *mochi.Client, pk packets.Packet) {
	tank, ok := readingTank(h.b.c.Root, pk.TopicName)
	if !ok {
		h.b.retainDelayed(cl, pk)
		return
	}
	from := h.b.sourceOf(cl)
	if c, _ := cl.Net.Conn.(*conn); !c.mayPublish(tank) {
		h.b.sink.Refused(from, noRight, []byte(pk.TopicName))
		return
	}
	if !h.b.sink.Knows(tank) {
		h.b.sink.Refused(from, feed.NoSuchTank, []byte(pk.TopicName))
		return
	}
	readings, why, err := h.b.decode(nil, tank, from, pk.Payload, time.Now())
	if err != nil {
		h.b.sink.Refused(from, why, pk.Payload)
		return
	}
	h.b.sink.Later(readings, func(error) {}) // nobody is there any more to be told
}

// OnACLCheck lets anyone subscribe to anything who came without a token: nothing
// is there but readings and levels. A token reads the levels of its own tanks.
// The library asks for each subscription, and for each message that it passes on.
func (h *hook) OnACLCheck(cl *mochi.Client, topic string, write bool) bool {
	c, _ := cl.Net.Conn.(*conn)
	return write || h.b.mayRead(c, topic)
}

// OnPublish refuses what conn left to the library, which is what the library
// finds fault with, and lets through what the broker itself publishes and what a
// client says of its own state.
func (h *hook) OnPublish(cl *mochi.Client, pk packets.Packet) (packets.Packet, error) {
	c, _ := cl.Net.Conn.(*conn) // a state of its own is for those who publish
	if c.maySend() && (cl.Net.Inline || h.b.own([]byte(pk.TopicName), pk.Payload)) {
		pk.Created = h.b.stamp()
		if pk.FixedHeader.Retain {
			h.b.retains()
		}
		return pk, nil
	}
	if cl.Properties.ProtocolVersion < 5 || pk.FixedHeader.Qos == 0 {
		return pk, packets.CodeSuccessIgnore // any other error the library passes over here
	}
	return pk, packets.ErrNotAuthorized
}

// OnPacketEncode has the answer to a connection say what the library doesn't, and
// puts in order what comes right after it.
func (h *hook) OnPacketEncode(cl *mochi.Client, pk packets.Packet) packets.Packet {
	c, _ := cl.Net.Conn.(*conn)
	if pk.FixedHeader.Type != packets.Connack {
		return pk
	}
	if cl.Properties.ProtocolVersion == 5 {
		pk.Properties.MaximumPacketSize = most
	}
	if pk.SessionPresent && c != nil {
		c.inOrder(cl)
	}
	return pk
}

// OnPacketProcessed is called when the library has done with a packet that came,
// an acknowledgement perhaps.
func (h *hook) OnPacketProcessed(cl *mochi.Client, _ packets.Packet, err error) {
	if c, ok := cl.Net.Conn.(*conn); ok {
		c.looked()
	}
	if err == nil {
		goOn(cl)
	}
}

func (h *hook) OnSubscribed(*mochi.Client, packets.Packet, []byte) { h.b.subscribed.Add(1) }
func (h *hook) OnUnsubscribed(*mochi.Client, packets.Packet)       { h.b.subscribed.Add(1) }

// OnSessionEstablished has the connection take in readings from now on.
func (h *hook) OnSessionEstablished(cl *mochi.Client, pk packets.Packet) {
	h.b.subscribed.Add(1)
	if pk.Connect.Clean {
		h.b.forget(cl.ID)
	}
	if c, ok := cl.Net.Conn.(*conn); ok {
		c.letGo(cl)
		c.establish(cl)
	}
}

func (h *hook) OnDisconnect(cl *mochi.Client, err error, expire bool) {
	h.b.subscribed.Add(1)
	if code := (packets.Code{}); errors.As(err, &code) && code.Code > packets.ErrUnspecifiedError.Code {
		h.b.sink.Refused(h.b.sourceOf(cl), againstRules, []byte(code.Reason))
	}
	if c, ok := cl.Net.Conn.(*conn); ok && c.client != nil {
		c.leaves()
	}
	if expire && !cl.IsTakenOver() {
		h.b.forget(cl.ID)
	}
}

func (h *hook) OnClientExpired(cl *mochi.Client) {
	h.b.subscribed.Add(1)
	h.b.forget(cl.ID)
}

// sourceOf names the source of a client's readings. A name counts where it was
// proved by a password: others could be made up, without end.
func (b *Broker) sourceOf(cl *mochi.Client) string {
	if c, ok := cl.Net.Conn.(*conn); ok && c.grant != nil {
		return source + "/" + c.grant.Name()
	}
	if len(b.c.Users) > 0 {
		return source + "/" + string(cl.Properties.Username)
	}
	return source
}
