package mqtt

import (
	"errors"
	"log/slog"
	"net"
	"sync"
	"time"

	"github.com/mochi-mqtt/server/v2/listeners"
)

// door lets clients in: a listener of the library's. (Its own ends where the
// system has no more file descriptors, and its way to close all connections may
// wait for ever while clients leave.)
type door struct {
	id       string
	listener net.Listener
	b        *Broker
	open     bool           // whoever comes is let in, where there are no users
	inside   sync.WaitGroup // clients, and Serve
}

var _ listeners.Listener = (*door)(nil)

const (
	// introduction is how long a client may take to say who it is.
	introduction = 10 * time.Second
	// acceptPause is how long to wait where the system has no more to give: file
	// descriptors, say.
	acceptPause = 50 * time.Millisecond
)

// Serve lets clients in until the listener is closed.
func (d *door) Serve(establish listeners.EstablishFn) {
	defer d.inside.Done()
	for {
		c, err := d.listener.Accept()
		switch {
		case errors.Is(err, net.ErrClosed):
			return
		case err != nil:
			d.b.log.Warn("the broker can't take a connection", "error", err)
			time.Sleep(acceptPause)
			continue
		}
		// Twice as many may be about to say who they are.
		if d.b.count() >= 2*d.b.c.Clients {
			d.b.sink.Refused(source, "too many connections", []byte(c.RemoteAddr().String()))
			_ = c.Close()
			continue
		}
		own := newConn(c, d.b)
		own.free = d.open
		if d.b.stopping.Load() { // and Stop may not have seen this one
			_ = own.Close()
			continue
		}
		d.inside.Go(func() {
			_ = establish(d.ID(), own) // how it ended, the hook is told
			_ = own.Close()
		})
	}
}

func (d *door) Init(*slog.Logger) error { return nil }

// ID is the listener's name.
func (d *door) ID() string { return d.id }

// Address is where it listens.
func (d *door) Address() string { return d.listener.Addr().String() }

// Protocol is "tcp".
func (d *door) Protocol() string { return "tcp" }

// Close does nothing: Stop has closed all.
func (d *door) Close(listeners.CloseFn) {}
