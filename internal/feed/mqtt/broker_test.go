package mqtt

import (
	"bytes"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

const fresh = "gaugewright/fresh/reading"

// eachVersion runs a test for MQTT 3.1.1 and 5 by their numbers in CONNECT.
func eachVersion(t *testing.T, f func(t *testing.T, version byte)) {
	for _, v := range []byte{4, 5} {
		t.Run(fmt.Sprint(v), func(t *testing.T) { t.Parallel(); f(t, v) })
	}
}

// TestAcknowledgedOnceOnDisk has the disk take its time: nothing is acknowledged
// before, all of it after, in order, and other packets needn't wait.
func TestAcknowledgedOnceOnDisk(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := &held{hold: true}
		b := inside(t, Config{}, sink)
		w := dial(t, b, version, "")
		w.send(w.message(1, 7, fresh, "1"), w.message(1, 3, fresh, `{"ohm":2}`), w.message(0, 0, fresh, "3"), w.message(1, 9, fresh, "[4,5]"), ping)
		w.wants(pong)
		w.silent()
		sink.commit()
		w.wants(puback(7), puback(3), puback(9))
		if v := sink.values(); fmt.Sprint(v) != "[1 2 3 4 5]" {
			t.Errorf("%v", v)
		}
		for _, r := range sink.kept {
			if r.Tank != "fresh" || r.Source != "mqtt" || r.Signal != watch.Ohm || r.Clock != watch.ArrivalClock || time.Since(r.Time) > time.Minute {
				t.Errorf("%+v", r)
			}
		}
	})
}

// TestBytesInAnyPieces sends the same packets a byte at a time.
func TestBytesInAnyPieces(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := new(held)
		w := dial(t, inside(t, Config{}, sink), version, "")
		long := `{"ohm":2` + strings.Repeat(" ", 300) + "}"
		all := bytes.Join([][]byte{w.message(1, 1, fresh, "1"), ping, w.message(1, 2, fresh, long), framed(0x82, subscription(w, 5, "gaugewright/#")), w.message(1, 3, fresh, "3")}, nil)
		for _, b := range all {
			w.send([]byte{b})
		}
		got := map[byte]int{}
		for range 6 { // PUBACKs, the pong, SUBACK, and the last reading passed on
			got[w.packet()[0]]++
		}
		if got[0x40] != 3 || got[0xd0] != 1 || got[0x90] != 1 || got[0x30]+got[0x32] != 1 || fmt.Sprint(sink.values()) != "[1 2 3]" {
			t.Errorf("%v, %v", got, sink.values())
		}
	})
}

// subscription gives the body of a SUBSCRIBE packet, quality of service 1.
func subscription(w *wire, id byte, filter string) []byte {
	b := []byte{0, id}
	if w.five {
		b = append(b, 0)
	}
	return append(append(b, lengthed(filter)...), 1)
}

// TestDiskFails: no acknowledgement, and the client is sent away, to come back
// with the same readings. Their acknowledgement then isn't the old ones'.
func TestDiskFails(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := &held{hold: true}
		b := inside(t, Config{}, sink)
		w := dial(t, b, version, "sender")
		w.send(w.message(1, 1, fresh, "1"), ping)
		w.wants(pong)
		w.send(w.message(1, 2, fresh, "2"), ping)
		w.wants(pong)
		sink.set(true, errors.New("no room"))
		sink.commit()
		last := w.ended()
		if version == 5 && (len(last) < 3 || last[0] != 0xe0 || last[2] != 0x83 || !bytes.Contains(last, []byte("can't be kept"))) {
			t.Errorf("DISCONNECT: % x", last)
		}
		if version == 4 && last != nil {
			t.Errorf("% x came", last)
		}
		sink.set(false, nil)
		w = dial(t, b, version, "sender")
		again := w.message(1, 1, fresh, "1")
		again[0] |= 8 // once more
		w.send(again, w.message(1, 2, fresh, "2"))
		w.wants(puback(1), puback(2))
		if v := sink.values(); fmt.Sprint(v) != "[1 2]" {
			t.Errorf("%v", v)
		}
	})
}

