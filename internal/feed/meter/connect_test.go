package meter

import (
	"context"
	"errors"
	"io"
	"net"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
)

// Attempts come after half a second and then at doubled times up to five
// seconds, each within a fifth; the people at the bench are told once.
func TestBackOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var at []time.Time
		tp := run(t, piped, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			at = append(at, time.Now())
			return nil, &net.OpError{Op: "dial", Err: syscall.ECONNREFUSED}
		}})
		list := tp.all(time.Minute)
		tp.stop()
		if len(list) != 2 {
			t.Errorf("%d samples, want Opening and Away", len(list))
		}
		says(t, list[1], sitting.Away, "takes no connection")
		for n, want := range []float64{0.5, 1, 2, 4, 5, 5, 5} {
			if got := at[n+1].Sub(at[n]).Seconds(); got < 0.8*want-1e-9 || got > 1.2*want+1e-9 {
				t.Errorf("attempt %d after %.2f s, want %g ± 20 %%", n+2, got, want)
			}
		}
	})
}

// After a connection that gave values the wait begins anew.
func TestBackOffBegins(t *testing.T) {
	bench(t, steady, piped, func(t *testing.T, i *simulated.Instrument, tp *tape) {
		for range 6 {
			near(t, tp.next(reading, 700*time.Millisecond), 118.4)
			i.SetFault(simulated.Gone)
			tp.next(sitting.Away, 300*time.Millisecond)
			i.SetFault(simulated.Fine)
		}
	})
}

func TestWhyNot(t *testing.T) {
	for _, test := range []struct {
		err  error
		want string
	}{
		{&net.DNSError{Err: "no such host", Name: "bench-1"}, "can't be found by that name"},
		{syscall.EHOSTUNREACH, "can't be reached from here"},
		{context.DeadlineExceeded, "doesn't answer"},
		{errors.New("odd"), "can't be connected (odd)"},
	} {
		if got := whyNot(piped, test.err); !strings.HasPrefix(got, test.want) {
			t.Errorf("%v: %q", test.err, got)
		}
	}
}

// stuck is a port whose reads and writes never come back until it is closed,
// and which may hang even then.
type stuck struct {
	closed chan struct{}
	hangs  bool
}

func (s stuck) Read([]byte) (int, error)  { <-s.closed; return 0, io.EOF }
func (s stuck) Write([]byte) (int, error) { <-s.closed; return 0, io.EOF }
func (s stuck) Close() error {
	if s.hangs {
		time.Sleep(time.Hour)
	}
	close(s.closed)
	return nil
}

func TestStuckPort(t *testing.T) {
	for _, hangs := range []bool{false, true} {
		for _, kind := range Kinds {
			synctest.Test(t, func(t *testing.T) {
				setup := Setup{Kind: kind, Address: "bench-1:4001"}
				tp := run(t, setup, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
					return stuck{make(chan struct{}), hangs}, nil
				}})
				tp.next(sitting.Away, 2500*time.Millisecond)
				tp.stop() // says itself if that takes more than a second
				time.Sleep(2 * time.Hour)
			})
		}
	}
}

// A port that takes a minute to open is let go of, and closed when it opens.
func TestStuckOpening(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var opened, closed atomic.Int64
		tp := run(t, Setup{Kind: LinesOverSerial, Address: "COM3"}, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			time.Sleep(time.Minute)
			opened.Add(1)
			return counted{&closed}, nil
		}})
		says(t, tp.next(sitting.Away, 11*time.Second), sitting.Away, "doesn't answer")
		tp.all(5 * time.Second)
		tp.stop()
		time.Sleep(2 * time.Minute)
		if opened.Load() != 2 || closed.Load() != 2 {
			t.Errorf("%d opened, %d closed", opened.Load(), closed.Load())
		}
	})
}

type counted struct{ closed *atomic.Int64 }

func (c counted) Read([]byte) (int, error)    { return 0, io.EOF }
func (c counted) Write(p []byte) (int, error) { return len(p), nil }
func (c counted) Close() error                { c.closed.Add(1); return nil }

// The time of a sample is that of the clock it was given.
func TestNow(t *testing.T) {
	at := time.Date(2031, 11, 3, 9, 0, 0, 0, time.UTC)
	synctest.Test(t, func(t *testing.T) {
		i := simulated.New(steady)
		o := by(i)
		o.Now = func() time.Time { return at }
		tp := run(t, piped, o)
		if s := tp.next(reading, time.Second); !s.At.Equal(at) {
			t.Errorf("%v, want %v", s.At, at)
		}
		tp.stop()
		i.Close()
	})
}

func TestPorts(t *testing.T) {
	ports, err := Ports()
	if err != nil || !slices.IsSorted(ports) {
		t.Errorf("%q, %v", ports, err)
	}
}
