package mqtt

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// The points of MQTT that we rely on, with peers that nobody here wrote, against
// the broker inside and, through [Outside], against mosquitto. The clauses are
// those of the OASIS standards MQTT 5.0 and 3.1.1; their numbers are from memory.

// house is a broker with a watch on it.
type house struct {
	port   string
	sink   *ledger
	levels Publisher
	inside bool
}

// houses are the brokers; each opens one that ends with the test.
var houses = []struct {
	name string
	open func(t *testing.T) *house
}{
	{"mosquitto", func(t *testing.T) *house {
		m := newMosquitto(t)
		r := run(t, OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port}, newLedger(t))
		r.up(t, 1)
		eventually(t, "the watch says that it runs", func() bool { return r.latest.idle() })
		return &house{port: m.port, sink: r.sink, levels: r}
	}},
}

// everywhere runs a test against each broker with each version.
func everywhere(t *testing.T, test func(t *testing.T, h *house, v string)) {
	for _, h := range houses {
		for _, v := range versions {
			t.Run(h.name+" "+v.protocol, func(t *testing.T) {
				t.Parallel()
				test(t, h.open(t), v.v)
			})
		}
	}
}

// idle says whether nothing waits.
func (l *latest) idle() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.order) == 0
}

func (h *house) publish(t *testing.T, topic, payload string) {
	t.Helper()
	if err := h.levels.Publish(topic, []byte(payload), true); err != nil {
		t.Fatal(err)
	}
}

// retain is publish, and waits until the broker has it.
func (h *house) retain(t *testing.T, topic, payload string) {
	t.Helper()
	s := subscribe(t, h.port, "5", "-t", "gaugewright/"+topic)
	h.publish(t, topic, payload)
	eventually(t, "a level is retained", func() bool { return len(s.got()) > 0 })
}

const (
	readings = "gaugewright/fresh/reading"
	levels   = "gaugewright/fresh/level"
)

// Retain: live messages have the flag 0 (3.3.1-12 of MQTT 5, 3.3.1-9 of 3.1.1);
// those who subscribe later get the last with the flag 1 (3.3.1-8; 3.3.1-6);
// an empty payload takes it back (3.3.1-6 and -7; 3.3.1-10 and -11).
func TestConformRetain(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		live := subscribe(t, h.port, v, "-t", levels)
		h.publish(t, "fresh/level", "first")
		h.publish(t, "fresh/level", "second")
		live.waitFor(t, "0 "+levels+" second")
		late := subscribe(t, h.port, v, "-t", levels)
		late.waitFor(t, "1 "+levels+" second")
		h.publish(t, "fresh/level", "")
		live.waitFor(t, "0 "+levels+" ")
		r, _ := greet(t, h.port, v, hello{id: "later", clean: true})
		r.subscribe(levels, false)
		r.want(kindSuback)
		r.silence(100*time.Millisecond, "it was taken back")
	})
}

// QoS 1 towards a subscriber: what it didn't acknowledge it gets again when it
// comes back to its session, with DUP and the same identifier (4.4.0-1; 3.3.1-1;
// 2.2.1 for the identifier), in the order of its publication with what it missed
// (4.6.0-6), and not once it has acknowledged it.
func TestConformSubscriberGetsAgain(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		who := hello{id: "display", expiry: 60}
		r, answer := greet(t, h.port, v, who)
		if answer.present || answer.code != 0 {
			t.Errorf("CONNACK to somebody new: %+v", answer)
		}
		r.subscribe(levels, false)
		if got := r.want(kindSuback); got.code != 1 {
			t.Errorf("SUBACK %+v, expected QoS 1 to be granted", got)
		}
		r.silence(20*time.Millisecond, "nothing is retained")
		h.publish(t, "fresh/level", "60")
		first := r.want(kindPublish)
		if first.dup || first.qos != 1 || first.payload != "60" {
			t.Errorf("first: %+v", first)
		}
		r.close()
		// While it is away one after another is published, each seen by somebody else.
		live := subscribe(t, h.port, v, "-t", levels)
		for n := 61; n <= 70; n++ {
			h.publish(t, "fresh/level", fmt.Sprint(n))
			live.waitFor(t, fmt.Sprintf("0 %s %d", levels, n))
		}

		r, answer = greet(t, h.port, v, who)
		if !answer.present {
			t.Fatalf("CONNACK to somebody known: %+v", answer)
		}
		again := r.want(kindPublish)
		if !again.dup || again.id != first.id || again.payload != "60" {
			t.Errorf("again: %+v, after %+v", again, first)
		}
		r.send(packet{kind: kindPuback, id: again.id})
		for n := 61; n <= 70; n++ {
			// That it bears DUP too, with the broker inside, is the library's way: it takes
			// what it couldn't send for sent. A subscriber can't tell.
			missed := r.want(kindPublish)
			if missed.dup && !h.inside || missed.payload != fmt.Sprint(n) {
				t.Errorf("missed: %+v, expected %d", missed, n)
			}
			r.send(packet{kind: kindPuback, id: missed.id})
		}
		// The broker has read it all once it has answered.
		r.subscribe("gaugewright/none/level", false)
		r.want(kindSuback)
		r.close()
		r, _ = greet(t, h.port, v, who)
		r.silence(100*time.Millisecond, "all were acknowledged")
	})
}

