package mqtt

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"log/slog"
	"net"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// held is a sink whose disk is in the test's hand.
type held struct {
	mu      sync.Mutex
	kept    []watch.Reading
	waiting []func(error)
	lists   [][]watch.Reading
	hold    bool
	fails   error
	refused map[string]int
}

func (h *held) Take(context.Context, []watch.Reading) error { return errors.New("nobody takes") }

func (h *held) Offer(string, []watch.Reading) {}

func (h *held) Later(list []watch.Reading, done func(error)) {
	h.mu.Lock()
	h.waiting = append(h.waiting, done)
	h.lists = append(h.lists, list)
	hold := h.hold
	h.mu.Unlock()
	if !hold {
		h.commit()
	}
}

// commit keeps what waits and says so, or that it can't be kept.
func (h *held) commit() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for i, done := range h.waiting {
		if h.fails == nil {
			h.kept = append(h.kept, h.lists[i]...)
		}
		done(h.fails)
	}
	h.waiting, h.lists = nil, nil
}

func (h *held) Refused(_, why string, _ []byte) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.refused == nil {
		h.refused = map[string]int{}
	}
	h.refused[why]++
}

func (h *held) Knows(tank string) bool { return tank == "fresh" || tank == "grey" }

func (h *held) set(hold bool, fails error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.hold, h.fails = hold, fails
}

func (h *held) values() (list []float64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, r := range h.kept {
		list = append(list, r.Value)
	}
	return list
}

func (h *held) count(why string) int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.refused[why]
}

// inside starts a broker at a free port.
func inside(t testing.TB, c Config, sink *held) *Broker {
	t.Helper()
	if c.Listen == "" {
		c.Listen = "127.0.0.1:0"
	}
	b, err := NewBroker(c, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Start(sink); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	return b
}

// wire is a client that writes and reads bytes.
type wire struct {
	t    testing.TB
	conn net.Conn
	r    *bufio.Reader
	five bool
}

// dialRaw connects, and says nothing yet.
func dialRaw(t testing.TB, b *Broker) *wire {
	t.Helper()
	conn, err := net.Dial("tcp", b.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	return &wire{t: t, conn: conn, r: bufio.NewReader(conn)}
}

// dial connects: version 4 is MQTT 3.1.1. An empty client ID begins anew.
func dial(t testing.TB, b *Broker, version byte, id string) *wire {
	t.Helper()
	w := dialRaw(t, b)
	w.five = version == 5
	w.send(connect(version, id))
	ack := w.packet()
	if ack[0] != 0x20 || ack[2] > 1 || ack[3] != 0 {
		t.Fatalf("CONNACK % x", ack)
	}
	return w
}

func connect(version byte, id string) []byte {
	flags := byte(0)
	if id == "" {
		flags = 2 // clean
	}
	body := append(lengthed("MQTT"), version, flags, 0, 60)
	if version == 5 {
		// A session that lasts for an hour, by property 0x11.
		body = append(body, 5, 0x11, 0, 0, 14, 16)
	}
	return framed(0x10, append(body, lengthed(id)...))
}

func lengthed(s string) []byte {
	return append(binary.BigEndian.AppendUint16(nil, uint16(len(s))), s...)
}

func framed(first byte, body []byte) []byte {
	b := []byte{first}
	for n := len(body); ; {
		c := byte(n & 0x7f)
		if n >>= 7; n > 0 {
			b = append(b, c|0x80)
			continue
		}
		return append(append(b, c), body...)
	}
}

// message gives the bytes of a PUBLISH packet.
func (w *wire) message(qos byte, id uint16, topic, payload string) []byte {
	body := lengthed(topic)
	if qos > 0 {
		body = binary.BigEndian.AppendUint16(body, id)
	}
	if w.five {
		body = append(body, 0)
	}
	return framed(0x30|qos<<1, append(body, payload...))
}

func (w *wire) send(packets ...[]byte) {
	w.t.Helper()
	if _, err := w.conn.Write(bytes.Join(packets, nil)); err != nil {
		w.t.Fatal(err)
	}
}

// packet reads a packet.
func (w *wire) packet() []byte {
	w.t.Helper()
	_ = w.conn.SetReadDeadline(time.Now().Add(time.Minute))
	b, err := w.read()
	if err != nil {
		w.t.Fatalf("after % x: %v", b, err)
	}
	return b
}

func (w *wire) read() (b []byte, err error) {
	n, shift := 0, 0
	for i := 0; ; i++ {
		c, err := w.r.ReadByte()
		if err != nil {
			return b, err
		}
		if b = append(b, c); i == 0 {
			continue
		}
		n |= int(c&0x7f) << shift
		shift += 7
		if c < 0x80 {
			break
		}
	}
	rest := make([]byte, n)
	_, err = io.ReadFull(w.r, rest)
	return append(b, rest...), err
}

// wants reads packets and holds them against these.
func (w *wire) wants(list ...[]byte) {
	w.t.Helper()
	for _, want := range list {
		if got := w.packet(); !bytes.Equal(got, want) {
			w.t.Fatalf("% x; want % x", got, want)
		}
	}
}

// silent fails if anything comes within a little while.
func (w *wire) silent() {
	w.t.Helper()
	_ = w.conn.SetReadDeadline(time.Now().Add(50 * time.Millisecond))
	if b, err := w.r.ReadByte(); err == nil {
		w.t.Fatalf("%#x came", b)
	}
}

// ended waits until the broker has closed the connection, and gives what it said
// before.
func (w *wire) ended() (last []byte) {
	w.t.Helper()
	_ = w.conn.SetReadDeadline(time.Now().Add(time.Minute))
	for {
		b, err := w.read()
		var late net.Error
		if errors.As(err, &late) && late.Timeout() {
			w.t.Fatal("the connection is still there")
		}
		if err != nil {
			return last
		}
		last = b
	}
}

func puback(id byte) []byte { return []byte{0x40, 2, 0, id} }

var ping, pong = []byte{0xc0, 0}, []byte{0xd0, 0}
