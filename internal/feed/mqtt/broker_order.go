package mqtt

import (
	"cmp"
	"slices"
	"sync/atomic"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// firstStamp is the least of the stamps: above those that [conn.inOrder] gives.
const firstStamp = 1 << 16

// stamp numbers messages in the order in which they go out. It stands where the
// library has the second of a message's arrival, by which it sorts what it sends
// again to a subscriber that comes back: those of one second would come in any
// order, the older of two levels last, perhaps. MQTT wants them in theirs (4.6.0-6
// of MQTT 5, from memory).
func (b *Broker) stamp() int64 { return firstStamp + b.stamps.Add(1) }

// outgoing is what a connection adds to the library's account of messages on
// their way to a subscriber. The goroutine that reads has it to itself.
//
// A subscriber takes so many messages before it has acknowledged one; more wait
// with the library, marked by an expiry below 0. It sends one of these for each
// packet that comes, and then forgets it: its acknowledgement makes no room for
// another, so that after twice as many as the subscriber takes nothing would be
// sent any more, and it couldn't be sent again. So these are put back.
type outgoing struct {
	sent []packets.Packet // to be put back
	held []packets.Packet // for when the session has begun
}

// waited says whether a packet to be sent is one that had to wait.
func waited(pk packets.Packet) bool {
	return pk.FixedHeader.Type == packets.Publish && pk.FixedHeader.Qos > 0 && pk.Expiry < 0
}

// sending is called for what had to wait.
func (o *outgoing) sending(pk packets.Packet) {
	pk.Expiry = 0
	o.sent = append(o.sent, pk)
}

// putBack is called before the next packet is looked at, and at the end.
func (b *Broker) putBack(cl *mochi.Client, o *outgoing) {
	for _, pk := range o.sent {
		if cl.State.Inflight.Set(pk) {
			atomic.AddInt64(&b.server.Info.Inflight, 1)
		}
	}
	o.sent = o.sent[:0]
}

// inOrder numbers what a subscriber that comes back is to be sent again, and
// holds back what is more than it takes. The library sorts by the lowest 16 bits
// alone, in which the stamps begin anew now and then. It is called between the
// answer to CONNECT and the sending.
func (o *outgoing) inOrder(cl *mochi.Client) {
	again := cl.State.Inflight.GetAll(false)
	slices.SortStableFunc(again, func(a, b packets.Packet) int { return cmp.Compare(a.Created, b.Created) })
	takes := int(cl.Properties.Props.ReceiveMaximum)
	for i, pk := range again {
		pk.Created, pk.Expiry = int64(i), max(pk.Expiry, 0)
		if takes > 0 && i >= takes {
			pk.Expiry = -1
			cl.State.Inflight.Delete(pk.PacketID)
			o.held = append(o.held, pk)
			continue
		}
		cl.State.Inflight.Set(pk)
		cl.State.Inflight.DecreaseSendQuota()
	}
}

// letGo lets go what was held back, for which there will be room.
func (o *outgoing) letGo(cl *mochi.Client) {
	for _, pk := range o.held {
		cl.State.Inflight.Set(pk)
	}
	o.held = nil
}
