package meter

import (
	"context"
	"io"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
)

var lines = Setup{Kind: LinesOverTCP, Address: "bench-1:4001"}
var serialLines = Setup{Kind: LinesOverSerial, Address: "COM3"}

func TestLines(t *testing.T) {
	for _, setup := range []Setup{lines, serialLines} {
		for _, o := range []simulated.Options{
			{Lines: 250 * time.Millisecond},
			{Lines: 500 * time.Millisecond, Drip: 10 * time.Millisecond, End: "\r\n"},
			{Lines: 1700 * time.Millisecond, End: "\r"},
		} {
			o.Lag, o.Noise = -1, -1
			bench(t, o, setup, func(t *testing.T, i *simulated.Instrument, tp *tape) {
				near(t, tp.next(reading, 5*time.Second), 118.4)
				i.SetOhms(42)
				tp.all(3 * time.Second)
				list := tp.all(20 * time.Second)
				for _, s := range list {
					near(t, s, 42)
				}
				if n, want := len(list), int(20*time.Second/(o.Lines+7*o.Drip)); n < want-1 || n > want+1 {
					t.Errorf("%d readings of about %d lines", n, want)
				}
				i.SetOpen()
				says(t, tp.next(over, 3*time.Second), over, "open circuit")
				i.SetOhms(7)
				near(t, tp.next(reading, 3*time.Second), 7)
			})
		}
	}
}

func TestFaultsOfLines(t *testing.T) {
	for _, test := range []struct {
		name  string
		fault simulated.Fault
		state sitting.State
		words string
	}{
		{"garbled", simulated.Garble, garbling, "sends what is no number"},
		{"volts", simulated.Volts, unfit, "answers volts; set it to ohms"},
		{"silent", simulated.Silent, sitting.Away, "sends nothing"},
		{"dropped", simulated.Drop, sitting.Away, "cut off in the middle"},
		{"half", simulated.Half, sitting.Away, "stopped in the middle"},
		{"gone", simulated.Gone, sitting.Away, "is cut off"},
	} {
		for _, setup := range []Setup{lines, serialLines} {
			t.Run(test.name+" "+setup.Kind, func(t *testing.T) {
				bench(t, simulated.Options{Lines: 300 * time.Millisecond, Lag: -1, Noise: -1}, setup, func(t *testing.T, i *simulated.Instrument, tp *tape) {
					near(t, tp.next(reading, 3*time.Second), 118.4)
					i.SetFault(test.fault)
					says(t, tp.next(test.state, 2500*time.Millisecond), test.state, test.words)
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

// sent runs a meter against one connection over which pieces come at times.
func sent(t *testing.T, setup Setup, pieces []piece, test func(*testing.T, []sitting.Sample)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		first := true
		tp := run(t, setup, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			if !first {
				return nil, io.EOF
			}
			first = false
			near, far := net.Pipe()
			go func() {
				for _, p := range pieces {
					time.Sleep(p.after)
					_, _ = io.WriteString(far, p.text)
				}
			}()
			return near, nil
		}})
		list := tp.all(10 * time.Second)
		tp.stop()
		test(t, list)
	})
}

type piece struct {
	after time.Duration
	text  string
}

func TestFirstLine(t *testing.T) {
	const ms = time.Millisecond
	for _, test := range []struct {
		name   string
		pieces []piece
		want   []float64
	}{
		{"may be half", []piece{{10 * ms, "8.4\n"}, {300 * ms, "119\n"}}, []float64{119}},
		{"may be half, in two pieces", []piece{{100 * ms, "8"}, {100 * ms, ".4\n119\n"}}, []float64{119}},
		{"whole after a gap", []piece{{300 * ms, "118.4\n"}, {300 * ms, "119\n"}}, []float64{118.4, 119}},
		{"stood still within a line", []piece{{300 * ms, "118"}, {1500 * ms, ".4\n"}, {300 * ms, "119\n"}}, []float64{119}},
		{"ended late", []piece{{300 * ms, "118.4"}, {1500 * ms, "\n"}, {300 * ms, "119\n"}}, []float64{119}},
		{"two in one packet", []piece{{300 * ms, "118.4\n119\r\n"}}, []float64{118.4}}, // thinned: the second comes at once
	} {
		sent(t, lines, test.pieces, func(t *testing.T, list []sitting.Sample) {
			var got []float64
			for _, s := range list {
				if s.State == reading {
					got = append(got, float64(s.Value))
				}
			}
			if len(got) != len(test.want) {
				t.Errorf("%s: %v, want %v", test.name, got, test.want)
				return
			}
			for n := range got {
				if got[n] != test.want[n] {
					t.Errorf("%s: %v, want %v", test.name, got, test.want)
				}
			}
		})
	}
}

// Half a line stays half when the connection is made anew before the rest
// comes, as from a serial server that held it back.
func TestHalfAcrossConnections(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		n := 0
		tp := run(t, lines, Options{Dial: func(context.Context, Setup) (io.ReadWriteCloser, error) {
			n++
			pieces := []piece{{300 * time.Millisecond, "120\n"}, {300 * time.Millisecond, "118"}}
			if n > 1 {
				pieces = []piece{{300 * time.Millisecond, ".4\n"}, {300 * time.Millisecond, "119\n"}}
			}
			near, far := net.Pipe()
			go func() {
				for _, p := range pieces {
					time.Sleep(p.after)
					_, _ = io.WriteString(far, p.text)
				}
			}()
			return near, nil
		}})
		near(t, tp.next(reading, time.Second), 120)
		says(t, tp.next(sitting.Away, 3*time.Second), sitting.Away, "in the middle")
		near(t, tp.next(reading, 3*time.Second), 119)
		tp.stop()
	})
}

// Characters without an end of a line are no silence.
func TestNoEndOfLine(t *testing.T) {
	var pieces []piece
	for range 20 {
		pieces = append(pieces, piece{300 * time.Millisecond, "118.4 "})
	}
	sent(t, lines, pieces, func(t *testing.T, list []sitting.Sample) {
		if len(list) < 2 {
			t.Fatalf("%d samples", len(list))
		}
		says(t, list[1], garbling, "no end of a line")
	})
}

// A flood of lines is thinned to about twice the pace; a change of state isn't.
func TestFlood(t *testing.T) {
	bench(t, simulated.Options{Lines: time.Millisecond, Lag: -1, Noise: -1}, lines, func(t *testing.T, i *simulated.Instrument, tp *tape) {
		near(t, tp.next(reading, time.Second), 118.4)
		if n := len(tp.all(10 * time.Second)); n < 90 || n > 101 {
			t.Errorf("%d samples of 10 000 lines in 10 s", n)
		}
		i.SetOpen()
		tp.next(over, 10*time.Millisecond)
	})
}

func TestLinesOfOtherSignals(t *testing.T) {
	setup := lines
	setup.Signal = curve.Milliamps
	sent(t, setup, []piece{{300 * time.Millisecond, "12.04 mA\n"}}, func(t *testing.T, list []sitting.Sample) {
		if len(list) < 2 {
			t.Fatalf("%d samples", len(list))
		}
		near(t, list[1], 12.04)
	})
}
