//go:build linux || darwin

package meter

import (
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/sitting"
	"github.com/creack/pty"
)

// cable is a serial line with an instrument at its far end, which is a pair of
// pseudo-terminals; port is a name that stays when it is pulled out and put in.
type cable struct {
	t    *testing.T
	port string
	i    *simulated.Instrument
	far  *os.File
	end  chan struct{}
}

func plugged(t *testing.T, o simulated.Options) *cable {
	c := &cable{t: t, port: filepath.Join(t.TempDir(), "port"), i: simulated.New(o)}
	t.Cleanup(func() { c.i.Close() })
	c.plug()
	return c
}

func (c *cable) plug() {
	c.t.Helper()
	far, near, err := pty.Open()
	if err != nil {
		c.t.Fatal(err)
	}
	if err := os.Symlink(near.Name(), c.port); err != nil {
		c.t.Fatal(err)
	}
	// A copy that doesn't block, so that closing it ends a read under way.
	fd, err := syscall.Dup(int(far.Fd()))
	if err != nil {
		c.t.Fatal(err)
	}
	far.Close()
	if err := syscall.SetNonblock(fd, true); err != nil {
		c.t.Fatal(err)
	}
	far = os.NewFile(uintptr(fd), "far end")
	c.far, c.end = far, make(chan struct{})
	end := c.end
	go func() {
		c.i.Serve(far)
		near.Close() // open till then, or the far end would see the line down
		close(end)
	}()
	c.t.Cleanup(func() { far.Close() })
}

func (c *cable) unplug() {
	c.t.Helper()
	if err := os.Remove(c.port); err != nil {
		c.t.Fatal(err)
	}
	c.far.Close()
	<-c.end
}

func TestSerialLine(t *testing.T) {
	for _, test := range []struct {
		kind string
		o    simulated.Options
	}{
		{SCPIOverSerial, simulated.Options{Drip: time.Millisecond, End: "\r\n"}},
		{LinesOverSerial, simulated.Options{Lines: 60 * time.Millisecond, Drip: 5 * time.Millisecond, End: "\r\n"}},
	} {
		t.Run(test.kind, func(t *testing.T) {
			t.Parallel()
			test.o.Lag, test.o.Noise = -1, -1
			c := plugged(t, test.o)
			c.i.SetOhms(118.4)
			setup := Setup{Kind: test.kind, Address: c.port, Baud: 19200, EveryMS: 50}
			tp := run(t, setup, Options{})
			near(t, tp.next(reading, 3*time.Second), 118.4)
			pulled := time.Now()
			c.unplug() // in the middle of a value, more often than not
			away := tp.next(sitting.Away, time.Second)
			if says(t, away, sitting.Away, "look at its cable"); away.At.Sub(pulled) > 500*time.Millisecond {
				t.Errorf("away %v after it was pulled out", away.At.Sub(pulled))
			}
			says(t, tp.next(sitting.Away, time.Second), sitting.Away, "isn't there; plug its cable in")
			c.i.SetOhms(42)
			c.plug()
			near(t, tp.next(reading, 5*time.Second), 42)
			for _, s := range tp.all(300 * time.Millisecond) {
				near(t, s, 42)
			}
			tp.stop()

			id, s, err := Try(context.Background(), setup)
			if near(t, s, 42); err != nil || (id.Model == "Bench 1") != setup.scpi() {
				t.Errorf("%+v, %v", id, err)
			}
		})
	}
}

// A port that nothing is connected to stays open, and its silence is told.
func TestSilentPort(t *testing.T) {
	t.Parallel()
	c := plugged(t, simulated.Options{Lines: time.Hour})
	tp := run(t, Setup{Kind: LinesOverSerial, Address: c.port}, Options{})
	says(t, tp.next(sitting.Away, 2600*time.Millisecond), sitting.Away, "sends nothing")
}

// Lines that the system kept from before the port was opened are old values.
func TestOldLines(t *testing.T) {
	t.Parallel()
	c := plugged(t, simulated.Options{Lag: -1, Noise: -1, Lines: 700 * time.Millisecond})
	c.i.SetOhms(42)
	if _, err := c.far.WriteString("777\n777\n777\n"); err != nil {
		t.Fatal(err)
	}
	tp := run(t, Setup{Kind: LinesOverSerial, Address: c.port}, Options{})
	near(t, tp.next(reading, 3*time.Second), 42)
}

func TestNoPort(t *testing.T) {
	for path, want := range map[string]string{
		filepath.Join(t.TempDir(), "none"): "isn't there",
		os.DevNull:                         "isn't a serial port",
	} {
		_, s, err := Try(t.Context(), Setup{Kind: LinesOverSerial, Address: path})
		if says(t, s, sitting.Away, want); err == nil || err.Error() != s.Words {
			t.Errorf("%v", err)
		}
	}
}
