package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"sync"
	"sync/atomic"
	"time"
)

// load is what a server is given to do.
type load struct {
	connections, window, tanks int
	five                       bool
	program                    string        // gaugewright, for the server "watch"
	warming, length            time.Duration // before it is measured, and while it is
}

// result is what came of it.
type result struct {
	rate              float64 // messages acknowledged a second
	server, generator float64 // processor time of each message, µs
	slowest           time.Duration
}

func (l load) run(s *server) (r result, err error) {
	var acked, slowest atomic.Int64
	var measuring atomic.Bool
	var wg sync.WaitGroup
	var ended atomic.Bool
	failed := make(chan error, l.connections)
	clients := make([]*client, l.connections)
	defer func() {
		ended.Store(true)
		for _, c := range clients {
			if c != nil {
				_ = c.conn.Close()
			}
		}
		wg.Wait()
	}()
	for i := range clients {
		if clients[i], err = l.connect(s.address, i); err != nil {
			return r, fmt.Errorf("connection %d: %w", i+1, err)
		}
	}
	for _, c := range clients {
		wg.Go(func() {
			for {
				begun := time.Now()
				if err := c.round(begun); err != nil {
					if !ended.Load() {
						failed <- err
					}
					return
				}
				acked.Add(int64(l.window))
				if took := int64(time.Since(begun)); measuring.Load() {
					for was := slowest.Load(); took > was && !slowest.CompareAndSwap(was, took); was = slowest.Load() {
					}
				}
			}
		})
	}
	pause := func(d time.Duration) error {
		select {
		case err := <-failed:
			return err
		case <-time.After(d):
			return nil
		}
	}
	if err := pause(l.warming); err != nil {
		return r, err
	}
	measuring.Store(true)
	begun, n := time.Now(), acked.Load()
	theirs, err := processorTime(s.pid)
	if err != nil {
		return r, err
	}
	own, err := processorTime("self")
	if err != nil {
		return r, err
	}
	if err := pause(l.length); err != nil {
		return r, err
	}
	n, took := acked.Load()-n, time.Since(begun)
	theirsAfter, err := processorTime(s.pid)
	if err != nil {
		return r, err
	}
	ownAfter, err := processorTime("self")
	if err != nil {
		return r, err
	}
	each := func(d time.Duration) float64 { return float64(d.Microseconds()) / float64(max(n, 1)) }
	return result{float64(n) / took.Seconds(), each(theirsAfter - theirs), each(ownAfter - own), time.Duration(slowest.Load())}, nil
}

// client is a connection and the bytes it sends, again and again.
type client struct {
	conn    net.Conn
	bytes   []byte // the window's packets, one after the other
	packet  int    // bytes of each
	payload int    // where its payload begins
	acks    []byte // room for them
	window  int
	own     uint64 // what tells it from the other clients of its tank, below 100
	ms      uint64 // the time of its last message
}

// model is a payload; its digits are written over.
const model = `{"ohm":100.00,"time":1700000000.000}`

const (
	valueAt = len(`{"ohm":1`)
	timeAt  = len(`{"ohm":100.00,"time":`)
)

func (l load) connect(address string, i int) (*client, error) {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return nil, err
	}
	c := &client{conn: conn, acks: make([]byte, 0, 4096), window: l.window, own: uint64(i/l.tanks) % 100}
	version := byte(4)
	if l.five {
		version = 5
	}
	hello := append([]byte{0, 4, 'M', 'Q', 'T', 'T', version, 2, 0, 60}, []byte{0}[:version-4]...)
	hello = append(hello, lengthed(fmt.Sprint("load-", i))...)
	if _, err := conn.Write(append([]byte{0x10, byte(len(hello))}, hello...)); err != nil {
		return nil, err
	}
	_ = conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	var ack [2]byte
	if _, err := io.ReadFull(conn, ack[:]); err != nil {
		return nil, err
	}
	rest := make([]byte, ack[1])
	if _, err := io.ReadFull(conn, rest); err != nil {
		return nil, err
	}
	if ack[0] != 0x20 || rest[1] != 0 {
		return nil, fmt.Errorf("it answers % x % x; expected to be let in", ack, rest)
	}
	_ = conn.SetReadDeadline(time.Time{})
	for id := range l.window {
		body := binary.BigEndian.AppendUint16(lengthed("gaugewright/"+tankName(i%l.tanks)+"/reading"), uint16(1+id))
		body = append(body, []byte{0}[:version-4]...)
		c.payload = 2 + len(body)
		body = append(body, model...)
		c.packet = 2 + len(body)
		if c.packet > 129 {
			return nil, errors.New("the packet is too long for a length of one byte")
		}
		c.bytes = append(append(c.bytes, 0x32, byte(len(body))), body...)
	}
	return c, nil
}

func tankName(i int) string { return fmt.Sprintf("tank-%05d", i) }

func lengthed(s string) []byte {
	return append(binary.BigEndian.AppendUint16(nil, uint16(len(s))), s...)
}

// round sends a window of messages, each with a time of its own and the value of
// its client, so that no two readings of a tank are the same, and reads the
// acknowledgements.
func (c *client) round(now time.Time) error {
	ms := max(uint64(now.UnixMilli()), c.ms+1)
	for b := c.bytes; len(b) > 0; b = b[c.packet:] {
		digits(b[c.payload+valueAt+1:], c.own/10, 1) // 100.00 to 109.90
		digits(b[c.payload+valueAt+3:], c.own%10, 1)
		digits(b[c.payload+timeAt:], ms/1000, 10)
		digits(b[c.payload+timeAt+11:], ms%1000, 3)
		c.ms = ms
		ms++
	}
	if _, err := c.conn.Write(c.bytes); err != nil {
		return err
	}
	return c.acknowledged()
}

// acknowledged reads the acknowledgements of a window. MQTT 5 may have a reason in
// each: that nobody has subscribed, say.
func (c *client) acknowledged() error {
	have := c.acks[:0]
	for id := 1; id <= c.window; {
		n, err := c.conn.Read(have[len(have):cap(have)])
		if err != nil {
			return err
		}
		have = have[:len(have)+n]
		for len(have) >= 4 && len(have) >= 2+int(have[1]) {
			a := have[:2+int(have[1])]
			if a[0] != 0x40 || int(a[2])<<8|int(a[3]) != id || len(a) > 4 && a[4] >= 0x80 {
				return fmt.Errorf("% x came; expected the acknowledgement of %d", a, id)
			}
			have = have[len(a):]
			id++
		}
		have = append(c.acks[:0], have...)
	}
	return nil
}

func digits(to []byte, v uint64, n int) {
	for i := n - 1; i >= 0; i-- {
		to[i] = '0' + byte(v%10)
		v /= 10
	}
}