// QoS 1 from a controller that doesn't know whether its reading came: it sends it
// again with DUP, and it counts once, by time and value (4.3.2-2 and -3; 4.4.0-1).
func TestConformControllerSendsAgain(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		who := hello{id: "controller", expiry: 60}
		at := time.Now().Add(-time.Minute).Unix()
		reading := packet{kind: kindPublish, qos: 1, id: 7, topic: readings, payload: fmt.Sprintf(`{"ohm":118.4,"time":%d}`, at)}
		r, _ := greet(t, h.port, v, who)
		r.send(reading)
		if got := r.want(kindPuback); got.id != 7 {
			t.Errorf("PUBACK %+v", got)
		}
		r.close()
		for range 2 {
			r, _ = greet(t, h.port, v, who)
			reading.dup = true
			r.send(reading)
			r.want(kindPuback)
			r.close()
		}
		r, _ = greet(t, h.port, v, who)
		r.send(packet{kind: kindPublish, qos: 1, id: 8, topic: readings, payload: fmt.Sprintf(`{"ohm":119,"time":%d}`, at+5)})
		r.want(kindPuback)
		eventually(t, "four are handed over", func() bool { return h.sink.attempts() == 4 })
		if got := h.sink.values(); !slices.Equal(got, []float64{118.4, 119}) {
			t.Errorf("got %v, expected each once", got)
		}
	})
}

// The will of a client that is killed is published (3.1.2-8; 3.1.2.5): a
// controller's can be a reading that says that it is broken. That of one that
// takes leave isn't published (3.14.4-3, in both).
func TestConformWill(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		live := subscribe(t, h.port, v, "-t", readings)
		left, _ := greet(t, h.port, v, hello{id: "leaves", clean: true, will: readings, says: `{"fault":"left"}`})
		left.bye()
		killed := subscribe(t, h.port, v, "-t", "gaugewright/x/level", "--will-topic", readings, "--will-payload", `{"fault":"lost"}`, "--will-qos", "1")
		killed.kill()
		live.waitFor(t, "0 "+readings+` {"fault":"lost"}`)
		eventually(t, "the watch has it", func() bool { return h.sink.attempts() == 1 })
		if got := live.got(); len(got) != 1 || h.sink.first().Said != watch.Broken {
			t.Errorf("got %q and %+v, expected the killed one's alone", got, h.sink.first())
		}
	})
}

