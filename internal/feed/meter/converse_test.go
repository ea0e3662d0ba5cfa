package meter

import (
	"testing"
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
