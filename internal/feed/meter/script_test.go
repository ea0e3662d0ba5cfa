package meter

import (
	"context"
	"io"
	"net"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
)

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

// A meter that sends something more after its answer is brought back to one
// question, one answer, before it is asked again.
func TestStrayAnswers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tp := run(t, piped, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			near, far := net.Pipe()
			go script(far, func(message string, send func(string, time.Duration)) {
				switch message {
				case "*IDN?":
					send("a,b,c,d\n", 0)
				case "MEAS:RES?":
					send("+118.4\n", 0)
					send("+77\n", 50*time.Millisecond)
				}
			})
			return near, nil
		}})
		near(t, tp.next(reading, 5*time.Second), 118.4)
		list := tp.all(10 * time.Second)
		for _, s := range list {
			near(t, s, 118.4)
		}
		if len(list) < 20 {
			t.Errorf("%d samples in 10 s", len(list))
		}
		tp.stop()
	})
}

// A meter without an error queue is asked for it once, and not again when it is
// connected anew.
func TestNoErrorQueue(t *testing.T) {
	o := steady
	o.Plain = true
	bench(t, o, Setup{Kind: SCPIOverTCP, Address: "bench-1", Ask: Read}, func(t *testing.T, i *simulated.Instrument, tp *tape) {
		near(t, tp.next(reading, 1100*time.Millisecond), 118.4)
		i.SetFault(simulated.Gone)
		tp.next(sitting.Away, 300*time.Millisecond)
		i.SetFault(simulated.Fine)
		near(t, tp.next(reading, 700*time.Millisecond), 118.4)
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
