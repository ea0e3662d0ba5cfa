package mqtt

import (
	"cmp"
	"slices"

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

// outgoing is what a connection has back until its session has begun.
type outgoing struct{ held []packets.Packet }

// goOn sends what waits for a subscriber, as far as it has room: it takes so many
// messages before it has acknowledged one, and the library marks those that have
// to wait by an expiry below 0. The library would send one of these for each
// packet that comes, and forget it: its acknowledgement would make no room for
// another, so that after twice as many as the subscriber takes nothing would be
// sent any more, nor could it be sent again. This comes before, and leaves it
// nothing to do.
func goOn(cl *mochi.Client) {
	takes := int(cl.Properties.Props.ReceiveMaximum)
	if takes == 0 || cl.State.Inflight.Len() == 0 {
		return
	}
	wait := cl.State.Inflight.GetAll(true)
	if len(wait) == 0 {
		return
	}
	sortByStamp(wait)
	room := takes - (cl.State.Inflight.Len() - len(wait))
	for _, pk := range wait[:min(max(room, 0), len(wait))] {
		pk.Expiry = 0
		cl.State.Inflight.Set(pk)
		cl.State.Inflight.DecreaseSendQuota()
		_ = cl.WritePacket(pk) // where it can't be, the connection has ended, and it is sent on the next
	}
}

func sortByStamp(list []packets.Packet) {
	slices.SortStableFunc(list, func(a, b packets.Packet) int { return cmp.Compare(a.Created, b.Created) })
}

// inOrder numbers what a subscriber that comes back is to be sent again, and
// holds back what is more than it takes. The library sorts by the lowest 16 bits
// alone, in which the stamps begin anew now and then. It is called between the
// answer to CONNECT and the sending.
func (o *outgoing) inOrder(cl *mochi.Client) {
	again := cl.State.Inflight.GetAll(false)
	sortByStamp(again)
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
