package can

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"net"
	"os"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/watch"
)

// socket stands in for a CAN socket, which gives one frame per read, and an error
// once the interface is gone.
type socket struct {
	net.Conn // nil: nothing else may be called
	frames   chan []byte
	fails    error
	closed   chan struct{}
}

func (s *socket) Read(b []byte) (int, error) {
	select {
	case f, ok := <-s.frames:
		if !ok {
			return 0, &net.OpError{Op: "read", Err: s.fails}
		}
		return copy(b, f), nil
	case <-s.closed:
		return 0, &net.OpError{Op: "read", Err: os.ErrClosed}
	}
}

func (s *socket) Close() error {
	select {
	case <-s.closed:
	default:
		close(s.closed)
	}
	return nil
}

// plugged opens sockets with the frames of each in turn; one that is to stay open
// has no error to fail with.
func plugged(sockets ...*socket) func(context.Context, string) (net.Conn, error) {
	n := 0
	return func(context.Context, string) (net.Conn, error) {
		if n == len(sockets) {
			return nil, errDown
		}
		s := sockets[n]
		n++
		if s == nil {
			return nil, errDown
		}
		return s, nil
	}
}

func holding(t testing.TB, fails error, frames ...string) *socket {
	s := &socket{frames: make(chan []byte, len(frames)), fails: fails, closed: make(chan struct{})}
	for _, text := range frames {
		f := frame(t, text)
		s.frames <- kernel(&f)
	}
	if fails != nil {
		close(s.frames)
	}
	return s
}

// kernel is a frame as the kernel hands it over: struct can_frame of
// include/uapi/linux/can.h, which is 4 bytes of identifier and flags in the
// machine's order, a length, 3 bytes of nothing, and 8 of data. TestPythonFrames
// has python-can say the same.
func kernel(f *Frame) []byte {
	id := f.ID
	switch {
	case f.Kind == Fault:
		id |= 0x2000_0000
	case f.Kind == Remote:
		id |= 0x4000_0000
	}
	if f.Extended {
		id |= 0x8000_0000
	}
	b := binary.LittleEndian.AppendUint32(nil, id)
	b = append(b, f.Length, 0, 0, 0)
	return append(b, f.Data[:8]...)
}

func listening(t *testing.T, text string) *live {
	t.Helper()
	f, err := New("can/boat", config(t, text))
	if err != nil {
		t.Fatal(err)
	}
	return f.(*live)
}

func TestLive(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newTape()
		l := listening(t, boat)
		l.open = plugged(
			holding(t, syscall.ENETDOWN, "19F21123#103E49DC050000FF", "123#R8", "123#1122", "18FEFC23#FFFFFFFFFFFF7DFF"),
			nil,
			holding(t, syscall.ENODEV, "20000008#0000000000000000", "19F21123#10EE48DC050000FF"),
			holding(t, io.EOF, "20000040#0000000000000000", "19F21123#103E49DC050000FF"), // nothing is read after it is off
			holding(t, nil, "18FEFC23#FFBBFFFFFFFFFAFF"),
		)
		start := time.Now()
		stop := s.Run(t, l)
		time.Sleep(time.Minute)
		s.All(t, "fresh can/boat 75%, diesel can/boat none, spare can/boat 50%, fresh can/boat 74.68%, diesel can/boat 74.8%, spare can/boat 100%")
		s.Count(t, "bus error: a damaged frame", 1)
		s.Count(t, "bus error: the controller has gone off the bus", 1)
		for i, want := range []string{"up can0", "down can0 is down: ", "down can0 is down: interface down; bring it up", "up can0",
			"down there is no interface can0: ", "up can0", "down the controller of can0 is off the bus", "up can0"} {
			if i >= len(s.Told) || !strings.HasPrefix(s.Told[i], want) {
				t.Fatalf("told %q, expected %q as number %d", s.Told, want, i+1)
			}
		}
		for _, r := range s.Readings {
			if r.Clock != watch.ArrivalClock || !r.Time.Equal(r.Arrived) || r.Time.Before(start) || r.Tilt != nil {
				t.Errorf("%+v", r)
			}
		}
		stop()
	})
}

// What can't be kept on disk is counted, and the next one comes in.
func TestLiveDiskFull(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newTape()
		s.Full = 1
		l := listening(t, boat)
		l.open = plugged(holding(t, nil, "19F21123#103E49DC050000FF", "19F21123#10EE48DC050000FF"))
		stop := s.Run(t, l)
		synctest.Wait()
		s.All(t, "fresh can/boat 74.68%")
		if s.Lacked["can/boat"] != 1 {
			t.Errorf("%v lacked", s.Lacked)
		}
		stop()
	})
}

// A stand-in that cuts frames up, sends half of one, or says a length that can't
// be does no harm.
func TestLiveOddBytes(t *testing.T) {
	near, far := net.Pipe()
	l, s := listening(t, boat), newTape()
	f := frame(t, "19F21123#103E49DC050000FF")
	whole := kernel(&f)
	odd := append([]byte(nil), whole...)
	odd[4] = 200
	go func() {
		for _, part := range [][]byte{whole[:3], whole[3:], odd, append(append([]byte(nil), whole...), whole[:5]...)} {
			_, _ = far.Write(part)
		}
		far.Close()
	}()
	if err := l.listen(near, s); !errors.Is(err, io.EOF) {
		t.Error(err)
	}
	s.All(t, "fresh can/boat 75%, fresh can/boat 75%, fresh can/boat 75%")
}

// These ask the system itself.
func TestNoInterface(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := listening(t, strings.Replace(boat, "can0", "nosuchcan0", 1))
		s := newTape()
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		defer cancel()
		if err := c.Run(ctx, s, s); err != nil {
			t.Error(err)
		}
		if len(s.Told) < 3 || len(s.Told) > 6 {
			t.Errorf("told %d times in 10 s", len(s.Told))
		}
		for _, words := range s.Told {
			if !strings.HasPrefix(words, "down there is no interface nosuchcan0: ") || !strings.Contains(words, "ip link") {
				t.Error(words)
			}
		}
	})
	// The loopback interface is up and no bus. Where the kernel has no CAN, that is said.
	conn, err := open(t.Context(), "lo")
	if err == nil {
		conn.Close()
		t.Fatal("the loopback interface was opened as a bus")
	}
	t.Log(whyNot("lo", err))
	if errors.Is(err, syscall.EAFNOSUPPORT) && !strings.Contains(whyNot("lo", err).Error(), "load its modules can and can_raw") {
		t.Error(whyNot("lo", err))
	}
}

func TestWhyNot(t *testing.T) {
	for err, want := range map[error]string{
		errDown:          "can0 is down: interface down; bring it up",
		errStopped:       "off the bus",
		syscall.EACCES:   "may not be opened by this user",
		syscall.EIO:      "can0: input/output error",
		io.EOF:           "can0 was closed",
		syscall.ENODEV:   "there is no interface can0: no such device; plug the adapter in",
		syscall.ENETDOWN: "can0 is down: network is down",
	} {
		if got := whyNot("can0", err); !errors.Is(got, err) || !strings.Contains(got.Error(), want) {
			t.Errorf("%v; expected %q", got, want)
		}
	}
}
