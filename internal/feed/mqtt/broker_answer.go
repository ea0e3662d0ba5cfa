package mqtt

import (
	"slices"
	"sync"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// answering has the acknowledgements of a connection: those that wait for the disk,
// and those that are being written.
type answering struct {
	mu       sync.Mutex
	waiting  []waiter // messages handed over, or being handed over, in order
	handed   int      // so many of the first have been
	out      []byte   // to be written
	spare    []byte   // the room of what was written before
	passes   []pass   // for subscribers
	flushing bool
	failed   bool // nothing is acknowledged any more
	pacing   pacing

	usual  int           // size of the last burst
	shadow *mochi.Client // publishes to subscribers in the client's name
}

// waiter is a message that waits for the disk.
type waiter struct {
	id   uint16
	mark uint64 // see [markOf]
}

// outMost is how many bytes of acknowledgements may wait for a client to read
// them.
const outMost = 1 << 20

// await notes what is handed over, and says whether the client waits for it.
func (c *conn) await(list []answer) (stuck bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, a := range list {
		c.waiting = append(c.waiting, waiter{a.id, a.mark})
	}
	return len(list) > 0 && c.pacing.came(c.at, len(list), len(c.waiting), receiveMaximum)
}

// handedOver notes that the sink has taken a burst, if it has.
func (c *conn) handedOver(b *burst) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.failed {
		b.handed = true
		c.handed += len(b.answers)
	}
}

// leaves has remembered what the connection leaves behind.
func (c *conn) leaves() {
	c.mu.Lock()
	defer c.mu.Unlock()
	marks := map[uint16]uint64{}
	for _, w := range c.waiting[:max(0, min(c.handed, len(c.waiting)))] {
		if w.mark != 0 {
			marks[w.id] = w.mark
		}
	}
	c.b.leave(c.client.ID, marks)
}

// marksOf are the marks of answers.
func marksOf(list []answer) map[uint16]uint64 {
	marks := map[uint16]uint64{}
	for _, a := range list {
		if a.mark != 0 {
			marks[a.id] = a.mark
		}
	}
	return marks
}

// waits says whether a message is on its way to the disk.
func (c *conn) waits(id uint16) bool {
	if c.burst != nil && slices.ContainsFunc(c.burst.answers, func(a answer) bool { return a.id == id }) {
		return true
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.ContainsFunc(c.waiting, func(w waiter) bool { return w.id == id })
}

// pending is how many messages the client waits for.
func (c *conn) pending(qos byte) int {
	n := 0
	if qos == 2 {
		n = c.b.session(c.client.ID, false).len()
	}
	if c.burst != nil {
		n += len(c.burst.answers)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return n + len(c.waiting)
}

// busy says whether anything waits for the disk or to be written.
func (c *conn) busy() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return len(c.waiting) > 0 || c.flushing
}

// done acknowledges a burst that is on disk, or ends the connection where it
// can't be kept.
func (b *burst) done(err error) {
	c := b.c
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(b.answers) > 0 {
		c.pacing.acks(time.Now(), len(c.waiting))
	}
	if n := len(b.answers); err != nil && !b.handed {
		c.waiting = slices.Delete(c.waiting, len(c.waiting)-n, len(c.waiting)) // the sink didn't take it
	} else {
		c.waiting = slices.Delete(c.waiting, 0, n)
		c.handed -= n
	}
	select {
	case <-c.gone:
		if err != nil {
			c.b.unkept(c.client.ID, b.answers)
		} else {
			c.b.leave(c.client.ID, marksOf(b.answers)) // nobody will be told
		}
		return
	default:
	}
	if c.failed {
		return
	}
	if err != nil {
		c.failed = true
		go c.disconnect(cantKeep)
		return
	}
	for _, a := range b.answers {
		if a.head == headPubrec && (!c.five || a.code == reasonSuccess) {
			c.b.session(c.client.ID, true).add(a.id)
		}
		c.out = appendAck(c.out, a.head, a.id, c.five, a.code, a.words)
	}
	c.passes = append(c.passes, b.passes...)
	c.flushLocked()
}

// cantKeep is what a client of MQTT 5 is told when its readings can't be kept.
var cantKeep = packets.Code{Code: packets.ErrImplementationSpecificError.Code, Reason: "readings can't be kept at the moment; send them again"}

// release answers PUBREL, by which a client says that it won't send a message of
// quality of service 2 again.
func (c *conn) release(id uint16) {
	code := byte(reasonSuccess)
	if !c.b.session(c.client.ID, false).remove(id) {
		code = reasonUnknownID
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.out = appendAck(c.out, headPubcomp, id, c.five, code, "")
	c.flushLocked()
}

// flushLocked has what waits written, by a goroutine that ends when all is: a
// client that doesn't read keeps nobody else waiting.
func (c *conn) flushLocked() {
	if len(c.out) > outMost {
		c.failed = true
		go c.disconnect(packets.ErrPendingClientWritesExceeded)
		return
	}
	if !c.flushing && !c.failed && len(c.out)+len(c.passes) > 0 {
		c.flushing = true
		go c.flush()
	}
}

func (c *conn) flush() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for len(c.out)+len(c.passes) > 0 && !c.failed {
		out, passes := c.out, c.passes
		c.out, c.passes = c.spare[:0], nil
		c.spare = nil
		c.mu.Unlock()
		var err error
		if len(out) > 0 {
			_, err = c.Write(out) // whole packets, as the library writes
		}
		for _, p := range passes {
			c.passOn(p)
		}
		c.mu.Lock()
		if c.spare = out; cap(out) > firstBuffer {
			c.spare = nil
		}
		c.failed = c.failed || err != nil
	}
	c.flushing = false
}

// passOn gives subscribers a reading.
func (c *conn) passOn(p pass) {
	if c.shadow == nil {
		// In the client's name, as one may not want to hear itself.
		c.shadow = c.b.server.NewClient(nil, mochi.LocalListener, c.client.ID, true)
		c.shadow.Properties.ProtocolVersion = c.client.Properties.ProtocolVersion
	}
	pk := packets.Packet{
		ProtocolVersion: c.client.Properties.ProtocolVersion,
		FixedHeader:     packets.FixedHeader{Type: packets.Publish, Qos: p.qos},
	}
	if pk.PublishDecode(p.body) == nil {
		_ = c.b.server.InjectPacket(c.shadow, pk) // a subscriber that can't follow loses it
	}
}

// disconnect ends the connection. Only MQTT 5 has a way to say why.
func (c *conn) disconnect(why packets.Code) {
	if c.five {
		_ = c.b.server.DisconnectClient(c.client, why)
	}
	c.client.Stop(why)
}
