package mqtt

import (
	"time"

	"github.com/mochi-mqtt/server/v2/packets"
)

// Close closes the connection.
func (c *conn) Close() error {
	c.once.Do(func() {
		close(c.gone)
		c.b.mu.Lock()
		delete(c.b.conns, c)
		c.b.mu.Unlock()
		if !c.told.Load() && !c.b.stopping.Load() {
			c.b.sink.Refused(source, notLetIn, []byte(c.RemoteAddr().String()))
		}
	})
	return c.Conn.Close()
}

const notLetIn = "a connection that came to nothing"

// writeWithin is how long a client may take to read what it is sent.
const writeWithin = 10 * time.Second

// Write writes whole packets, the library's and acknowledgements. It doesn't wait
// for long: a client that has gone without a word mustn't keep the one waiting
// that comes back in its place.
func (c *conn) Write(p []byte) (int, error) {
	now := time.Now().UnixNano()
	if was := c.wrote.Load(); now-was > int64(time.Second) && c.wrote.CompareAndSwap(was, now) {
		_ = c.Conn.SetWriteDeadline(time.Unix(0, now).Add(writeWithin))
	}
	n, err := c.Conn.Write(p)
	if err != nil {
		_ = c.Close() // there may be half a packet
	}
	return n, err
}

// dismiss ends the connection as the broker stops.
func (c *conn) dismiss() {
	if c.told.Load() && c.client != nil {
		c.disconnect(packets.ErrServerShuttingDown)
	}
	_ = c.Close()
}

// SetDeadline is called by the library for each packet that it sees. What it
// doesn't see counts as well, so once the client is known the deadline is kept
// here, and set anew after a thirty-second part of it: setting it for each packet
// takes more time than the packet.
func (c *conn) SetDeadline(t time.Time) error {
	if c.client == nil {
		return c.SetReadDeadline(t)
	}
	c.at, c.alive = time.Now(), true
	c.touch()
	return nil
}

func (c *conn) touch() {
	if c.alive && c.keep > 0 && c.at.Sub(c.touched) >= c.keep/32 && !c.b.stopping.Load() {
		c.touched = c.at
		_ = c.SetReadDeadline(c.at.Add(c.keep))
	}
	c.alive = false
}
