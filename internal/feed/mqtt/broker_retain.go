package mqtt

import (
	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// The library writes down where a message is retained with a lock that it doesn't
// take where it looks for those that match a new subscription with wildcards: it
// reads a string that is half written, perhaps, and the program ends. So the one is
// kept from the other here, in what the library calls in between. Both are over at
// once: what is sent is only put into queues.
//
// A will that is to come after a delay is out of reach there. It is retained here,
// after the library has passed it on. ($SYS the library retains by itself, and each
// of its topics anew with the same text.)

// retains is called before the library retains a message.
func (b *Broker) retains() { b.retaining.Lock() }

// OnRetainMessage is called when it has.
func (h *hook) OnRetainMessage(*mochi.Client, packets.Packet, int64) { h.b.retaining.Unlock() }

// OnPacketSent is called before the library looks for messages that a subscriber gets,
// which it does right after its answer to it.
func (h *hook) OnPacketSent(cl *mochi.Client, pk packets.Packet, _ []byte) {
	if c, ok := cl.Net.Conn.(*conn); ok && pk.FixedHeader.Type == packets.Suback {
		h.b.retaining.RLock()
		c.looking = true
	}
}

// looked is called when it has.
func (c *conn) looked() {
	if c != nil && c.looking {
		c.looking = false
		c.b.retaining.RUnlock()
	}
}

// delays notes of a will that comes after a delay whether it is to be retained, and
// says whether it is one.
func (b *Broker) delays(cl *mochi.Client, will mochi.Will) bool {
	b.remember.Lock()
	defer b.remember.Unlock()
	delete(b.delayed, cl.ID)
	if cl.Properties.Will.WillDelayInterval == 0 {
		return false
	}
	if will.Retain {
		if b.delayed == nil {
			b.delayed = map[string]bool{}
		}
		b.delayed[cl.ID] = true
	}
	return true
}

// retainDelayed retains a will that came after a delay, where it is to be.
func (b *Broker) retainDelayed(cl *mochi.Client, pk packets.Packet) {
	b.remember.Lock()
	wanted := b.delayed[cl.ID]
	delete(b.delayed, cl.ID)
	b.remember.Unlock()
	if wanted {
		pk = pk.Copy(false)
		pk.FixedHeader.Retain = true
		b.retaining.Lock()
		defer b.retaining.Unlock()
		b.server.Topics.RetainMessage(pk)
	}
}