// Who says nothing for one and a half times the keep alive is taken for gone, and
// the will is published (3.1.2-22 of MQTT 5; 3.1.2-24 of 3.1.1). All wait at once.
func TestConformKeepAlive(t *testing.T) {
	t.Parallel()
	type end struct {
		name string
		took time.Duration
		code byte
	}
	ends := make(chan end)
	lives := make(map[string]*subscriber)
	for _, house := range houses {
		h := house.open(t)
		for _, v := range versions {
			name := house.name + " " + v.protocol
			lives[name] = subscribe(t, h.port, v.v, "-t", readings)
			begun := time.Now()
			r, _ := greet(t, h.port, v.v, hello{id: "mute" + v.v, clean: true, keepAlive: 2, will: readings, says: fmt.Sprintf(`{"fault":%q}`, name)})
			go func() {
				e := end{name: name}
				for p, err := r.read(2 * soon); err == nil; p, err = r.read(2 * soon) {
					e.code = p.code
				}
				e.took = time.Since(begun)
				ends <- e
			}()
		}
	}
	for range lives {
		e := <-ends
		// 3 s; the standard sets no upper limit, and mosquitto looks every few seconds.
		if most := 9 * time.Second; e.took < 2900*time.Millisecond || e.took > most {
			t.Errorf("%s: it hung up after %v, expected 3 s to %v", e.name, e.took, most)
		}
		if e.code != 0 && e.code != 0x8D {
			t.Errorf("%s: reason 0x%02X, expected 0x8D, Keep Alive timeout, or none", e.name, e.code)
		}
		lives[e.name].waitFor(t, fmt.Sprintf(`0 %s {"fault":%q}`, readings, e.name))
	}
}

// Two with one client identifier: the first is thrown out (3.1.4-3; 3.1.4-2), in
// MQTT 5 with reason 0x8E as a rule, and its will is published; readings of the
// second count.
func TestConformTakeover(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		first, _ := greet(t, h.port, v, hello{id: "twin", expiry: 60})
		second, answer := greet(t, h.port, v, hello{id: "twin", expiry: 60})
		if !answer.present {
			t.Errorf("the second got no session: %+v", answer)
		}
		// mosquitto 2.0.11 hangs up without a word.
		if code := first.ended(); v == "5" && code != 0x8E && (h.inside || code != 0) {
			t.Errorf("reason 0x%02X, expected 0x8E, Session taken over", code)
		}
		second.send(packet{kind: kindPublish, qos: 1, id: 1, topic: readings, payload: "118.4"})
		second.want(kindPuback)
		eventually(t, "the second's reading comes", func() bool { return len(h.sink.values()) == 1 })
	})
}

// Garbage and far too much end one connection and disturb nobody else: 10 MB
// (3.1.2-24 and 4.13 of MQTT 5: reason 0x95, packet too large, where a limit is
// told), a second CONNECT (3.1.0-2), a PUBLISH to a filter (3.3.2-2).
func TestConformGarbage(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		r, _ := greet(t, h.port, v, hello{id: "twice", clean: true})
		r.hello(hello{id: "twice", clean: true})
		if code := r.ended(); v == "5" && code != 0 && code != 0x82 {
			t.Errorf("a second CONNECT: reason 0x%02X, expected 0x82, Protocol Error, or none", code)
		}
		r, _ = greet(t, h.port, v, hello{id: "filter", clean: true})
		r.send(packet{kind: kindPublish, qos: 1, id: 1, topic: "gaugewright/+/reading", payload: "1"})
		if code := r.ended(); v == "5" && code != 0 && code < 0x80 {
			t.Errorf("a PUBLISH to a filter: reason 0x%02X", code)
		}
		r, _ = greet(t, h.port, v, hello{id: "nonsense", clean: true})
		if _, err := r.conn.Write([]byte{0xF0, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}); err != nil {
			t.Fatal(err)
		}
		r.ended()
		// 10 MB: the connection ends, or what comes after it counts as ever. What
		// mosquitto does with them is its own affair.
		r, _ = greet(t, h.port, v, hello{id: "flood", clean: true})
		if h.inside && r.flood(readings, 10<<20) {
			if code := r.ended(); v == "5" && code != 0 && code != 0x95 {
				t.Errorf("10 MB: reason 0x%02X, expected 0x95, Packet too large, or none", code)
			}
		}
		mustPublish(t, h.port, v, "-t", readings, "-m", "120")
		eventually(t, "another's reading comes", func() bool { return slices.Contains(h.sink.values(), 120) })
		if got := h.sink.values(); len(got) > 2 || got[0] != 118.4 && got[0] != 120 {
			t.Errorf("got %v", got)
		}
	})
}

