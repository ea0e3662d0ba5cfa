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

	"gaugewright/internal/curve"
	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
)

func TestReadings(t *testing.T) {
	bench(t, steady, piped, func(t *testing.T, i *simulated.Instrument, tp *tape) {
		began := time.Now()
		says(t, tp.next(sitting.Opening, time.Second), sitting.Opening, "bench-1:5025 is being connected")
		s := tp.next(reading, time.Second)
		near(t, s, 118.4)
		if s.Spell != 0 || s.Signal != curve.Ohms || s.At.Before(began) || s.Words != "" {
			t.Errorf("%+v", s)
		}
		if id := tp.meter.Identity(); id.Model != "Bench 1" || id.Maker == "" {
			t.Errorf("%+v", id)
		}
		if n := len(tp.all(10 * time.Second)); n < 49 || n > 51 {
			t.Errorf("%d samples in 10 s at a pace of 200 ms", n)
		}
		i.SetOpen()
		says(t, tp.next(over, time.Second), over, "open circuit")
		if list := tp.all(5 * time.Second); len(list) != 0 {
			t.Errorf("an overload that lasts is told %d times more", len(list))
		}
		i.SetOhms(0)
		near(t, tp.next(reading, time.Second), 0)
		i.SetOhms(-0.02) // shorted leads
		tp.all(time.Second)
		near(t, tp.next(reading, time.Second), 0)
		i.SetOhms(-3)
		says(t, tp.next(unfit, time.Second), unfit, "less than nothing")
	})
}

// Replies come byte by byte, with CR LF, with an echo, late, or from a meter
// that knows only what IEEE 488.2 requires and its measurement.
func TestManners(t *testing.T) {
	for name, o := range map[string]simulated.Options{
		"byte by byte": {Drip: 20 * time.Millisecond},
		"CR LF":        {End: "\r\n"},
		"CR":           {End: "\r"},
		"echo":         {Echo: true},
		"slow":         {Delay: 1500 * time.Millisecond},
		"plain":        {Plain: true},
		"plain echo":   {Plain: true, Echo: true, End: "\r\n", Drip: time.Millisecond},
	} {
		for _, setup := range []Setup{piped, {Kind: SCPIOverSerial, Address: "COM3"}, {Kind: SCPIOverTCP, Address: "bench-1", Ask: Read}} {
			t.Run(name+" "+setup.Kind+" "+setup.Ask, func(t *testing.T) {
				o.Lag, o.Noise = -1, -1
				bench(t, o, setup, func(t *testing.T, i *simulated.Instrument, tp *tape) {
					near(t, tp.next(reading, 10*time.Second), 118.4)
					i.SetOhms(42)
					tp.all(4 * time.Second)
					for _, s := range tp.all(20 * time.Second) {
						near(t, s, 42)
					}
					if n := i.Asked(); n < 10 {
						t.Errorf("%d values in 24 s", n)
					}
				})
			})
		}
	}
}

func TestOtherSignals(t *testing.T) {
	for _, ask := range []string{Measure, Read} {
		for signal, want := range map[curve.Signal]float64{curve.Volts: 2.5, curve.Milliamps: 12} {
			setup := Setup{Kind: SCPIOverTCP, Address: "bench-1", Signal: signal, Ask: ask}
			bench(t, simulated.Options{Lag: -1, Noise: -1, Step: 1e-5}, setup, func(t *testing.T, i *simulated.Instrument, tp *tape) {
				i.SetVolts(2.5)
				i.SetAmps(0.012)
				tp.all(time.Second) // it may have been asked before that
				s := tp.next(reading, time.Second)
				if near(t, s, want); s.Signal != signal {
					t.Errorf("%v", s.Signal)
				}
			})
		}
	}
}

// The faults that meters and cables have. None of them ever gives a value that
// isn't between the leads; after each the meter is found again.
func TestFaults(t *testing.T) {
	for _, test := range []struct {
		name   string
		fault  simulated.Fault
		state  sitting.State
		words  string
		within time.Duration
	}{
		{"garbled", simulated.Garble, garbling, "sends what is no number", 300 * time.Millisecond},
		{"volts", simulated.Volts, unfit, "answers volts; set it to ohms", 300 * time.Millisecond},
		{"not a number", simulated.NotANum, garbling, "not a number", 300 * time.Millisecond},
		{"silent", simulated.Silent, sitting.Away, "doesn't answer", 2300 * time.Millisecond},
		{"dropped", simulated.Drop, sitting.Away, "cut off in the middle of a value", 300 * time.Millisecond},
		{"half", simulated.Half, sitting.Away, "stopped in the middle of a value", 2300 * time.Millisecond},
		{"twice", simulated.Twice, garbling, "two answers to one question", 600 * time.Millisecond},
		{"gone", simulated.Gone, sitting.Away, "is cut off", 300 * time.Millisecond},
	} {
		for _, setup := range []Setup{piped, {Kind: SCPIOverSerial, Address: "COM3"}} {
			t.Run(test.name+" "+setup.Kind, func(t *testing.T) {
				bench(t, steady, setup, func(t *testing.T, i *simulated.Instrument, tp *tape) {
					near(t, tp.next(reading, 3*time.Second), 118.4)
					i.SetFault(test.fault)
					says(t, tp.next(test.state, test.within), test.state, test.words)
					for _, s := range tp.all(30 * time.Second) {
						if s.State == reading {
							t.Errorf("a reading of %g while it fails", float64(s.Value))
						}
					}
					i.SetOhms(55)
					i.SetFault(simulated.Fine)
					near(t, tp.next(reading, 10*time.Second), 55)
					for _, s := range tp.all(10 * time.Second) {
						near(t, s, 55)
					}
				})
			})
		}
	}
}

