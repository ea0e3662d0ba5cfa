package simulated

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"net"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// talk is one who sends messages to an instrument and reads lines.
type talk struct {
	t    *testing.T
	conn net.Conn
	r    *bufio.Reader
}

func to(t *testing.T, i *Instrument) *talk {
	near, far := net.Pipe()
	go i.Serve(far)
	return &talk{t, near, bufio.NewReader(near)}
}

func (k *talk) send(message string) {
	k.t.Helper()
	if _, err := io.WriteString(k.conn, message+"\n"); err != nil {
		k.t.Fatal(err)
	}
}

func (k *talk) ask(message string) string {
	k.t.Helper()
	k.send(message)
	return k.line()
}

func (k *talk) line() string {
	k.t.Helper()
	line, err := k.r.ReadString('\n')
	if err != nil {
		k.t.Fatal(err)
	}
	return strings.TrimSuffix(line, "\n")
}

// Commands and replies by the rules of IEEE 488.2 (required commands, *IDN? of
// four fields) and SCPI-99 (long and short forms in any case, optional nodes,
// error numbers, +9.9E37, 9.91E37). The numbers of errors but -113 and -410 are
// from memory.
func TestByTheStandard(t *testing.T) {
	for _, test := range []struct {
		message, reply string // "" for none
		fault          string // what SYST:ERR? says afterwards; "" is no error
	}{
		{"*IDN?", "Invented Instruments,Bench 1,0,1.0", ""},
		{"*idn?", "Invented Instruments,Bench 1,0,1.0", ""},
		{"*OPC?", "1", ""}, {"*TST?", "0", ""}, {"*STB?", "0", ""}, {"*ESR?", "0", ""}, {"*ESE?", "0", ""}, {"*SRE?", "0", ""},
		{"*CLS", "", ""}, {"*RST", "", ""}, {"*WAI", "", ""}, {"*OPC", "", ""}, {"*ESE 1", "", ""}, {"*SRE 1", "", ""},
		{"MEAS:RES?", "+1.18400000E+02", ""},
		{"MEASure:RESistance?", "+1.18400000E+02", ""},
		{":meas:scal:res?", "+1.18400000E+02", ""},
		{"MEASURE:SCALAR:FRESISTANCE? 1000,0.01", "+1.18400000E+02", ""},
		{"MEAS:VOLT:DC?", "+2.50000000E+00", ""}, {"MEAS:VOLT?", "+2.50000000E+00", ""}, {"MEAS:CURR:DC?", "+1.00000000E-02", ""},
		{"READ?", "+2.50000000E+00", ""}, // it wakes up for volts, as many do
		{"CONF:RES;READ?", "+1.18400000E+02", ""},
		{"CONF:RES;:INIT;FETC?", "+1.18400000E+02", ""},
		{"CONF:RES;FETC?", "", `-230,"Data corrupt or stale"`},
		{"*OPC?;*IDN?", "1;Invented Instruments,Bench 1,0,1.0", ""},
		{"MEASU:RES?", "", `-113,"Undefined header"`},
		{"MEAS:RES", "", `-113,"Undefined header"`},
		{"*IDN", "", `-113,"Undefined header"`},
		{"*CLS 5", "", `-108,"Parameter not allowed"`},
	} {
		t.Run(test.message, func(t *testing.T) {
			i := New(Options{Lag: -1, Noise: -1})
			defer i.Close()
			i.SetOhms(118.4)
			i.SetVolts(2.5)
			i.SetAmps(0.01)
			k := to(t, i)
			if test.reply != "" {
				if got := k.ask(test.message); got != test.reply {
					t.Errorf("%q, want %q", got, test.reply)
				}
			} else {
				k.send(test.message)
			}
			want := `0,"No error"`
			if test.fault != "" {
				if got := k.ask("SYST:ERR?"); got != test.fault {
					t.Errorf("%q, want %q", got, test.fault)
				}
			}
			if got := k.ask("SYSTem:ERRor:NEXT?"); got != want {
				t.Errorf("%q, want %q", got, want)
			}
		})
	}
}

func TestErrorQueue(t *testing.T) {
	i := New(Options{})
	defer i.Close()
	k := to(t, i)
	for range longestQueue + 5 {
		k.send("NONSENSE")
	}
	for range longestQueue - 1 {
		if got := k.ask("SYST:ERR?"); got != `-113,"Undefined header"` {
			t.Fatal(got)
		}
	}
	if got := k.ask("SYST:ERR?"); got != `-350,"Queue overflow"` {
		t.Error(got)
	}
	k.send("NONSENSE")
	k.send("*CLS")
	if got := k.ask("SYST:ERR?"); got != `0,"No error"` {
		t.Error(got)
	}
}