// What a client can't take isn't sent to it, and the connection stays (3.1.2-24
// and -25 of MQTT 5).
func TestConformPacketMost(t *testing.T) {
	for _, house := range houses {
		t.Run(house.name, func(t *testing.T) {
			t.Parallel()
			h := house.open(t)
			r, _ := greet(t, h.port, "5", hello{id: "small", clean: true, most: 64})
			r.subscribe("gaugewright/#", false)
			r.want(kindSuback)
			h.publish(t, "fresh/level", strings.Repeat("9", 200))
			h.publish(t, "grey/level", "60")
			for {
				got := r.want(kindPublish)
				if len(got.payload) > 64 {
					t.Fatalf("got %d bytes", len(got.payload))
				}
				r.send(packet{kind: kindPuback, id: got.id})
				if got.payload == "60" {
					break
				}
			}
		})
	}
}

// A subscriber that takes only so many messages before it has acknowledged one
// isn't sent more, and gets them all, over two connections (3.3.4-9 and 4.9 of
// MQTT 5). The broker inside alone: mosquitto 2.0.11 sends one too many.
func TestConformReceiveMaximum(t *testing.T) {
	t.Parallel()
	h := openInside(t)
	const many, takes = 50, 5
	who := hello{id: "slow", expiry: 60, takes: takes}
	r, _ := greet(t, h.port, "5", who)
	r.subscribe("gaugewright/+/level", false)
	r.want(kindSuback)
	r.silence(20*time.Millisecond, "nothing is retained") // or the first could come twice, as retained and as live
	for n := range many {
		h.publish(t, fmt.Sprintf("t%d/level", n), "60")
	}
	got := make(map[string]int)
	full := func() (ids []uint16) {
		for range takes {
			p := r.want(kindPublish)
			got[p.topic]++
			ids = append(ids, p.id)
		}
		r.silence(50*time.Millisecond, "it has acknowledged none")
		return ids
	}
	unacked := full()
	for range 20 {
		r.send(packet{kind: kindPuback, id: unacked[0]})
		p := r.want(kindPublish)
		got[p.topic]++
		unacked = append(unacked[1:], p.id)
	}
	r.silence(50*time.Millisecond, "five aren't acknowledged")
	r.close()
	r, _ = greet(t, h.port, "5", who)
	if again := full(); !slices.Equal(again, unacked) {
		t.Errorf("identifiers %d came again, expected %d", again, unacked)
	}
	for len(unacked) > 0 {
		r.send(packet{kind: kindPuback, id: unacked[0]})
		unacked = unacked[1:]
		if len(got) == many {
			continue
		}
		p := r.want(kindPublish)
		got[p.topic]++
		unacked = append(unacked, p.id)
	}
	r.silence(50*time.Millisecond, "all were acknowledged")
	twice := 0
	for _, n := range got {
		twice += n - 1
	}
	if len(got) != many || twice != takes {
		t.Errorf("got %d levels, %d of them again; expected %d and %d", len(got), twice, many, takes)
	}
}

// Reason codes of MQTT 5: PUBACK 0x00 or 0x10 where nobody subscribed (3.4.2.1),
// SUBACK the QoS granted (3.9.3), UNSUBACK 0x11 where there was no subscription
// (3.11.3).
func TestConformReasons(t *testing.T) {
	for _, house := range houses {
		t.Run(house.name, func(t *testing.T) {
			t.Parallel()
			h := house.open(t)
			r, _ := greet(t, h.port, "5", hello{id: "asks", clean: true})
			r.send(packet{kind: kindPublish, qos: 1, id: 3, topic: "nobody/reads/this", payload: "1"})
			// The broker inside is for readings: 0x87, Not authorized, with words.
			if got := r.want(kindPuback); got.id != 3 || h.inside && (got.code != 0x87 || got.reasonString == "") || !h.inside && got.code != 0 && got.code != 0x10 {
				t.Errorf("PUBACK %+v, expected 0x00, or 0x10, No matching subscribers; inside 0x87", got)
			}
			r.send(packet{kind: kindPublish, qos: 1, id: 4, topic: readings, payload: "118.4"})
			if got := r.want(kindPuback); got.id != 4 || got.code != 0 && got.code != 0x10 {
				t.Errorf("PUBACK %+v, expected 0x00, or 0x10", got)
			}
			r.subscribe(levels, false)
			if got := r.want(kindSuback); got.code != 1 {
				t.Errorf("SUBACK %+v, expected 0x01", got)
			}
			r.unsubscribe(levels)
			if got := r.want(kindUnsuback); got.code != 0 {
				t.Errorf("UNSUBACK %+v, expected 0x00", got)
			}
			r.unsubscribe("never/asked/for")
			if got := r.want(kindUnsuback); got.code != 0x11 {
				t.Errorf("UNSUBACK %+v, expected 0x11, No subscription existed", got)
			}
		})
	}
}

