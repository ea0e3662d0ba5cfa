package meter

import (
	"context"
	"net"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
)

func listening(t *testing.T, o simulated.Options) *simulated.Instrument {
	t.Helper()
	i, err := simulated.Listen("127.0.0.1:0", o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := i.Close(); err != nil {
			t.Error(err)
		}
	})
	return i
}

func TestOverASocket(t *testing.T) {
	t.Parallel()
	i := listening(t, steady)
	i.SetOhms(118.4)
	tp := run(t, Setup{Name: "Left bench", Kind: SCPIOverTCP, Address: i.Addr(), EveryMS: 50}, Options{})
	near(t, tp.next(reading, 2*time.Second), 118.4)
	i.SetFault(simulated.Gone)
	s := tp.next(sitting.Away, time.Second)
	if want := "The meter Left bench at " + i.Addr() + " is cut off; look at its cable and its switch."; s.Words != want {
		t.Errorf("%q, want %q", s.Words, want)
	}
	i.SetOhms(42)
	i.SetFault(simulated.Fine)
	near(t, tp.next(reading, 3*time.Second), 42)
}

// The trial of a setup says who is there and what it reads, or why not.
func TestTry(t *testing.T) {
	t.Parallel()
	i := listening(t, steady)
	setup := Setup{Kind: SCPIOverTCP, Address: i.Addr()}
	for _, test := range []struct {
		fault simulated.Fault
		state sitting.State
		words string
	}{
		{simulated.Garble, garbling, "no number"},
		{simulated.Volts, unfit, "set it to ohms"},
		{simulated.Drop, sitting.Away, "cut off in the middle"},
		{simulated.Silent, sitting.Away, "doesn't answer"},
		{simulated.Gone, sitting.Away, "is cut off"},
	} {
		i.SetFault(test.fault)
		_, s, err := Try(t.Context(), setup)
		says(t, s, test.state, test.words)
		if (err != nil) != (test.state == sitting.Away) || err != nil && err.Error() != s.Words {
			t.Errorf("%v", err)
		}
	}
	i.SetFault(simulated.Fine)
	i.SetOpen()
	if _, s, err := Try(t.Context(), setup); s.State != over || err != nil {
		t.Errorf("%+v, %v", s, err)
	}
	i.SetOhms(118.4)
	id, s, err := Try(t.Context(), setup)
	if near(t, s, 118.4); err != nil || id.Maker != "Invented Instruments" {
		t.Errorf("%+v, %v", id, err)
	}
	l := listening(t, simulated.Options{Lag: -1, Noise: -1, Lines: 100 * time.Millisecond})
	l.SetOhms(33)
	id, s, err = Try(t.Context(), Setup{Kind: LinesOverTCP, Address: l.Addr()})
	if near(t, s, 33); err != nil || id != (Identity{}) {
		t.Errorf("%+v, %v", id, err)
	}
}

func TestTryInVain(t *testing.T) {
	if _, _, err := Try(t.Context(), Setup{Kind: "none"}); err == nil || !strings.HasPrefix(err.Error(), "kind of meter") {
		t.Error(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	free := Setup{Kind: SCPIOverTCP, Address: l.Addr().String()}
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	if _, s, err := Try(ctx, free); err != context.DeadlineExceeded || s.State != sitting.Away {
		t.Errorf("%+v, %v", s, err) // it takes the connection and says nothing
	}
	l.Close()
	if _, s, err := Try(t.Context(), free); s.State != sitting.Away || err == nil || !strings.Contains(err.Error(), "takes no connection") {
		t.Errorf("%+v, %v", s, err)
	}
}