func TestInterrupted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := New(Options{Lag: -1, Noise: -1})
		k := to(t, i)
		i.SetFault(Silent)
		k.send("MEAS:RES?")
		synctest.Wait()
		i.SetFault(Fine)
		if got := k.ask("*IDN?"); !strings.HasPrefix(got, "Invented") { // and not the value
			t.Error(got)
		}
		if got := k.ask("SYST:ERR?"); got != `-410,"Query INTERRUPTED"` {
			t.Error(got)
		}
		i.Close()
	})
}

// A first-order lag has 1 - 1/e of its way behind it after one time constant,
// and 1 - e^-4 after four.
func TestSettles(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := New(Options{Noise: -1, Step: 1e-6})
		i.SetOhms(100)
		time.Sleep(time.Minute)
		i.SetOhms(200)
		for n, want := range []float64{100, 200 - 100/math.E, 200 - 100*math.Exp(-2), 200 - 100*math.Exp(-3), 200 - 100*math.Exp(-4)} {
			var got float64
			if _, err := fmt.Sscan(i.reply(inOhms), &got); err != nil || math.Abs(got-want) > 2e-6 {
				t.Errorf("after %d lags: %g, %v; want %g", n, got, err, want)
			}
			time.Sleep(250 * time.Millisecond)
		}
	})
}

func TestNoise(t *testing.T) {
	draw := func(seed uint64) (list []string, mean, spread float64) {
		i := New(Options{Seed: seed, Lag: -1})
		i.SetOhms(50)
		var values []float64
		for range 2000 {
			text := i.reply(inOhms)
			var v float64
			if _, err := fmt.Sscan(text, &v); err != nil {
				t.Fatal(err)
			}
			if steps := v / 0.01; math.Abs(steps-math.Round(steps)) > 1e-6 {
				t.Fatalf("%s isn't a whole number of digits", text)
			}
			list, values, mean = append(list, text), append(values, v), mean+v/2000
		}
		for _, v := range values {
			spread += (v - mean) * (v - mean) / 2000
		}
		return list, mean, math.Sqrt(spread)
	}
	first, mean, spread := draw(1)
	if again, _, _ := draw(1); !slices.Equal(first, again) {
		t.Error("one seed gives two rows")
	}
	if other, _, _ := draw(2); slices.Equal(first, other) {
		t.Error("two seeds give one row")
	}
	// 0.7 digits, and a digit's own rounding of 1/sqrt(12): 0.00757 together.
	if math.Abs(mean-50) > 0.001 || math.Abs(spread-0.00757) > 0.0006 {
		t.Errorf("mean %g, spread %g", mean, spread)
	}
}

func TestListen(t *testing.T) {
	i, err := Listen("127.0.0.1:0", Options{Lines: 5 * time.Millisecond, Lag: -1, Noise: -1, Step: 0.1})
	if err != nil {
		t.Fatal(err)
	}
	i.SetOhms(118.4)
	conn, err := net.Dial("tcp", i.Addr())
	if err != nil {
		t.Fatal(err)
	}
	k := &talk{t, conn, bufio.NewReader(conn)}
	if got := k.line(); got != "118.4" {
		t.Error(got)
	}
	i.SetOpen()
	for got := k.line(); got != "OL"; got = k.line() {
		if got != "118.4" {
			t.Fatal(got)
		}
	}
	if _, err := Listen(i.Addr(), Options{}); err == nil {
		t.Error("two listen at one address")
	}
	for range 2 {
		if err := i.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := io.ReadAll(conn); err != nil {
		t.Log(err) // cut, one way or the other
	}
	if _, err := net.Dial("tcp", i.Addr()); err == nil {
		t.Error("a closed instrument takes a connection")
	}
}

func TestEveryFault(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := New(Options{Lag: -1, Noise: -1})
		i.SetOhms(118.4)
		k := to(t, i)
		for fault, want := range map[Fault]string{
			Fine: "+1.18400000E+02", Garble: "\x15?#1.1.8", Volts: "+1.18400000E+00 VDC", NotANum: "+9.91000000E+37", Half: "+1.18400000E+02",
		} {
			i.SetFault(fault)
			if got := k.ask("MEAS:RES?"); got != want {
				t.Errorf("%d: %q, want %q", fault, got, want)
			}
		}
		i.SetFault(Twice)
		k.send("MEAS:RES?")
		if a, b := k.line(), k.line(); a != "+7.77000000E+01" || b != "+1.18400000E+02" {
			t.Errorf("%q, %q", a, b)
		}
		i.SetFault(Drop)
		k.send("MEAS:RES?")
		if text, err := io.ReadAll(k.r); string(text) != "+1.1840" || err != nil {
			t.Errorf("%q, %v", text, err)
		}
		i.SetFault(Gone)
		if _, err := to(t, i).r.ReadByte(); err == nil {
			t.Error("one that is gone answers")
		}
		if i.Asked() != 7 {
			t.Errorf("asked %d times", i.Asked())
		}
		i.Close()
	})
}
