package mqtt

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"net"
	"sync"
	"sync/atomic"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"

	"gaugewright/internal/feed"
)

// conn is a client's connection as the library sees it. The library reads from it
// one packet at a time, and never sees the PUBLISH packets (and the PUBREL
// packets that belong to them): these are taken in here, as many as came at once.
// Everything else, and what the library is to find fault with, it gets as it
// came, in order.
type conn struct {
	net.Conn
	b     *Broker
	gone  chan struct{} // closed with the connection
	once  sync.Once
	free  bool         // it came to where anyone is let in
	grant Grant        // what it may; nil: everything. Set before told is
	told  atomic.Bool  // it is one that was let in, or its end has been counted
	wrote atomic.Int64 // when the deadline for writing was set last, ns since 1970

	// The goroutine that reads has these to itself.
	in      []byte // from r on: what has been read and not yet taken
	r       int
	pass    int  // bytes of the packet that the library is being given
	skip    int  // bytes of a packet that is being left out
	raw     bool // the library gets all that comes
	client  *mochi.Client
	source  string
	five    bool // MQTT 5
	words   bool // it wants words with reasons
	burst   *burst
	at      time.Time // when the last bytes came
	topic   []byte    // the last topic, and what is known of it
	tank    string
	wanted  bool   // somebody has subscribed to it
	version uint64 // of subscriptions, when that was asked

	keep    time.Duration // how long it may be silent; 0: for ever
	touched time.Time     // when the deadline was set last
	alive   bool          // a packet came since
	looking bool          // the library looks for what is retained

	outgoing
	answering
}

const (
	// firstBuffer is how much is read at once; it grows for a large packet, and
	// is made small again after it.
	firstBuffer = 4096
	burstMost   = 256 // messages
)

func newConn(c net.Conn, b *Broker) *conn {
	own := &conn{Conn: c, b: b, gone: make(chan struct{}), in: make([]byte, 0, firstBuffer)}
	_ = c.SetReadDeadline(time.Now().Add(introduction))
	b.mu.Lock()
	b.conns[own] = struct{}{}
	b.mu.Unlock()
	return own
}

// establish is called between the answer to CONNECT and the next packet.
func (c *conn) establish(cl *mochi.Client) {
	c.five = cl.Properties.ProtocolVersion == 5
	c.client, c.source = cl, c.b.sourceOf(cl)
	c.told.Store(true) // from here on others may look at what was set before
	p := cl.Properties.Props
	// One and a half times what the client promises (3.1.2.10).
	c.keep = time.Duration(cl.State.Keepalive) * 3 * time.Second / 2
	c.words = c.five && (!p.RequestProblemInfoFlag || p.RequestProblemInfo != 0) && (p.MaximumPacketSize == 0 || p.MaximumPacketSize > wordsMost+16)
}

// Read gives the library the next packet, or a part of it.
func (c *conn) Read(p []byte) (int, error) {
	for {
		have := c.in[c.r:]
		switch {
		case len(have) == 0:
		case c.skip > 0:
			n := min(c.skip, len(have))
			c.skip -= n
			c.r += n
			continue
		case c.pass > 0:
			n := copy(p, have[:min(c.pass, len(have))])
			c.pass -= n
			c.r += n
			return n, nil
		case c.raw:
			n := copy(p, have)
			c.r += n
			return n, nil
		default:
			taken, err := c.next(have)
			if err != nil {
				return 0, err
			}
			if taken {
				continue
			}
		}
		c.submit()
		if err := c.fill(); err != nil {
			return 0, err
		}
	}
}

// next looks at the next packet. It has done with it, or begun with it, where it
// gives true; otherwise more has to be read.
func (c *conn) next(have []byte) (taken bool, err error) {
	head, rest := packetHeader(have)
	if head < 0 {
		c.raw = true
		return true, nil
	}
	kind := have[0] >> 4
	mine := c.client != nil && (kind == typePublish || kind == typePubrel)
	switch {
	case head == 0:
		return false, nil
	case mine && head+rest > most:
		return c.tooLong(have, head, rest)
	case mine && len(have) < head+rest:
		return false, nil
	case mine:
		ok, err := c.mine(have[0], have[head:head+rest])
		if err != nil {
			return false, err
		}
		if ok {
			c.r += head + rest
			c.alive = true
			return true, nil
		}
	}
	c.submit() // what came before it comes before it
	c.pass = head + rest
	return true, nil
}

// fill reads more, and waits for it.
func (c *conn) fill() error {
	if c.r > 0 {
		c.in = c.in[:copy(c.in, c.in[c.r:])]
		c.r = 0
		if cap(c.in) > firstBuffer && len(c.in) == 0 {
			c.in = make([]byte, 0, firstBuffer)
		}
	}
	if len(c.in) == cap(c.in) {
		// Twice as much: a packet of the largest size is what has been there.
		c.in = append(make([]byte, 0, min(2*cap(c.in), most+8)), c.in...)
	}
	c.touch()
	n, err := c.Conn.Read(c.in[len(c.in):cap(c.in)])
	c.in = c.in[:len(c.in)+n]
	c.at = time.Now()
	if n > 0 {
		return nil
	}
	if err != nil && c.b.stopping.Load() {
		<-c.gone // Stop closes it once all is acknowledged
		return io.EOF
	}
	return err
}

// tooLong deals with a packet longer than any that is taken in. MQTT 5 has been
// told the limit. Before it, a client would only send the packet again: it is
// left out, and acknowledged.
func (c *conn) tooLong(have []byte, head, rest int) (taken bool, err error) {
	body := have[head:]
	if have[0]>>4 != typePublish || c.five {
		c.submit()
		c.b.sink.Refused(c.source, feed.TooLong, body)
		_ = c.b.server.DisconnectClient(c.client, packets.ErrPacketTooLarge)
		return false, errTooLong
	}
	// As much of it as has the topic and the packet's identifier.
	if len(body) < 2 || len(body) < 2+int(binary.BigEndian.Uint16(body))+2 {
		return false, nil
	}
	m, ok := readPublish(have[0], body, false)
	if !ok {
		return false, packets.ErrMalformedPacket
	}
	if err := c.refuse(m, reasonPayload, feed.TooLong, m.payload, ""); err != nil {
		return false, err
	}
	c.r += head
	c.skip = rest
	c.alive = true
	return true, nil
}

var errTooLong = errors.New("a packet longer than any that is taken in")

// about finds out what is known of a topic: the tank it has readings of, and
// whether somebody has subscribed to it. Clients keep to one topic, mostly.
func (c *conn) about(topic []byte) (tank string, ok bool) {
	version := c.b.subscribed.Load()
	if !bytes.Equal(topic, c.topic) || c.topic == nil {
		c.topic = append(c.topic[:0], topic...)
		c.tank = ""
		if tank, ok := readingTank(c.b.c.Root, string(topic)); ok {
			c.tank = tank
		}
		c.version = version - 1
	}
	if c.version != version {
		c.version = version
		to := c.b.server.Topics.Subscribers(string(topic))
		c.wanted = c.tank != "" && len(to.Subscriptions)+len(to.Shared) > 0
	}
	return c.tank, c.tank != ""
}
