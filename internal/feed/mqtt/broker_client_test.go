package mqtt

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/paho"
	"github.com/mochi-mqtt/server/v2/packets"
)

// TestPaho has a client library publish and subscribe: MQTT 5, with properties
// in its messages, which subscribers get, and none of its own where it says so.
func TestPaho(t *testing.T) {
	sink := new(held)
	b := inside(t, Config{}, sink)
	conn, err := net.Dial("tcp", b.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	got := make(chan *paho.Publish, 10)
	client := paho.NewClient(paho.ClientConfig{Conn: conn, OnPublishReceived: []func(paho.PublishReceived) (bool, error){
		func(p paho.PublishReceived) (bool, error) { got <- p.Packet; return true, nil },
	}})
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	ack, err := client.Connect(ctx, &paho.Connect{ClientID: "p", CleanStart: true, KeepAlive: 30})
	if err != nil {
		t.Fatal(err)
	}
	p := ack.Properties
	if p.ReceiveMaximum == nil || *p.ReceiveMaximum != receiveMaximum || p.MaximumPacketSize == nil || *p.MaximumPacketSize != most || p.TopicAliasMaximum != nil || p.MaximumQoS != nil {
		t.Errorf("%+v", p)
	}
	if _, err := client.Subscribe(ctx, &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{
		{Topic: "gaugewright/fresh/#", QoS: 1}, {Topic: "gaugewright/grey/#", QoS: 1, NoLocal: true},
	}}); err != nil {
		t.Fatal(err)
	}
	expiry := uint32(60)
	for i, topic := range []string{"gaugewright/grey/reading", fresh} {
		r, err := client.Publish(ctx, &paho.Publish{QoS: 1, Topic: topic, Payload: fmt.Append(nil, i), Properties: &paho.PublishProperties{
			ContentType: "application/json", MessageExpiry: &expiry, ResponseTopic: "r", CorrelationData: []byte{0},
			User: paho.UserProperties{{Key: "k", Value: "v"}},
		}})
		if err != nil || r.ReasonCode != 0 {
			t.Fatalf("%+v, %v", r, err)
		}
	}
	if m := <-got; m.Topic != fresh || string(m.Payload) != "1" || m.Properties.ContentType != "application/json" || m.Properties.User.Get("k") != "v" || m.QoS != 1 {
		t.Errorf("%+v", m)
	}
	if r, err := client.Publish(ctx, &paho.Publish{QoS: 1, Topic: fresh, Payload: []byte("NaN")}); err == nil || r.ReasonCode != 0x99 || r.Properties.ReasonString == "" {
		t.Errorf("%+v, %v", r, err)
	}
	if r, err := client.Publish(ctx, &paho.Publish{QoS: 2, Topic: fresh, Payload: []byte("2")}); err != nil {
		t.Errorf("%+v, %v", r, err)
	}
	if r, err := client.Publish(ctx, &paho.Publish{QoS: 2, Topic: "elsewhere", Payload: []byte("2")}); err == nil && r.ReasonCode != 0x87 {
		t.Errorf("%+v, %v", r, err)
	}
	if err := client.Disconnect(&paho.Disconnect{}); err != nil {
		t.Error(err)
	}
	if v := sink.values(); fmt.Sprint(v) != "[0 1 2]" {
		t.Errorf("%v", v)
	}
}

// TestWill has clients die: a will that is a reading is taken in, any other is
// not published.
func TestWill(t *testing.T) {
	sink := new(held)
	b := inside(t, Config{}, sink)
	watcher := dial(t, b, 4, "")
	watcher.send(framed(0x82, subscription(watcher, 1, "#")))
	_ = watcher.packet()
	for _, topic := range []string{"gaugewright/watch", "elsewhere", fresh} {
		w := dialRaw(t, b)
		body := append(lengthed("MQTT"), 4, 2|4|1<<3|1<<5, 0, 60) // clean; a will, quality of service 1, retained
		body = append(body, lengthed("dying")...)
		w.send(framed(0x10, append(append(body, lengthed(topic)...), lengthed(`{"fault":"gone"}`)...)))
		if ack := w.packet(); ack[3] != 0 {
			t.Fatalf("% x", ack)
		}
		w.conn.Close()
		if topic != fresh {
			watcher.silent()
		}
	}
	if p := watcher.packet(); !bytes.Contains(p, []byte(fresh)) || p[0]&1 != 0 {
		t.Errorf("% x", p)
	}
	eventually(t, "the will as a reading", func() bool { return len(sink.values()) == 1 })
	if sink.count(foreignWill) != 2 || sink.kept[0].Said != 2 {
		t.Errorf("%v, %+v", sink.refused, sink.kept[0])
	}
}

// TestKeepAlive: a client that only publishes isn't taken for dead, and one that
// says nothing is.
func TestKeepAlive(t *testing.T) {
	t.Parallel()
	b := inside(t, Config{}, new(held))
	clients := make([]*wire, 2)
	for i := range clients {
		w := dialRaw(t, b)
		w.send(framed(0x10, append(append(lengthed("MQTT"), 4, 2, 0, 1), lengthed("")...))) // a second
		if ack := w.packet(); ack[3] != 0 {
			t.Fatalf("% x", ack)
		}
		clients[i] = w
	}
	begun := time.Now()
	silent := make(chan time.Duration)
	go func() {
		_, _ = clients[1].conn.Read(make([]byte, 1))
		silent <- time.Since(begun)
	}()
	for range 8 {
		clients[0].send(clients[0].message(1, 1, fresh, "1"))
		clients[0].wants(puback(1))
		time.Sleep(300 * time.Millisecond)
	}
	if took := <-silent; took < 1400*time.Millisecond || took > 2200*time.Millisecond {
		t.Errorf("the silent one was sent away after %v; want 1.5 s", took)
	}
	clients[0].send(ping)
	clients[0].wants(pong)
}