// A topic alias stands for its topic from its second use on (3.3.2.3.4), and one
// beyond what the broker said ends the connection with 0x94 (3.3.2-9).
func TestConformTopicAlias(t *testing.T) {
	for _, house := range houses {
		t.Run(house.name, func(t *testing.T) {
			t.Parallel()
			h := house.open(t)
			r, answer := greet(t, h.port, "5", hello{id: "short", clean: true})
			if answer.aliasMost == 0 {
				// It said that it takes none.
				r.send(packet{kind: kindPublish, qos: 1, id: 3, topic: readings, alias: 1, payload: "1"})
				if code := r.ended(); code != 0 && code != 0x94 {
					t.Errorf("reason 0x%02X, expected 0x94, Topic Alias invalid", code)
				}
				if got := h.sink.attempts(); got > 0 {
					t.Errorf("%d readings taken", got)
				}
				return
			}
			r.send(packet{kind: kindPublish, qos: 1, id: 1, topic: readings, alias: 1, payload: "118.4"})
			r.want(kindPuback)
			r.send(packet{kind: kindPublish, qos: 1, id: 2, alias: 1, payload: "118.6"})
			r.want(kindPuback)
			eventually(t, "both come", func() bool { return slices.Equal(h.sink.values(), []float64{118.4, 118.6}) })
			if answer.aliasMost < 65535 {
				r.send(packet{kind: kindPublish, qos: 1, id: 3, topic: readings, alias: answer.aliasMost + 1, payload: "1"})
				if code := r.ended(); code != 0 && code != 0x94 {
					t.Errorf("reason 0x%02X, expected 0x94, Topic Alias invalid", code)
				}
			}
			// The alias is the connection's, not the session's.
			r, _ = greet(t, h.port, "5", hello{id: "short", clean: true})
			r.send(packet{kind: kindPublish, qos: 1, id: 1, alias: 1, payload: "7"})
			r.ended()
			if got := h.sink.values(); len(got) != 2 {
				t.Errorf("got %v", got)
			}
		})
	}
}

// Shared subscriptions (4.8.2 of MQTT 5): each message to one of the group,
// retained ones not at all on subscribing, and No Local not allowed (3.8.3-4).
func TestConformShared(t *testing.T) {
	for _, house := range houses {
		t.Run(house.name, func(t *testing.T) {
			t.Parallel()
			h := house.open(t)
			h.retain(t, "fresh/level", "before")
			var group []*raw
			for n := range 2 {
				r, answer := greet(t, h.port, "5", hello{id: fmt.Sprint("member", n), clean: true})
				if answer.noShared {
					t.Fatal("the broker has no shared subscriptions")
				}
				r.subscribe("$share/displays/gaugewright/+/level", false)
				if got := r.want(kindSuback); got.code != 1 {
					t.Fatalf("SUBACK %+v", got)
				}
				group = append(group, r)
			}
			const many = 20
			for n := range many {
				h.publish(t, fmt.Sprintf("t%d/level", n), "60")
			}
			var got []packet
			for _, r := range group {
				for len(got) < many {
					p, err := r.read(300 * time.Millisecond)
					if err != nil {
						break
					}
					got = append(got, p)
					r.send(packet{kind: kindPuback, id: p.id})
				}
			}
			topics := make(map[string]bool)
			for _, p := range got {
				topics[p.topic] = true
			}
			if !h.inside {
				// mosquitto 2.0.11 sends what is retained, and takes No Local. The watch
				// asks for no shared subscription, so it doesn't matter to it.
				delete(topics, levels)
				if len(topics) == 0 {
					t.Error("the group got nothing")
				}
				return
			}
			if len(got) != many || len(topics) != many || topics[levels] {
				t.Errorf("the group got %d messages of %d topics, expected each of %d once: %s", len(got), len(topics), many, several(got))
			}
			r, _ := greet(t, h.port, "5", hello{id: "not local", clean: true})
			r.subscribe("$share/displays/#", true)
			p, err := r.read(soon)
			if err == nil && !(p.kind == kindDisconnect && p.code >= 0x80) && !(p.kind == kindSuback && p.code >= 0x80) {
				t.Errorf("No Local on a shared subscription: got %+v, expected a protocol error", p)
			}
		})
	}
}

