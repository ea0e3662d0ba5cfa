package watch_test

import (
	"math"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

func level(t *testing.T, in *watch.Instrument, signal watch.Signal, value float64) watch.Level {
	t.Helper()
	w, err := watch.New(watch.Config{Tank: "gas", Instrument: in})
	if err != nil {
		t.Fatal(err)
	}
	var l watch.Level
	for i := range 600 {
		l = w.Take(watch.Reading{Tank: "gas", Source: "s", Time: time.Unix(1_780_000_000+int64(i), 0), Signal: signal, Value: value})
	}
	return l
}

func TestCorrectedInstrument(t *testing.T) {
	plain, err := watch.Ends(10, 180, 0.054)
	if err != nil {
		t.Fatal(err)
	}
	in, err := plain.Corrected(func(s quantity.Share) (l, u quantity.Share) { return 0.9*s - 0.02, 0.03 }, 1.1)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		signal watch.Signal
		value  float64
	}{{watch.Ohm, 10 + 170*0.6}, {watch.Percent, 60}} {
		was, is := level(t, plain, c.signal, c.value), level(t, in, c.signal, c.value)
		if math.Abs(float64(was.Share)-0.6) > 1e-6 || math.Abs(float64(is.Share)-0.52) > 1e-4 {
			t.Errorf("%v %g shows %v, and corrected %v; expected 0.6 and 0.52", c.signal, c.value, was.Share, is.Share)
		}
		if is.U < 0.03 || is.U > 0.035 {
			t.Errorf("a doubt of %v; expected a little above 0.03", is.U)
		}
		if math.Abs(is.Volume.Mid-0.52*0.054*1.1) > 1e-5 {
			t.Errorf("a volume of %v; expected %v", is.Volume.Mid, 0.52*0.054*1.1)
		}
		if is.Raw != was.Raw || is.MarkPct != was.MarkPct {
			t.Errorf("raw %v and mark %v, before %v and %v; expected the same", is.Raw, is.MarkPct, was.Raw, was.MarkPct)
		}
	}
	for _, bad := range []func(quantity.Share) (l, u quantity.Share){
		func(s quantity.Share) (l, u quantity.Share) { return 1 - s, 0 },
		func(s quantity.Share) (l, u quantity.Share) { return s, -1 },
		func(s quantity.Share) (l, u quantity.Share) { return quantity.Share(math.NaN()), 0 },
	} {
		if _, err := plain.Corrected(bad, 1); err == nil {
			t.Error("a correction that can't be is taken")
		}
	}
	if _, err := plain.Corrected(func(s quantity.Share) (l, u quantity.Share) { return s, 0 }, 0); err == nil {
		t.Error("a capacity of nothing is taken")
	}
}
