package mqtt

import (
	"bytes"
	"fmt"
	"net"
	"testing"
	"time"

	p5 "github.com/eclipse/paho.golang/packets"
	p3 "github.com/eclipse/paho.mqtt.golang/packets"
)

// Packet types, which both versions have in common (2.1.2 of MQTT 5, from memory).
const (
	kindConnack    = p5.CONNACK
	kindPublish    = p5.PUBLISH
	kindPuback     = p5.PUBACK
	kindSuback     = p5.SUBACK
	kindUnsuback   = p5.UNSUBACK
	kindPingresp   = p5.PINGRESP
	kindDisconnect = p5.DISCONNECT
)

// packet is one of either version, as far as the tests look at it.
type packet struct {
	kind         byte
	dup, retain  bool
	qos          byte
	id           uint16
	topic        string
	payload      string
	code         byte // CONNACK, PUBACK, SUBACK, UNSUBACK, DISCONNECT
	present      bool // CONNACK: there is a session
	alias        uint16
	aliasMost    uint16 // CONNACK
	packetMost   uint32 // CONNACK
	serverAlive  uint16 // CONNACK
	noShared     bool   // CONNACK
	reasonString string
}

// raw is a connection whose every packet a test sends itself, made of the packets
// of Eclipse's libraries.
type raw struct {
	t    testing.TB
	v    string
	conn net.Conn
	last uint16 // packet identifier
}

// hello is what a CONNECT says.
type hello struct {
	id        string
	clean     bool
	keepAlive uint16
	expiry    uint32 // MQTT 5
	will      string // topic
	says      string // the will's payload
	most      uint32 // MQTT 5: largest packet that it takes
	takes     uint16 // MQTT 5: how many messages before it has acknowledged one; 0: it doesn't say
}

// greet connects and gives the answer.
func greet(t testing.TB, port, v string, h hello) (*raw, packet) {
	t.Helper()
	conn, err := net.Dial("tcp", "127.0.0.1:"+port)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	r := &raw{t: t, v: v, conn: conn}
	r.hello(h)
	return r, r.want(kindConnack)
}

func (r *raw) hello(h hello) {
	r.t.Helper()
	if r.v == "5" {
		p := p5.NewControlPacket(p5.CONNECT)
		c := p.Content.(*p5.Connect)
		c.ClientID, c.CleanStart, c.KeepAlive = h.id, h.clean, h.keepAlive
		c.Properties.SessionExpiryInterval = &h.expiry
		if h.most > 0 {
			c.Properties.MaximumPacketSize = &h.most
		}
		if h.takes > 0 {
			c.Properties.ReceiveMaximum = &h.takes
		}
		if h.will != "" {
			c.WillFlag, c.WillQOS, c.WillTopic, c.WillMessage, c.WillProperties = true, 1, h.will, []byte(h.says), &p5.Properties{}
		}
		r.sent(p.WriteTo(r.conn))
		return
	}
	p := p3.NewControlPacket(p3.Connect).(*p3.ConnectPacket)
	p.ProtocolName, p.ProtocolVersion = "MQTT", 4
	p.ClientIdentifier, p.CleanSession, p.Keepalive = h.id, h.clean, h.keepAlive
	if h.will != "" {
		p.WillFlag, p.WillQos, p.WillTopic, p.WillMessage = true, 1, h.will, []byte(h.says)
	}
	r.sent(0, p.Write(r.conn))
}

func (r *raw) sent(_ int64, err error) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
}

// send sends a PUBLISH or a PUBACK as it is.
func (r *raw) send(s packet) {
	r.t.Helper()
	switch {
	case s.kind == kindPuback && r.v == "5":
		p := p5.NewControlPacket(p5.PUBACK)
		p.Content.(*p5.Puback).PacketID = s.id
		r.sent(p.WriteTo(r.conn))
	case s.kind == kindPuback:
		p := p3.NewControlPacket(p3.Puback).(*p3.PubackPacket)
		p.MessageID = s.id
		r.sent(0, p.Write(r.conn))
	case r.v == "5":
		p := p5.NewControlPacket(p5.PUBLISH)
		c := p.Content.(*p5.Publish)
		c.Topic, c.Payload, c.PacketID, c.QoS, c.Retain, c.Duplicate = s.topic, []byte(s.payload), s.id, s.qos, s.retain, s.dup
		if s.alias > 0 {
			c.Properties.TopicAlias = &s.alias
		}
		r.sent(p.WriteTo(r.conn))
	default:
		p := p3.NewControlPacket(p3.Publish).(*p3.PublishPacket)
		p.TopicName, p.Payload, p.MessageID, p.Qos, p.Retain, p.Dup = s.topic, []byte(s.payload), s.id, s.qos, s.retain, s.dup
		r.sent(0, p.Write(r.conn))
	}
}

