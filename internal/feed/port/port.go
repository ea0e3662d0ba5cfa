package port

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync/atomic"
	"time"

	"go.bug.st/serial"
)

// openTime is how long a port may take to open: there may be a radio link
// underneath.
const openTime = 10 * time.Second

// Port is an open serial port. One goroutine may read and write it; Close and
// SetDeadline may be called by any.
type Port struct {
	under    serial.Port
	deadline atomic.Pointer[time.Time]
}

// Open opens a port and drops what the system kept from before. Opening can't be
// broken off, so it is given up when the context ends or after 10 s, and closed
// again whenever it is done.
func Open(ctx context.Context, s Setup) (*Port, error) {
	ctx, cancel := context.WithTimeout(ctx, openTime)
	defer cancel()
	type result struct {
		port *Port
		err  error
	}
	made := make(chan result, 1)
	go func() {
		p, err := open(s)
		made <- result{p, err}
	}()
	select {
	case r := <-made:
		return r.port, r.err
	case <-ctx.Done():
		go func() {
			if r := <-made; r.err == nil {
				r.port.Close()
			}
		}()
		return nil, fmt.Errorf("%s: isn't open after %v; unplug it and plug it in again", s.Path, openTime)
	}
}

func open(s Setup) (*Port, error) {
	under, err := serial.Open(s.Path, s.mode())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.Path, whyNot(err))
	}
	if err := errors.Join(under.SetReadTimeout(serial.NoTimeout), under.ResetInputBuffer(), under.ResetOutputBuffer()); err != nil {
		return nil, errors.Join(err, under.Close())
	}
	return &Port{under: under}, nil
}

// whyNot says for a person why a port can't be opened, and what to do.
func whyNot(err error) error {
	var of *serial.PortError
	if !errors.As(err, &of) {
		if errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("isn't there; plug its cable in, and look whether the port has that name: %w", err)
		}
		return err
	}
	switch of.Code() {
	case serial.PortNotFound:
		return fmt.Errorf("isn't there; plug its cable in, and look whether the port has that name: %w", err)
	case serial.PortBusy:
		return fmt.Errorf("is in use by another program; close that: %w", err)
	case serial.PermissionDenied:
		return fmt.Errorf("may not be opened by this user; join the group that the port belongs to: %w", err)
	case serial.InvalidSerialPort:
		return fmt.Errorf("isn't a serial port; choose another: %w", err)
	case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
		return fmt.Errorf("can't be set so; choose another speed, parity or number of bits: %w", err)
	}
	return err
}

// SetDeadline is the time at which a Read gives up; the zero time is never.
func (p *Port) SetDeadline(t time.Time) error {
	if t.IsZero() {
		p.deadline.Store(nil)
		return nil
	}
	p.deadline.Store(&t)
	return nil
}

// Read waits for at least one byte. Its error is [os.ErrDeadlineExceeded] where
// the deadline has passed without one; any other means that the port is gone.
//
// The library underneath waits by select(2), which knows no file beyond number
// 1023, and panics there. A watch with a thousand connections gets that far, so
// the panic is made an error.
func (p *Port) Read(into []byte) (n int, err error) {
	defer func() {
		if r := recover(); r != nil {
			n, err = 0, fmt.Errorf("can't be read while so many connections are open (%v); start the watch anew, or use a second one for the serial line", r)
		}
	}()
	for {
		wait := serial.NoTimeout
		if d := p.deadline.Load(); d != nil {
			if wait = time.Until(*d); wait <= 0 {
				return 0, os.ErrDeadlineExceeded
			}
		}
		if err := p.under.SetReadTimeout(wait); err != nil {
			return 0, err
		}
		if n, err := p.under.Read(into); n > 0 || err != nil {
			return n, err
		}
	}
}

// Write sends bytes. It returns when the system has taken them, which may be
// before they are on the line.
func (p *Port) Write(bytes []byte) (int, error) { return p.under.Write(bytes) }

// Flush drops what has come and wasn't read, and what was written and isn't on
// the line yet.
func (p *Port) Flush() error {
	return errors.Join(p.under.ResetInputBuffer(), p.under.ResetOutputBuffer())
}

// Close ends a Read under way.
func (p *Port) Close() error { return p.under.Close() }
