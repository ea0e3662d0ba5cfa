package xdr

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"syscall"
	"time"

	"gaugewright/internal/feed/port"
)

// Times of the connection.
const (
	dialTime     = 5 * time.Second
	unplugNotice = 15 * time.Second // between probes of an idle connection
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

// serialPort opens a serial port.
func serialPort(setup port.Setup) opener {
	return func(ctx context.Context) (io.ReadCloser, error) { return closable(port.Open(ctx, setup)) }
}

// closable keeps a connection that isn't there from looking like one that is.
func closable[T io.ReadCloser](conn T, err error) (io.ReadCloser, error) {
	if err != nil {
		return nil, err
	}
	return conn, nil
}

// whyNot says for people why nothing comes from where it should, and what to do
// about it. Of a port that can't be opened that is said already.
func whyNot(where string, err error) error {
	hint := "; look at its cable"
	switch {
	case strings.HasPrefix(err.Error(), where):
		return err
	case errors.Is(err, syscall.ECONNREFUSED):
		hint = "; it takes no connection: look whether its server is switched on, and at the port"
	case errors.Is(err, syscall.EADDRINUSE):
		hint = "; another program listens there: close that, or choose another port"
	case errors.Is(err, io.EOF):
		hint = "; the other side has closed the connection"
	}
	return fmt.Errorf("%s: %w%s", where, err, hint)
}
