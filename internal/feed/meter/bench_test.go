package meter

import (
	"context"
	"io"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
)

// tape is what a running meter has handed on.
type tape struct {
	t       *testing.T
	meter   *Meter
	samples chan sitting.Sample
	stop    func()
}

// run starts a meter; it is stopped at the end of the test, or by stop.
func run(t *testing.T, setup Setup, o Options) *tape {
	t.Helper()
	m, err := New(setup, o)
	if err != nil {
		t.Fatal(err)
	}
	tp := &tape{t: t, meter: m, samples: make(chan sitting.Sample, 100_000)}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- m.Run(ctx, func(s sitting.Sample) { tp.samples <- s }) }()
	stopped := false
	tp.stop = func() {
		if stopped {
			return
		}
		stopped = true
		began := time.Now()
		cancel()
		if err := <-ended; err != context.Canceled {
			t.Errorf("Run ended with %v", err)
		}
		if took := time.Since(began); took > time.Second {
			t.Errorf("Run ended %v after its context", took)
		}
	}
	t.Cleanup(tp.stop)
	return tp
}

// next gives the first sample of a state within a time; everything before it is
// passed over.
func (tp *tape) next(state sitting.State, within time.Duration) sitting.Sample {
	tp.t.Helper()
	end := time.After(within)
	var seen []string
	for {
		select {
		case s := <-tp.samples:
			if s.State == state {
				return s
			}
			seen = append(seen, s.State.String()+" "+s.Words)
		case <-end:
			tp.t.Fatalf("no %s within %v; seen %q", state, within, seen)
		}
	}
}

// all lets time pass and gives every sample that came meanwhile.
func (tp *tape) all(d time.Duration) (list []sitting.Sample) {
	end := time.After(d)
	for {
		select {
		case s := <-tp.samples:
			list = append(list, s)
		case <-end:
			return list
		}
	}
}

// by connects to an instrument through a pipe, so that a bubble of fake time
// can hold both.
func by(i *simulated.Instrument) Options {
	return Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
		near, far := net.Pipe()
		go i.Serve(far)
		return near, nil
	}}
}

// piped is the setup of a meter that is reached through a pipe.
var piped = Setup{Kind: SCPIOverTCP, Address: "bench-1"}

// steady is an instrument without noise and lag.
var steady = simulated.Options{Lag: -1, Noise: -1}

// bench runs a test in fake time, with an instrument of 118.4 ohms.
func bench(t *testing.T, o simulated.Options, setup Setup, test func(*testing.T, *simulated.Instrument, *tape)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		i := simulated.New(o)
		i.SetOhms(118.4)
		tp := run(t, setup, by(i))
		test(t, i, tp)
		tp.stop()
		if err := i.Close(); err != nil {
			t.Error(err)
		}
		time.Sleep(time.Minute) // what the instrument was about to send
	})
}

func near(t *testing.T, s sitting.Sample, want float64) {
	t.Helper()
	if d := float64(s.Value) - want; s.State != reading || d > 0.005 || d < -0.005 {
		t.Errorf("%s %g (%s), want a reading of %g", s.State, float64(s.Value), s.Words, want)
	}
}

func says(t *testing.T, s sitting.Sample, state sitting.State, words string) {
	t.Helper()
	if s.State != state || !strings.Contains(s.Words, words) || !strings.HasPrefix(s.Words, "The meter at ") || !strings.HasSuffix(s.Words, ".") || s.Value != 0 {
		t.Errorf("%s %g %q; want %s, %q", s.State, float64(s.Value), s.Words, state, words)
	}
}
