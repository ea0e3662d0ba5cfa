package can

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"syscall"
	"time"

	"gaugewright/internal/feed"

	"go.einride.tech/can/pkg/socketcan"
)

// live listens to a bus.
type live struct {
	name     string
	device   string
	listener *listener
	open     func(ctx context.Context, device string) (net.Conn, error)
}

// Name is as it was given.
func (b *live) Name() string { return b.name }

// Run listens until the context ends.
func (b *live) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	if err := b.listener.missing(to); err != nil {
		return err
	}
	feed.Again(ctx, tell, func(ctx context.Context) error {
		conn, err := b.open(ctx, b.device)
		if err != nil {
			return whyNot(b.device, err)
		}
		defer conn.Close()
		stop := context.AfterFunc(ctx, func() { conn.Close() })
		defer stop()
		tell.Up(b.device)
		return whyNot(b.device, b.listen(conn, to))
	})
	return nil
}

// errBusOff ends a connection: nothing comes any more until the controller is
// started again, which is the interface's business.
var errBusOff = errors.New("bus off")

// listen reads frames until the connection ends. The time of a reading is that of
// its frame's arrival: a bus tells none.
func (b *live) listen(conn io.ReadCloser, to feed.Sink) error {
	receiver := socketcan.NewReceiver(conn)
	for receiver.Receive() {
		f := received(receiver)
		if !concerns(&f) {
			continue
		}
		if list := b.listener.take(nil, &f, arrived(time.Now()), to); len(list) > 0 {
			to.Offer(b.name, list) // the bus can't be asked again; the next one comes within seconds
		}
		if f.Kind == Fault && f.ID&classBusOff != 0 {
			return errBusOff
		}
	}
	if err := receiver.Err(); err != nil {
		return err
	}
	return io.EOF
}

// received is the frame that a receiver has just got.
func received(r *socketcan.Receiver) Frame {
	got := r.Frame()
	f := Frame{ID: got.ID, Extended: got.IsExtended, Length: min(got.Length, 8)}
	copy(f.Data[:], got.Data[:])
	switch {
	case r.HasErrorFrame():
		f.Kind, f.Extended, f.ID = Fault, false, uint32(r.ErrorFrame().ErrorClass)&mostExtendedID
	case got.IsRemote:
		f.Kind = Remote
	}
	return f
}

var (
	errDown    = errors.New("interface down")
	errStopped = errors.New("interface without a bus")
)

// open looks whether the interface can be listened to, and opens it.
func open(ctx context.Context, device string) (net.Conn, error) {
	found, err := net.InterfaceByName(device)
	switch {
	case err != nil:
		return nil, err
	case found.Flags&net.FlagUp == 0:
		return nil, errDown
	case found.Flags&net.FlagRunning == 0:
		return nil, errStopped
	}
	return socketcan.DialContext(ctx, "can", device, socketcan.WithReceiveErrorFrames())
}

// whyNot says for people why an interface isn't listened to.
func whyNot(device string, err error) error {
	var lookup *net.OpError
	switch {
	case errors.Is(err, errBusOff), errors.Is(err, errStopped):
		return fmt.Errorf("the controller of %s is off the bus: %w; look at bit rate, wiring and the two terminators, then take the interface down and up again", device, err)
	case errors.Is(err, errDown), errors.Is(err, syscall.ENETDOWN):
		return fmt.Errorf("%s is down: %w; bring it up with the bus's bit rate: ip link set %s up type can bitrate 250000 listen-only on", device, err, device)
	case errors.Is(err, syscall.EAFNOSUPPORT), errors.Is(err, syscall.EPROTONOSUPPORT):
		return fmt.Errorf("this system's kernel has no CAN: %w; load its modules can and can_raw", err)
	case errors.Is(err, os.ErrPermission):
		return fmt.Errorf("%s may not be opened by this user: %w", device, err)
	case errors.Is(err, syscall.ENODEV), errors.As(err, &lookup) && lookup.Op == "route":
		return fmt.Errorf("there is no interface %s: %w; plug the adapter in, and look for its name with: ip link", device, err)
	case errors.Is(err, io.EOF), errors.Is(err, net.ErrClosed):
		return fmt.Errorf("%s was closed: %w", device, err)
	}
	return fmt.Errorf("%s: %w", device, err)
}