// subscribe asks for a filter with QoS 1 and gives the answer.
func (r *raw) subscribe(filter string, noLocal bool) {
	r.t.Helper()
	r.last++
	if r.v == "5" {
		p := p5.NewControlPacket(p5.SUBSCRIBE)
		c := p.Content.(*p5.Subscribe)
		c.PacketID, c.Subscriptions = r.last, []p5.SubOptions{{Topic: filter, QoS: 1, NoLocal: noLocal}}
		r.sent(p.WriteTo(r.conn))
		return
	}
	p := p3.NewControlPacket(p3.Subscribe).(*p3.SubscribePacket)
	p.MessageID, p.Topics, p.Qoss = r.last, []string{filter}, []byte{1}
	r.sent(0, p.Write(r.conn))
}

func (r *raw) unsubscribe(filter string) {
	r.t.Helper()
	r.last++
	p := p5.NewControlPacket(p5.UNSUBSCRIBE)
	c := p.Content.(*p5.Unsubscribe)
	c.PacketID, c.Topics = r.last, []string{filter}
	r.sent(p.WriteTo(r.conn))
}

// close hangs up without a word.
func (r *raw) close() { r.conn.Close() }

// bye takes leave in good order.
func (r *raw) bye() {
	r.t.Helper()
	if r.v == "5" {
		r.sent(p5.NewControlPacket(p5.DISCONNECT).WriteTo(r.conn))
	} else {
		r.sent(0, p3.NewControlPacket(p3.Disconnect).Write(r.conn))
	}
	r.conn.Close()
}

// read gives the next packet; an error says that there was none in time, or that
// the broker hung up.
func (r *raw) read(within time.Duration) (packet, error) {
	if err := r.conn.SetReadDeadline(time.Now().Add(within)); err != nil {
		return packet{}, err
	}
	if r.v == "5" {
		p, err := p5.ReadPacket(r.conn)
		if err != nil {
			return packet{}, err
		}
		return fromFive(p), nil
	}
	p, err := p3.ReadPacket(r.conn)
	if err != nil {
		return packet{}, err
	}
	return fromThree(p), nil
}

// want reads the next packet, which has to be of a kind.
func (r *raw) want(kind byte) packet {
	r.t.Helper()
	p, err := r.read(soon)
	if err != nil || p.kind != kind {
		r.t.Fatalf("MQTT %s: got %+v, %v; expected packet type %d", r.v, p, err, kind)
	}
	return p
}

// silence says that nothing comes for a while.
func (r *raw) silence(within time.Duration, why string) {
	r.t.Helper()
	p, err := r.read(within)
	if e, ok := err.(net.Error); err == nil || !ok || !e.Timeout() {
		r.t.Fatalf("MQTT %s: got %+v, %v; expected nothing: %s", r.v, p, err, why)
	}
}

// ended waits until the broker has hung up, and gives the reason that MQTT 5
// tells, 0 for none.
func (r *raw) ended() byte {
	r.t.Helper()
	var code byte
	for end := time.Now().Add(soon); ; {
		p, err := r.read(time.Until(end))
		if e, ok := err.(net.Error); ok && e.Timeout() {
			r.t.Fatalf("MQTT %s: the broker didn't hang up", r.v)
		}
		if err != nil {
			return code
		}
		if p.kind == kindDisconnect {
			code = p.code
		}
	}
}

