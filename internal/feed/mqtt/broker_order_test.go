package mqtt

import (
	"testing"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// The library sorts by 16 bits, and the stamps of what waits may go past them.
func TestInOrder(t *testing.T) {
	b := &Broker{}
	b.stamps.Store(65500)
	cl := &mochi.Client{}
	cl.State.Inflight = mochi.NewInflights()
	const many = 100
	var want []uint16
	for n := range many {
		id := uint16(n*37%many + 1)
		want = append(want, id)
		cl.State.Inflight.Set(packets.Packet{PacketID: id, Created: b.stamp()})
	}
	new(outgoing).inOrder(cl)
	for i, pk := range cl.State.Inflight.GetAll(false) {
		if pk.PacketID != want[i] {
			t.Fatalf("message %d has the identifier %d, expected %d", i, pk.PacketID, want[i])
		}
	}
	// Whatever comes later stands behind.
	cl.State.Inflight.Set(packets.Packet{PacketID: 999, Created: b.stamp()})
	new(outgoing).inOrder(cl)
	if all := cl.State.Inflight.GetAll(false); all[many].PacketID != 999 {
		t.Errorf("the last is %d, expected 999", all[many].PacketID)
	}
}