// TestRefusedReadings: what is no reading is acknowledged in its turn, by MQTT 5
// with a reason, counted under its name, and hinders nothing else.
func TestRefusedReadings(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := new(held)
		w := dial(t, inside(t, Config{}, sink), version, "")
		for i, c := range []struct {
			topic, payload string
			code           byte
			why            string
		}{
			{fresh, "NaN", 0x99, feed.NotJSON},
			{fresh, "\x00\xff", 0x99, feed.NotJSON},
			{fresh, "", 0x99, feed.Empty},
			{fresh, `{"ohms":1}`, 0x99, feed.UnknownField},
			{fresh, strings.Repeat("1", feed.MaxPayload+1), 0x99, feed.TooLong},
			{"gaugewright/black/reading", "1", 0x90, feed.NoSuchTank},
			{"gaugewright/fresh/level", "1", 0x87, foreignTopic},
			{"gaugewright/watch", "gone", 0x87, foreignTopic},
			{"gaugewright/a/b/reading", "1", 0x87, foreignTopic},
			{"elsewhere/fresh/reading", "1", 0x87, foreignTopic},
			{"$SYS/broker/version", "1", 0x87, foreignTopic},
		} {
			id := byte(10 + i)
			before := sink.count(c.why)
			w.send(w.message(1, 1, fresh, "1"), w.message(1, uint16(id), c.topic, c.payload), w.message(1, 2, fresh, "2"))
			w.wants(puback(1))
			got := w.packet()
			if version == 4 && !bytes.Equal(got, puback(id)) || version == 5 && (got[0] != 0x40 || got[3] != id || got[4] != c.code || len(got) < 10) {
				t.Errorf("%s %.10q: % x", c.topic, c.payload, got)
			}
			w.wants(puback(2))
			if n := sink.count(c.why) - before; n != 1 {
				t.Errorf("%s %.10q: %q was counted %d times; counts are %v", c.topic, c.payload, c.why, n, sink.refused)
			}
		}
		if n := len(sink.values()); n != 22 {
			t.Errorf("%d readings; want 22", n)
		}
	})
}

// TestHugePayload sends 10 MB: it takes no memory, and others don't notice.
func TestHugePayload(t *testing.T) {
	sink := new(held)
	b := inside(t, Config{}, sink)
	other := dial(t, b, 4, "")
	w := dial(t, b, 4, "")
	huge := w.message(1, 9, fresh, strings.Repeat("1", 10<<20))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	half := func(b []byte) {
		if _, err := w.conn.Write(b); err != nil {
			t.Error(err)
		}
	}
	half(huge[:len(huge)/2])
	other.send(other.message(1, 1, fresh, "1"))
	other.wants(puback(1))
	half(huge[len(huge)/2:])
	w.send(w.message(1, 3, fresh, "3"))
	w.wants(puback(9), puback(3)) // before MQTT 5 it would only be sent again
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 1<<20 {
		t.Errorf("%d bytes were allocated", n)
	}
	five := dial(t, b, 5, "")
	_, _ = five.conn.Write(five.message(1, 9, fresh, strings.Repeat("1", 10<<20))) // it is cut off
	_ = five.ended()                                                               // DISCONNECT may be lost with what wasn't read
	if n := sink.count(feed.TooLong); n != 2 || fmt.Sprint(sink.values()) != "[1 3]" {
		t.Errorf("%d too long, %v", n, sink.values())
	}
}

// TestTwice goes through quality of service 2: kept once, however often it is
// sent before it is released, also over another connection.
func TestTwice(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := &held{hold: true}
		b := inside(t, Config{}, sink)
		w := dial(t, b, version, "sender")
		first := w.message(2, 5, fresh, "1")
		again := bytes.Clone(first)
		again[0] |= 8
		w.send(first, again, ping) // the first isn't on disk yet
		w.wants(pong)
		w.silent()
		sink.commit()
		pubrec, pubrel, pubcomp := []byte{0x50, 2, 0, 5}, []byte{0x62, 2, 0, 5}, []byte{0x70, 2, 0, 5}
		w.wants(pubrec)
		sink.set(false, nil)
		w.send(again)
		w.wants(pubrec)
		w.conn.Close()
		w = dial(t, b, version, "sender")
		w.send(again)
		w.wants(pubrec)
		w.send(pubrel)
		w.wants(pubcomp)
		w.send(pubrel)
		if version == 5 {
			w.wants([]byte{0x70, 3, 0, 5, 0x92})
		} else {
			w.wants(pubcomp)
		}
		w.send(first) // the identifier is free for another
		w.wants(pubrec)
		if v := sink.values(); fmt.Sprint(v) != "[1 1]" {
			t.Errorf("%v", v)
		}
	})
}