// TestGarbage connects with what isn't MQTT, or against its rules.
func TestGarbage(t *testing.T) {
	sink := new(held)
	b := inside(t, Config{}, sink)
	for _, garbage := range [][]byte{[]byte("GET / HTTP/1.1\r\n\r\n"), {0xff, 0xff, 0xff, 0xff, 0xff, 0xff}, framed(0x30, []byte("x")), framed(0x10, []byte("x")), {0x10, 0xff, 0xff, 0xff, 0x7f}} {
		w := dialRaw(t, b)
		w.send(garbage)
		_ = w.ended()
	}
	eventually(t, "all to be counted", func() bool { return sink.count(notLetIn) == 5 })
	n := 0
	for _, version := range []byte{4, 5} {
		for _, bad := range [][]byte{
			{0x36, 2, 0, 1},                                  // quality of service 3
			{0x38, 2, 0, 1},                                  // repeated, and nothing to repeat
			{0x32, 0xff, 0xff, 0xff, 0xff, 1},                // a length of five bytes
			framed(0x32, lengthed(fresh)),                    // no identifier
			framed(0x32, append(lengthed(fresh), 0, 0, '1')), // 0 for one
			framed(0x30, lengthed("gaugewright/+/reading")),
			framed(0x30, append(lengthed("a\x00b"), 0)),
			framed(0x30, append(lengthed("a\xff"), 0)),
			connect(4, "again"),
			{0xf1, 0},
		} {
			w := dial(t, b, version, "")
			w.send(bad)
			_ = w.ended()
			n++
		}
	}
	if len(sink.values()) != 0 {
		t.Errorf("%v", sink.kept)
	}
	eventually(t, "all to be counted", func() bool { return sink.count(againstRules) >= n-4 })
	w := dial(t, b, 5, "")
	w.send(framed(0x32, append(append(lengthed(fresh), 0, 1), 3, 0x23, 0, 1, '1'))) // an alias, which wasn't offered
	if last := w.ended(); len(last) < 3 || last[2] != 0x94 {
		t.Errorf("% x", last)
	}
}

// FuzzPublish holds the reader of PUBLISH packets against the library's: what is
// taken in here says the same there.
func FuzzPublish(f *testing.F) {
	f.Add(byte(0x32), append(append(lengthed(fresh), 0, 1), "118.4"...), false)
	f.Add(byte(0x3a), append(append(lengthed(fresh), 0, 1, 0), "118.4"...), true)
	f.Add(byte(0x30), append(append(lengthed(fresh), 7, 0x01, 1, 0x02, 0, 0, 0, 9), "118.4"...), true)
	f.Add(byte(0x30), append(append(lengthed(fresh), 0x80, 0x00), "1"...), true)
	f.Add(byte(0x30), append(append(lengthed(fresh), 11, 0x26, 0, 1, 'k', 0, 1, 'v', 0x03, 0, 0), "1"...), true)
	f.Fuzz(func(t *testing.T, first byte, body []byte, five bool) {
		first = 0x30 | first&15
		m, ok := readPublish(first, bytes.Clone(body), five)
		if !ok {
			return
		}
		var pk packets.Packet
		pk.ProtocolVersion = 4
		if five {
			pk.ProtocolVersion = 5
		}
		if err := pk.FixedHeader.Decode(first); err != nil {
			t.Fatalf("% x: %v", first, err)
		}
		if err := pk.PublishDecode(bytes.Clone(body)); err != nil {
			t.Fatalf("% x: %v", body, err)
		}
		if code := pk.PublishValidate(0); code != packets.CodeSuccess {
			t.Fatalf("% x: %v", body, code)
		}
		if pk.TopicName != string(m.topic) || pk.PacketID != m.id || pk.FixedHeader.Qos != m.qos || pk.FixedHeader.Dup != m.dup || !bytes.Equal(pk.Payload, m.payload) {
			t.Fatalf("% x: %+v; the library has %+v", body, m, pk)
		}
	})
}

// TestAckBytes holds acknowledgements against the library's reader.
func TestAckBytes(t *testing.T) {
	for _, words := range []string{"", "why", string(bytes.Repeat([]byte("ä"), 200)), "a\x00b\nc\xff"} {
		for _, five := range []bool{false, true} {
			for _, code := range []byte{0, 0x99} {
				b := appendAck([]byte("x"), headPuback, 0x1234, five, code, clean(words))[1:]
				pk := packets.Packet{ProtocolVersion: 4}
				if five {
					pk.ProtocolVersion = 5
				}
				head, rest := packetHeader(b)
				if head != 2 || len(b) != head+rest {
					t.Fatalf("% x", b)
				}
				pk.FixedHeader.Type, pk.FixedHeader.Remaining = packets.Puback, rest
				err := pk.PubackDecode(b[2:])
				if five && code != 0 && (pk.ReasonCode != code || (pk.Properties.ReasonString == "") != (words == "")) {
					err = errors.New("the reason is another")
				}
				if err != nil || pk.PacketID != 0x1234 || !five && len(b) != 4 {
					t.Errorf("% x: identifier %#x, reason %#x %q, %v", b, pk.PacketID, pk.ReasonCode, pk.Properties.ReasonString, err)
				}
			}
		}
	}
}