func fromFive(p *p5.ControlPacket) packet {
	out := packet{kind: p.Type}
	var props *p5.Properties
	switch c := p.Content.(type) {
	case *p5.Connack:
		out.code, out.present, props = c.ReasonCode, c.SessionPresent, c.Properties
	case *p5.Publish:
		out.dup, out.retain, out.qos, out.id, out.topic, out.payload = c.Duplicate, c.Retain, c.QoS, c.PacketID, c.Topic, string(c.Payload)
		props = c.Properties
	case *p5.Puback:
		out.id, out.code, props = c.PacketID, c.ReasonCode, c.Properties
	case *p5.Suback:
		out.id, out.code, props = c.PacketID, c.Reasons[0], c.Properties
	case *p5.Unsuback:
		out.id, out.code, props = c.PacketID, c.Reasons[0], c.Properties
	case *p5.Disconnect:
		out.code, props = c.ReasonCode, c.Properties
	}
	if props == nil {
		return out
	}
	out.reasonString = props.ReasonString
	for _, v := range []struct {
		to   *uint16
		from *uint16
	}{{&out.alias, props.TopicAlias}, {&out.aliasMost, props.TopicAliasMaximum}, {&out.serverAlive, props.ServerKeepAlive}} {
		if v.from != nil {
			*v.to = *v.from
		}
	}
	if props.MaximumPacketSize != nil {
		out.packetMost = *props.MaximumPacketSize
	}
	out.noShared = props.SharedSubAvailable != nil && *props.SharedSubAvailable == 0
	return out
}

func fromThree(p p3.ControlPacket) packet {
	switch c := p.(type) {
	case *p3.ConnackPacket:
		return packet{kind: kindConnack, code: c.ReturnCode, present: c.SessionPresent}
	case *p3.PublishPacket:
		return packet{kind: kindPublish, dup: c.Dup, retain: c.Retain, qos: c.Qos, id: c.MessageID, topic: c.TopicName, payload: string(c.Payload)}
	case *p3.PubackPacket:
		return packet{kind: kindPuback, id: c.MessageID}
	case *p3.SubackPacket:
		return packet{kind: kindSuback, id: c.MessageID, code: c.ReturnCodes[0]}
	case *p3.PingrespPacket:
		return packet{kind: kindPingresp}
	}
	return packet{}
}

// flood sends a PUBLISH with QoS 1 whose payload is so long, and a reading after
// it. It tells whether the broker hung up; otherwise it has acknowledged the
// reading.
func (r *raw) flood(topic string, length int) bool {
	r.t.Helper()
	n := 2 + len(topic) + 2 + length
	if r.v == "5" {
		n++ // the length of no properties
	}
	b := []byte{0x32}
	for ; n >= 128; n /= 128 {
		b = append(b, byte(n%128)|128)
	}
	b = append(b, byte(n), byte(len(topic)>>8), byte(len(topic)))
	b = append(b, topic...)
	b = append(b, 0, 1)
	if r.v == "5" {
		b = append(b, 0)
	}
	if _, err := r.conn.Write(append(b, bytes.Repeat([]byte("9"), length)...)); err != nil {
		return true
	}
	after := packet{kind: kindPublish, qos: 1, id: 2, topic: topic, payload: "118.4"}
	if r.v == "5" {
		p := p5.NewControlPacket(p5.PUBLISH)
		c := p.Content.(*p5.Publish)
		c.Topic, c.Payload, c.PacketID, c.QoS = after.topic, []byte(after.payload), after.id, 1
		if _, err := p.WriteTo(r.conn); err != nil {
			return true
		}
	} else {
		r.send(after)
	}
	for end := time.Now().Add(soon); ; {
		p, err := r.read(time.Until(end))
		if e, ok := err.(net.Error); ok && e.Timeout() {
			r.t.Fatalf("MQTT %s: neither hung up nor acknowledged what came after", r.v)
		}
		if err != nil || p.kind == kindDisconnect {
			return true
		}
		if p.kind == kindPuback && p.id == 2 {
			return false
		}
	}
}

// several joins what tests say of many packets.
func several(list []packet) string {
	var b bytes.Buffer
	for _, p := range list {
		fmt.Fprintf(&b, "%d %s=%s retain %v dup %v; ", p.kind, p.topic, p.payload, p.retain, p.dup)
	}
	return b.String()
}