// TestRepeatOnTheWay sends a message again before it was acknowledged.
func TestRepeatOnTheWay(t *testing.T) {
	sink := &held{hold: true}
	w := dial(t, inside(t, Config{}, sink), 4, "")
	again := w.message(1, 5, fresh, "1")
	again[0] |= 8
	w.send(w.message(1, 5, fresh, "1"), again, ping)
	w.wants(pong)
	w.send(again, ping)
	w.wants(pong)
	sink.commit()
	w.wants(puback(5))
	w.silent()
	if v := sink.values(); fmt.Sprint(v) != "[1]" {
		t.Errorf("%v", v)
	}
}

// TestTooManyWaiting: a client of MQTT 5 that sends more than it was told it may
// is sent away; before, it is only slowed down by the sink.
func TestTooManyWaiting(t *testing.T) {
	sink := &held{hold: true}
	b := inside(t, Config{}, sink)
	w := dial(t, b, 5, "")
	var list [][]byte
	for i := range receiveMaximum {
		list = append(list, w.message(1, uint16(1+i), fresh, "1"))
	}
	w.send(append(list, ping)...)
	w.wants(pong)
	w.send(w.message(1, 60000, fresh, "1"))
	if last := w.ended(); len(last) < 3 || last[0] != 0xe0 || last[2] != 0x93 {
		t.Errorf("% x", last)
	}
	sink.commit()
}

// TestClientGone has clients leave before their acknowledgement, and another take
// the session over.
func TestClientGone(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := &held{hold: true}
		b := inside(t, Config{}, sink)
		w := dial(t, b, version, "sender")
		w.send(w.message(1, 5, fresh, "1"), ping)
		w.wants(pong)
		w.conn.Close()
		w = dial(t, b, version, "sender")
		w.send(w.message(1, 5, fresh, "1"), ping)
		w.wants(pong)
		next := dial(t, b, version, "sender") // while the other is there
		_ = w.ended()
		next.send(next.message(1, 5, fresh, "2"), ping)
		next.wants(pong)
		sink.commit()
		next.wants(puback(5))
		next.silent()
		if v := sink.values(); fmt.Sprint(v) != "[1 1 2]" {
			t.Errorf("%v", v)
		}
	})
}

// TestLevels publishes levels: retained for those who come later, given to those
// who are there, and readings only to those after they are on disk.
func TestLevels(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := &held{hold: true}
		b := inside(t, Config{Root: "van/7"}, sink)
		if err := b.Publish("fresh/level", []byte("old"), true); err != nil {
			t.Fatal(err)
		}
		if err := b.Publish("fresh/level", []byte("61"), true); err != nil {
			t.Fatal(err)
		}
		if err := b.Publish("fresh/+", []byte("61"), true); err == nil {
			t.Error("a filter was published at")
		}
		w := dial(t, b, version, "")
		w.send(framed(0x82, subscription(w, 1, "van/7/#")))
		if ack := w.packet(); ack[0] != 0x90 || ack[len(ack)-1] != 1 {
			t.Fatalf("SUBACK % x", ack)
		}
		if p := w.packet(); p[0] != 0x33 || !bytes.HasSuffix(p, []byte("61")) { // retained, quality of service 1
			t.Errorf("% x", p)
		}
		if err := b.Publish("fresh/level", []byte("62"), true); err != nil {
			t.Fatal(err)
		}
		if p := w.packet(); p[0] != 0x32 || !bytes.HasSuffix(p, []byte("62")) {
			t.Errorf("% x", p)
		}
		sender := dial(t, b, version, "")
		retained := sender.message(1, 5, "van/7/grey/reading", "118.4")
		retained[0] |= 1
		sender.send(retained, ping)
		sender.wants(pong)
		w.silent() // not on disk
		sink.commit()
		sender.wants(puback(5))
		if p := w.packet(); p[0] != 0x32 || !bytes.Contains(p, []byte("van/7/grey/reading")) || !bytes.HasSuffix(p, []byte("118.4")) {
			t.Errorf("% x", p)
		}
		late := dial(t, b, version, "")
		late.send(framed(0x82, subscription(late, 1, "van/7/grey/#")), ping)
		_ = late.packet()
		late.wants(pong) // a reading isn't retained: it is of one moment
	})
}