// Python's paho, by both versions: it publishes readings with QoS 1, gets the
// retained level with the flag and a live one without.
func TestConformPython(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		h.retain(t, "fresh/level", `{"level_pct":60}`)
		var got struct {
			Acked  int
			Levels []struct {
				Retain bool
				QoS    int
				Text   string
			}
		}
		go func() { // the second level, once its readings are there
			for end := time.Now().Add(soon); len(h.sink.values()) < 50 && time.Now().Before(end); {
				time.Sleep(time.Millisecond)
			}
			_ = h.levels.Publish("fresh/level", []byte(`{"level_pct":61}`), true)
		}()
		python(t, `
import json, sys, threading, time
import paho.mqtt.client as mqtt
given = json.load(sys.stdin)
five = given["Version"] == "5"
c = mqtt.Client(client_id="python", protocol=mqtt.MQTTv5 if five else mqtt.MQTTv311)
levels, acked, ready, acks = [], 0, threading.Event(), threading.Event()
def published(client, userdata, mid):
    global acked
    acked += 1
    if acked == given["Count"]: acks.set()
c.on_message = lambda client, userdata, m: (levels.append({"Retain": bool(m.retain), "QoS": m.qos, "Text": m.payload.decode()}), ready.set())
c.on_publish = published
c.connect("127.0.0.1", int(given["Port"]))
c.loop_start()
c.subscribe(given["Level"], 1)
assert ready.wait(5), "no level"
for n in range(given["Count"]):
    c.publish(given["Reading"], json.dumps({"ohm": 100 + n, "time": given["Time"] + n}), qos=1)
assert acks.wait(5), "%d acknowledged" % acked
end = time.time() + 5
while len(levels) < 2 and time.time() < end: time.sleep(0.005)
c.disconnect()
c.loop_stop()
print(json.dumps({"Acked": acked, "Levels": levels}))`,
			map[string]any{"Version": v, "Port": h.port, "Level": levels, "Reading": readings, "Count": 50, "Time": time.Now().Unix() - 300}, &got)
		if got.Acked != 50 || len(got.Levels) != 2 || !got.Levels[0].Retain || got.Levels[1].Retain || got.Levels[0].QoS != 1 || got.Levels[1].QoS != 1 {
			t.Errorf("got %+v", got)
		}
		eventually(t, "its readings are taken, in their order", func() bool {
			values := h.sink.values()
			return len(values) == 50 && slices.IsSorted(values)
		})
	})
}

// While the disk fails a controller's reading isn't acknowledged, by the broker
// inside; and by the watch not to the broker outside, which keeps it.
func TestConformDiskFails(t *testing.T) {
	everywhere(t, func(t *testing.T, h *house, v string) {
		h.sink.fail(errors.New("no space left on device"))
		who := hello{id: "controller", expiry: 60}
		reading := packet{kind: kindPublish, qos: 1, id: 9, topic: readings, payload: fmt.Sprintf(`{"ohm":118.4,"time":%d}`, time.Now().Unix()-5)}
		r, _ := greet(t, h.port, v, who)
		r.send(reading)
		if h.inside {
			if p, err := r.read(300 * time.Millisecond); err == nil && p.kind == kindPuback && p.code < 0x80 {
				t.Errorf("acknowledged: %+v", p)
			}
		} else {
			r.want(kindPuback)
		}
		eventually(t, "it was tried", func() bool { return h.sink.attempts() > 0 })
		r.close()
		h.sink.fail(nil)
		if h.inside {
			r, _ = greet(t, h.port, v, who)
			reading.dup = true
			r.send(reading)
			r.want(kindPuback)
		}
		eventually(t, "it is taken", func() bool { return slices.Equal(h.sink.values(), []float64{118.4}) })
	})
}

// levelsOnTheWire decodes what a subscriber got.
func levelsOnTheWire(t *testing.T, lines []string) (list []any) {
	t.Helper()
	for _, line := range lines {
		_, text, _ := strings.Cut(line, "/level ")
		var doc any
		if err := json.Unmarshal([]byte(text), &doc); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		list = append(list, doc)
	}
	return list
}
