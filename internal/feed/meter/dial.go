package meter

import (
	"context"
	"errors"
	"io"
	"net"
	"os"
	"slices"
	"syscall"
	"time"

	"go.bug.st/serial"
)

// Times of the connection. A meter that measures slowly needs most of a second
// for a value; silence is what the people at the bench are told of.
const (
	silence      = 2 * time.Second        // without an answer the meter is away
	dialTime     = 2 * time.Second        // to make a network connection
	openTime     = 10 * time.Second       // to open a serial port, which may be a radio link underneath
	serialWake   = 200 * time.Millisecond // after which a blocked serial read looks around
	closeTime    = 500 * time.Millisecond // that a port may take to close
	quiet        = 150 * time.Millisecond // without a byte is between two lines, and no gap in one
	breath       = 50 * time.Millisecond  // at the least between an answer and the next question
	stall        = time.Second            // that a line may stand still before its end
	unplugNotice = 5 * time.Second        // between probes of an idle network connection
)

// Ports lists the serial ports that there are, in alphabetical order.
func Ports() ([]string, error) {
	ports, err := serial.GetPortsList()
	slices.Sort(ports)
	return ports, err
}

// connect makes a connection in a goroutine of its own: opening a serial port
// can't be broken off. One that is opened too late is closed again.
func connect(ctx context.Context, s Setup, dial func(context.Context, Setup) (io.ReadWriteCloser, error)) (io.ReadWriteCloser, error) {
	within := dialTime
	if s.serial() {
		within = openTime
	}
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	type result struct {
		rw  io.ReadWriteCloser
		err error
	}
	made := make(chan result, 1)
	go func() {
		rw, err := dial(ctx, s)
		made <- result{rw, err}
	}()
	select {
	case r := <-made:
		return r.rw, r.err
	case <-ctx.Done():
		go func() {
			if r := <-made; r.err == nil {
				r.rw.Close()
			}
		}()
		return nil, ctx.Err()
	}
}

// dial opens the connection that a setup names.
func dial(ctx context.Context, s Setup) (io.ReadWriteCloser, error) {
	if s.serial() {
		return openPort(s)
	}
	d := net.Dialer{
		Timeout:         dialTime,
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: unplugNotice, Interval: time.Second, Count: 3},
	}
	conn, err := d.DialContext(ctx, "tcp", s.endpoint())
	if err != nil {
		return nil, err
	}
	return conn, nil
}

func openPort(s Setup) (io.ReadWriteCloser, error) {
	mode := &serial.Mode{BaudRate: s.Baud, DataBits: s.DataBits, StopBits: serial.OneStopBit}
	if mode.BaudRate == 0 {
		mode.BaudRate = usualBaud
	}
	if mode.DataBits == 0 {
		mode.DataBits = 8
	}
	if s.StopBits == 2 {
		mode.StopBits = serial.TwoStopBits
	}
	if i := slices.Index(parities, s.Parity); i > 0 {
		mode.Parity = [...]serial.Parity{serial.NoParity, serial.EvenParity, serial.OddParity, serial.MarkParity, serial.SpaceParity}[i]
	}
	port, err := serial.Open(s.Address, mode)
	if err != nil {
		return nil, err
	}
	if err := errors.Join(port.SetReadTimeout(serialWake), port.ResetInputBuffer()); err != nil {
		return nil, errors.Join(err, port.Close())
	}
	return port, nil
}

// whyNot says for a person why a connection couldn't be made, as the rest of a
// sentence that begins with the meter's name.
func whyNot(s Setup, err error) string {
	var port *serial.PortError
	if errors.As(err, &port) {
		switch port.Code() {
		case serial.PortNotFound:
			return "isn't there; plug its cable in, and look whether the port has that name"
		case serial.PortBusy:
			return "is in use by another program; close that"
		case serial.PermissionDenied:
			return "may not be opened by this user; join the group that the port belongs to"
		case serial.InvalidSerialPort:
			return "isn't a serial port; choose another"
		case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
			return "can't be set so (" + port.Error() + "); choose another baud rate, parity or number of bits"
		}
	}
	var name *net.DNSError
	var timeout net.Error
	switch {
	case s.serial() && errors.Is(err, os.ErrNotExist):
		return "isn't there; plug its cable in, and look whether the port has that name"
	case errors.As(err, &name):
		return "can't be found by that name; use its number, as its own menu shows it"
	case errors.Is(err, syscall.ECONNREFUSED):
		return "takes no connection; switch its network socket on, look at the port, and close other programs that use it"
	case errors.Is(err, syscall.EHOSTUNREACH), errors.Is(err, syscall.ENETUNREACH):
		return "can't be reached from here; look at the network cable and at its address"
	case errors.Is(err, context.DeadlineExceeded), errors.As(err, &timeout) && timeout.Timeout():
		return "doesn't answer; look at its cable, its switch and its address"
	}
	return "can't be connected (" + err.Error() + "); look at its cable"
}
