package mqtt

import (
	"cmp"
	"slices"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// firstStamp is the least of the stamps: above those that [inOrder] gives.
const firstStamp = 1 << 16

// stamp numbers messages in the order in which they go out. It stands where the
// library has the second of a message's arrival, by which it sorts what it sends
// again to a subscriber that comes back: those of one second would come in any
// order, the older of two levels last, perhaps. MQTT wants them in theirs (4.6.0-6
// of MQTT 5, from memory).
func (b *Broker) stamp() int64 { return firstStamp + b.stamps.Add(1) }

// inOrder numbers what a subscriber that comes back is to be sent again. The
// library sorts by the lowest 16 bits alone, in which the stamps begin anew now
// and then. It is called between the answer to CONNECT and the sending.
func inOrder(cl *mochi.Client) {
	again := cl.State.Inflight.GetAll(false)
	slices.SortStableFunc(again, func(a, b packets.Packet) int { return cmp.Compare(a.Created, b.Created) })
	for i, pk := range again {
		pk.Created = int64(i)
		cl.State.Inflight.Set(pk)
	}
}
