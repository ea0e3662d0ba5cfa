package xdr

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"syscall"
	"time"

	"go.bug.st/serial"
)

// Times of the connection.
const (
	dialTime     = 5 * time.Second
	unplugNotice = 15 * time.Second       // between probes of an idle connection
	serialWake   = 200 * time.Millisecond // after which a blocked serial read looks around
)

// opener opens what sentences come from. It returns when the context ends.
type opener func(context.Context) (io.ReadCloser, error)

// dialled connects to a TCP server.
func dialled(address string) opener {
	return func(ctx context.Context) (io.ReadCloser, error) {
		d := net.Dialer{Timeout: dialTime, KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: unplugNotice, Interval: 5 * time.Second, Count: 3}}
		return closable(d.DialContext(ctx, "tcp", address))
	}
}

// datagrams listens for UDP: unicast and broadcast, or in a multicast group where
// the address is one's.
func datagrams(address string) opener {
	return func(ctx context.Context) (io.ReadCloser, error) {
		at, err := net.ResolveUDPAddr("udp", address)
		if err != nil {
			return nil, err
		}
		if at.IP.IsMulticast() {
			return closable(net.ListenMulticastUDP("udp", nil, at))
		}
		return closable(net.ListenUDP("udp", at))
	}
}

// closable keeps a connection that isn't there from looking like one that is.
func closable[T io.ReadCloser](conn T, err error) (io.ReadCloser, error) {
	if err != nil {
		return nil, err
	}
	return conn, nil
}

// serialPort opens a serial port: 8 data bits, no parity, one stop bit, as NMEA
// 0183 has it (from memory).
func serialPort(name string, baud int) opener {
	return func(ctx context.Context) (io.ReadCloser, error) {
		type result struct {
			port serial.Port
			err  error
		}
		made := make(chan result, 1) // opening a serial port can't be broken off
		go func() {
			port, err := serial.Open(name, &serial.Mode{BaudRate: baud, DataBits: 8})
			made <- result{port, err}
		}()
		select {
		case r := <-made:
			if r.err != nil {
				return nil, r.err
			}
			if err := errors.Join(r.port.SetReadTimeout(serialWake), r.port.ResetInputBuffer()); err != nil {
				return nil, errors.Join(err, r.port.Close())
			}
			return r.port, nil
		case <-ctx.Done():
			go func() {
				if r := <-made; r.err == nil {
					_ = r.port.Close() // nobody is left to be told
				}
			}()
			return nil, ctx.Err()
		}
	}
}

// whyNot says for people why nothing comes from where it should.
func whyNot(where string, err error) error {
	var port *serial.PortError
	hint := ""
	switch {
	case errors.As(err, &port) && port.Code() == serial.PortBusy:
		hint = "it is in use by another program; close that"
	case errors.As(err, &port) && port.Code() == serial.PermissionDenied, errors.Is(err, os.ErrPermission):
		hint = "this user may not open it; join the group that the port belongs to"
	case errors.As(err, &port) && port.Code() == serial.InvalidSpeed:
		hint = "choose another baud rate"
	case errors.As(err, &port) && port.Code() == serial.PortClosed:
		hint = "it was unplugged; look at its cable"
	case errors.As(err, &port), errors.Is(err, os.ErrNotExist):
		hint = "plug its cable in, and look whether the port has that name"
	case errors.Is(err, syscall.ECONNREFUSED):
		hint = "it takes no connection; look whether its server is switched on, and at the port"
	case errors.Is(err, syscall.EADDRINUSE):
		hint = "another program listens there; close that, or choose another port"
	case errors.Is(err, io.EOF):
		hint = "the other side has closed the connection"
	default:
		return fmt.Errorf("%s: %w", where, err)
	}
	return fmt.Errorf("%s: %w; %s", where, err, hint)
}