// A meter that is slower than two seconds now and then interrupts its own
// replies (SCPI-99, -410); what comes late is never taken for the next answer.
func TestLateAnswers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var values atomic.Int64
		o := Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			near, far := net.Pipe()
			go script(far, func(message string, send func(string, time.Duration)) {
				switch message {
				case "*IDN?":
					send("a,b,c,d\n", 0)
				case "SYST:ERR?":
					send("0,\"No error\"\n", 0)
				case "MEAS:RES?":
					n := values.Add(1)
					if n%5 == 0 { // half, then the rest with the next answer in one packet
						send("+1.", 0)
						send("184E+03\n+77\n", 2500*time.Millisecond)
						return
					}
					send("+118.4\n", 0)
				}
			})
			return near, nil
		}}
		tp := run(t, piped, o)
		readings, away := 0, 0
		for _, s := range tp.all(2 * time.Minute) {
			switch s.State {
			case reading:
				near(t, s, 118.4)
				readings++
			case sitting.Away:
				away++
			}
		}
		if readings < 50 || away < 10 {
			t.Errorf("%d readings, %d times away", readings, away)
		}
		tp.stop()
		time.Sleep(time.Minute) // what the script was about to send
	})
}

// What a serial line holds when it is opened is no part of the first answer.
func TestLeftOver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tp := run(t, Setup{Kind: SCPIOverSerial, Address: "COM3"}, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			near, far := net.Pipe()
			go func() {
				_, _ = io.WriteString(far, "+7.7")
				script(far, func(message string, send func(string, time.Duration)) {
					switch message {
					case "*IDN?":
						send("a,b,c,d\n", 0)
					case "MEAS:RES?":
						send("+118.4\n", 0)
					}
				})
			}()
			return near, nil
		}})
		near(t, tp.next(reading, 5*time.Second), 118.4)
		if id := tp.meter.Identity(); id.Maker != "a" {
			t.Errorf("%+v", id)
		}
		tp.stop()
	})
}

// script answers messages over a connection as told, one after another.
func script(rw io.ReadWriteCloser, answer func(message string, send func(string, time.Duration))) {
	defer rw.Close()
	var c cutter
	buffer := make([]byte, 100)
	for {
		n, err := rw.Read(buffer)
		if err != nil {
			return
		}
		c.push(buffer[:n])
		for message, ok := c.next(); ok; message, ok = c.next() {
			answer(message, func(text string, after time.Duration) {
				time.Sleep(after)
				_, _ = io.WriteString(rw, text)
			})
		}
	}
}

// scripted runs a meter against a script, in fake time.
func scripted(t *testing.T, setup Setup, answers map[string]string, test func(*testing.T, *tape)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		tp := run(t, setup, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			near, far := net.Pipe()
			go script(far, func(message string, send func(string, time.Duration)) {
				if reply := answers[message]; reply != "" {
					send(reply, 0)
				}
			})
			return near, nil
		}})
		test(t, tp)
		tp.stop()
	})
}

func TestOddMeters(t *testing.T) {
	read := Setup{Kind: SCPIOverTCP, Address: "bench-1", Ask: Read}
	for _, test := range []struct {
		name    string
		setup   Setup
		answers map[string]string
		state   sitting.State
		words   string
	}{
		{"an identity of one field", piped, map[string]string{"*IDN?": "BENCH METER ONE\n", "SYST:ERR?": "0,\"No error\"\n", "MEAS:RES?": "+118.4\n"}, reading, ""},
		{"no error queue, and says so", piped, map[string]string{"*IDN?": "a,b,c,d\n", "SYST:ERR?": "WHAT\n", "MEAS:RES?": "+118.4\n"}, reading, ""},
		{"an endless error queue", piped, map[string]string{"*IDN?": "a,b,c,d\n", "SYST:ERR?": "-222,\"Data out of range\"\n", "MEAS:RES?": "+118.4\n"}, reading, ""},
		{"no such measurement", piped, map[string]string{"*IDN?": "a,b,c,d\n", "SYST:ERR?": "-113,\"Undefined header\"\n"}, unfit, "can't do MEAS:RES?: it says -113 Undefined header; choose the other way of asking"},
		{"can't be set", read, map[string]string{"*IDN?": "a,b,c,d\n", "SYST:ERR?": "-113,\"Undefined header\"\n"}, unfit, "can't be set by CONF:RES: it says -113 Undefined header"},
		{"no meter", piped, map[string]string{"GET /": "no\n"}, sitting.Away, "doesn't answer"},
		{"a device that sends what is no SCPI", piped, map[string]string{"*IDN?": "1\n", "MEAS:RES?": "2\n"}, sitting.Away, "doesn't answer"},
		{"a decimal comma", piped, map[string]string{"*IDN?": "a,b,c,d\n", "MEAS:RES?": "118,4\n"}, garbling, "decimal comma"},
	} {
		t.Run(test.name, func(t *testing.T) {
			scripted(t, test.setup, test.answers, func(t *testing.T, tp *tape) {
				if s := tp.next(test.state, 15*time.Second); test.state == reading {
					near(t, s, 118.4)
				} else {
					says(t, s, test.state, test.words)
				}
				away := 0
				for _, s := range tp.all(time.Minute) {
					if s.State == reading && test.state != reading {
						t.Errorf("a reading of %g", float64(s.Value))
					}
					if s.State == sitting.Away {
						away++
					}
				}
				if away > 0 {
					t.Errorf("%d times away in turns with %s", away, test.state)
				}
			})
		})
	}
}

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
