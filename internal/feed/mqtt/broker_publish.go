package mqtt

import (
	"encoding/binary"
	"errors"
	"time"

	"github.com/mochi-mqtt/server/v2/packets"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// burst is what came from a client at once: its readings, how its messages are
// to be acknowledged, and what subscribers are to be given.
type burst struct {
	c        *conn
	handed   bool // the sink has it
	readings []watch.Reading
	answers  []answer
	passes   []pass
}

// answer is an acknowledgement to come.
type answer struct {
	head  byte
	code  byte
	id    uint16
	mark  uint64 // see [markOf]; 0: none
	words string
}

// pass is a PUBLISH packet for subscribers.
type pass struct {
	qos  byte
	body []byte
}

// Reasons of the broker's own for which a message is no reading.
const (
	foreignTopic = "a topic that isn't for readings"
)

// mine takes a PUBLISH or PUBREL packet. It isn't ok where the library is to find
// fault with it; an error ends the connection.
func (c *conn) mine(first byte, body []byte) (ok bool, err error) {
	if first>>4 == typePubrel {
		if first&15 != 2 || len(body) < 2 {
			return false, nil
		}
		c.submit()
		c.release(binary.BigEndian.Uint16(body))
		return true, nil
	}
	m, ok := readPublish(first, body, c.five)
	if !ok {
		return false, nil
	}
	if m.qos > 0 {
		if m.dup && c.waits(m.id) {
			return true, nil // the first one's acknowledgement is still to come, and does for both
		}
		if m.qos == 2 && c.b.session(c.client.ID, false).has(m.id) {
			return true, c.answer(m, reasonSuccess, "") // it was kept, and that was said before
		}
	}
	tank, ok := c.about(m.topic)
	if !ok && c.b.own(m.topic, m.payload) {
		return false, nil // the library passes it on
	}
	if !ok {
		return true, c.refuse(m, reasonNotAuthorized, foreignTopic, m.topic, "readings are published at "+c.b.prefix+"TANK/reading, a client's own state at "+c.b.prefix+"state/NAME, and nothing else is published here")
	}
	if !c.mayPublish(tank) {
		return true, c.refuse(m, reasonNotAuthorized, noRight, m.topic, noRight)
	}
	if !c.b.sink.Knows(tank) {
		return true, c.refuse(m, reasonTopicName, feed.NoSuchTank, m.topic, feed.NoSuchTank)
	}
	b := c.open()
	n := len(b.readings)
	readings, why, err := c.b.decode(b.readings, tank, c.source, m.payload, c.at)
	if err != nil {
		return true, c.refuse(m, reasonPayload, why, m.payload, err.Error())
	}
	if m.qos > 0 {
		m.mark = markOf(m.topic, m.payload, readings[n:])
		if c.b.sentBefore(c.client.ID, m) {
			// Its readings wait among those before it, or are kept; and it is
			// acknowledged behind them.
			clear(readings[n:])
			return true, c.answer(m, reasonSuccess, "")
		}
	}
	b.readings = readings
	if c.wanted {
		b.passes = append(b.passes, pass{m.qos, append([]byte(nil), body...)})
	}
	return true, c.answer(m, reasonSuccess, "")
}

// decode reads a payload.
func (b *Broker) decode(into []watch.Reading, tank, source string, payload []byte, at time.Time) (out []watch.Reading, why string, err error) {
	if b.c.Now != nil {
		at = b.c.Now()
	}
	out, err = feed.Decode(into, payload, feed.Defaults{Tank: tank, Source: source, Signal: b.c.Signal(tank), Arrived: at,
		Doubted: func(why string) { b.sink.Refused(source, why, payload) }})
	if no := (*feed.Refusal)(nil); errors.As(err, &no) {
		why = no.Why()
	}
	return out, why, err
}

// refuse counts a message that is no reading, and has it acknowledged: before
// MQTT 5 as if it were one, as the client would only send it again.
func (c *conn) refuse(m incoming, code byte, why string, sample []byte, words string) error {
	c.b.sink.Refused(c.source, why, sample)
	if !c.words {
		words = ""
	}
	return c.answer(m, code, clean(words))
}

// answer puts an acknowledgement in its place behind those before it.
func (c *conn) answer(m incoming, code byte, words string) error {
	b := c.open()
	if m.qos > 0 {
		if c.five && c.pending(m.qos) >= receiveMaximum {
			_ = c.b.server.DisconnectClient(c.client, packets.ErrReceiveMaximum)
			return packets.ErrReceiveMaximum
		}
		head := byte(headPuback)
		if m.qos == 2 {
			head = headPubrec
		}
		b.answers = append(b.answers, answer{head, code, m.id, m.mark, words})
	}
	if len(b.answers) >= burstMost || len(b.readings) >= burstMost {
		c.submit()
	}
	return nil
}

func (c *conn) open() *burst {
	if c.burst == nil {
		c.burst = &burst{c: c, readings: make([]watch.Reading, 0, c.usual), answers: make([]answer, 0, c.usual)}
	}
	return c.burst
}

// submit hands the burst over. It may wait, and the client with it, while too
// much of all clients' is waiting.
func (c *conn) submit() {
	b := c.burst
	if b == nil {
		return
	}
	c.burst = nil
	if len(b.readings)+len(b.answers) == 0 {
		return
	}
	c.usual = min(len(b.readings)+1, burstMost)
	stuck := c.await(b.answers)
	c.b.sink.Later(b.readings, b.done)
	c.handedOver(b)
	if stuck {
		feed.Hurry(c.b.sink)
	}
}
