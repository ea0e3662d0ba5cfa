//go:build linux || darwin

package modbus

import (
	"fmt"
	"log"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/peer"
	"gaugewright/internal/watch"
	theirs "github.com/simonvetter/modbus"
)

func pymodbus(t *testing.T, port int, framer string) (stop func()) {
	t.Helper()
	return peer.Beside(t, peer.Listens(port), peer.Interpreter(t, "pymodbus", "serial"), "testdata/server.py", strconv.Itoa(port), framer)
}

// libmodbus builds the server in C.
func libmodbus(t *testing.T) string {
	t.Helper()
	gcc, config, dir := peer.Tool(t, "gcc", "gcc"), peer.Tool(t, "pkg-config", "pkg-config"), t.TempDir()
	flags, err := exec.Command(config, "--cflags", "--libs", "libmodbus").Output()
	if err != nil {
		peer.Missing(t, "no libmodbus found; install it: apt-get install libmodbus-dev")
	}
	binary := filepath.Join(dir, "server")
	if out, err := exec.Command(gcc, append([]string{"-o", binary, "testdata/server.c"}, strings.Fields(string(flags))...)...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return binary
}

const tick = feed.Duration(100 * time.Millisecond)

// shared is what both servers hold.
var shared = []Read{
	{Tank: "abcd", Register: 0, Format: "float32", Order: "ABCD"},
	{Tank: "cdab", Register: 2, Format: "float32", Order: "CDAB"},
	{Tank: "badc", Register: 4, Format: "float32", Order: "BADC"},
	{Tank: "dcba", Register: 6, Format: "float32", Order: "DCBA"},
	{Tank: "tenths", Register: 10, Scale: 0.1},
	{Tank: "signed", Register: 11, Format: "int16", Signal: "volt"},
	{Tank: "input", Register: 0, Function: "input", Signal: "level_pct"},
}

var sharedValues = map[string]float64{"abcd": 123.456, "cdab": 123.456, "badc": 123.456, "dcba": 123.456, "tenths": 118.4, "signed": -2, "input": 42}

func device(url string, more ...Read) Config {
	c := Config{URL: url, Every: tick, Counting: "from 0"}
	for _, r := range append(append([]Read{}, shared...), more...) {
		if r.Function == "" {
			r.Function = "holding"
		}
		c.Read = append(c.Read, r)
	}
	return c
}

// holds waits for values, and checks what else a reading has.
func holds(t *testing.T, s *feedtest.Tape, want map[string]float64) {
	t.Helper()
	s.Wait(t, "reading of each", func() bool { return len(s.Last()) >= len(want) })
	s.Lock()
	defer s.Unlock()
	for tank, v := range want {
		r := s.Last()[tank]
		if math.Abs(r.Value-v) > 4e-6 || r.Said != watch.Measured {
			t.Errorf("%s: %v, %v; want %v", tank, r.Value, r.Said, v)
		}
		if r.Source != "modbus/bay" || r.Clock != watch.ArrivalClock || r.Time.IsZero() || !r.Time.Equal(r.Arrived) || time.Since(r.Time) > 10*time.Second {
			t.Errorf("%+v", r)
		}
	}
}

// The encoding of the values is pymodbus's own, and so is the server; it is gone
// for a while and comes back.
func TestPymodbusTCP(t *testing.T) {
	t.Parallel()
	port := peer.FreePort(t)
	gone := pymodbus(t, port, "tcp")
	c := device(fmt.Sprintf("tcp://127.0.0.1:%d", port),
		Read{Tank: "large", Register: 12, Format: "uint32", Order: "CDAB", Signal: "count"},
		Read{Tank: "small", Register: 14, Format: "int32", Order: "ABCD", Signal: "count"},
		Read{Tank: "none", Register: 16, None: []int64{0xFFFF}},
		Read{Tank: "missing", Register: 18}, // there is none: the whole block is refused, and then this one only
		Read{Tank: "behind", Register: 20, Signal: "count"},
		Read{Tank: "second", Unit: 2, Register: 0},
	)
	s, _ := feedtest.Running(t, New, c)
	want := map[string]float64{"large": 100000, "small": -100000, "behind": 777, "second": 9}
	for tank, v := range sharedValues {
		want[tank] = v
	}
	s.Wait(t, "reading of each", func() bool { return len(s.Last()) == len(c.Read) })
	holds(t, s, want)
	s.Lock()
	for _, tank := range []string{"none", "missing"} {
		if r := s.Last()[tank]; r.Said != watch.Unavailable {
			t.Errorf("%s: %+v", tank, r)
		}
	}
	if s.Counts["illegal data address"] == 0 || len(s.Counts) != 1 || !strings.Contains(s.Samples[len(s.Samples)-1], "missing: exception 2; look at register") || s.Ups != 1 || len(s.Downs) != 0 {
		t.Errorf("refused %v %q, up %d, down %v", s.Counts, s.Samples, s.Ups, s.Downs)
	}
	s.Unlock()
	gone()
	s.Wait(t, "loss", func() bool { return len(s.Downs) > 0 })
	pymodbus(t, port, "tcp")
	s.Do(func() { s.Readings = nil })
	s.Wait(t, "return", func() bool { return s.Ups == 2 && len(s.Last()) == len(c.Read) })
	holds(t, s, want)
}

// RTU frames, by pymodbus: over TCP, and over a serial line that socat makes.
func TestPymodbusRTU(t *testing.T) {
	t.Parallel()
	port := peer.FreePort(t)
	pymodbus(t, port, "rtu")
	s, stop := feedtest.Running(t, New, device(fmt.Sprintf("rtu+tcp://127.0.0.1:%d", port)))
	holds(t, s, sharedValues)
	stop()

	near := filepath.Join(t.TempDir(), "near")
	unplug := peer.SerialLine(t, near, fmt.Sprintf("tcp:127.0.0.1:%d", port))
	c := device("rtu://" + near)
	c.Speed, c.Parity = 115200, "none"
	s, _ = feedtest.Running(t, New, c)
	holds(t, s, sharedValues)
	if n := s.Refusals(); len(n) != 0 {
		t.Errorf("refused %v", n)
	}
	unplug()
	s.Wait(t, "loss", func() bool { return len(s.Downs) > 0 })
	peer.SerialLine(t, near, fmt.Sprintf("tcp:127.0.0.1:%d", port))
	s.Wait(t, "return", func() bool { return s.Ups == 2 })
}

// mbpolled are registers as mbpoll reads them.
func mbpolled(t *testing.T, args ...string) string {
	t.Helper()
	out, err := exec.Command(peer.Tool(t, "mbpoll", "mbpoll"), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("mbpoll: %v: %s", err, out)
	}
	var list []string
	for _, m := range regexp.MustCompile(`(?m)^\[\d+\]:\s+0x([0-9A-F]{4})`).FindAllStringSubmatch(string(out), -1) {
		list = append(list, m[1])
	}
	return strings.Join(list, " ")
}

// A server by libmodbus, over TCP and a serial line; mbpoll reads the same
// registers.
func TestLibmodbus(t *testing.T) {
	t.Parallel()
	server := libmodbus(t)
	port := peer.FreePort(t)
	peer.Beside(t, peer.Says("ready"), server, "tcp", strconv.Itoa(port))
	const registers = "42F6 E979 E979 42F6 F642 79E9 79E9 F642" // of 123.456
	// It serves one connection at a time, so they take turns.
	if got := mbpolled(t, "-m", "tcp", "-p", strconv.Itoa(port), "-a", "1", "-0", "-r", "0", "-c", "8", "-t", "4:hex", "-1", "127.0.0.1"); got != registers {
		t.Errorf("mbpoll reads %s, want %s", got, registers)
	}
	s, stop := feedtest.Running(t, New, device(fmt.Sprintf("tcp://127.0.0.1:%d", port)))
	holds(t, s, sharedValues)
	stop()

	dir := t.TempDir()
	near, far := filepath.Join(dir, "near"), filepath.Join(dir, "far")
	peer.SerialLine(t, near, far)
	peer.Beside(t, peer.Says("ready"), server, "rtu", far)
	if got := mbpolled(t, "-m", "rtu", "-b", "19200", "-P", "even", "-a", "1", "-0", "-r", "0", "-c", "8", "-t", "4:hex", "-1", near); got != registers {
		t.Errorf("mbpoll reads %s over a serial line, want %s", got, registers)
	}
	s, _ = feedtest.Running(t, New, device("rtu://"+near, Read{Tank: "missing", Register: 40}))
	holds(t, s, sharedValues)
	s.Wait(t, "count", func() bool {
		return s.Counts["illegal data address"] > 1 && s.Last()["missing"].Said == watch.Unavailable
	})
	if n := s.Refusals(); len(n) != 1 {
		t.Errorf("refused %v", n)
	}
}

// library is the handler of a server by a library of other people.
type library struct{ theirs.RequestHandler }

func (library) HandleHoldingRegisters(r *theirs.HoldingRegistersRequest) ([]uint16, error) {
	switch {
	case r.UnitId == 2:
		return nil, theirs.ErrServerDeviceBusy
	case r.UnitId == 3:
		return nil, theirs.ErrGWTargetFailedToRespond
	case r.UnitId == 4:
		return nil, theirs.ErrServerDeviceFailure
	}
	list := make([]uint16, r.Quantity)
	for n := range list {
		list[n] = r.Addr + uint16(n)
	}
	return list, nil
}

// Exceptions of the device itself leave its tanks without a value; those that
// only ask for patience, or come from a gateway, don't.
func TestExceptions(t *testing.T) {
	t.Parallel()
	port := peer.FreePort(t)
	server, err := theirs.NewServer(&theirs.ServerConfiguration{URL: fmt.Sprintf("tcp://127.0.0.1:%d", port), Timeout: 5 * time.Second, MaxClients: 2, Logger: log.New(t.Output(), "", 0)}, library{})
	if err != nil {
		t.Fatal(err)
	}
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	defer server.Stop()
	c := Config{URL: fmt.Sprintf("tcp://127.0.0.1:%d", port), Every: tick, Counting: "from 40001"}
	for unit := 1; unit <= 4; unit++ {
		c.Read = append(c.Read, Read{Tank: fmt.Sprint("t", unit), Unit: unit, Register: 40119})
	}
	c.Read = append(c.Read, Read{Tank: "last", Register: 105536, Counting: "from 40001", Unit: 1})
	s, stop := feedtest.Running(t, New, c)
	s.Wait(t, "second round", func() bool { return s.Counts["device busy"] >= 2 && s.Counts["device failure"] >= 2 })
	stop()
	if n := s.Refusals(); n["gateway target didn't answer"] < 2 || len(n) != 3 {
		t.Errorf("refused %v", n)
	}
	last := s.Last()
	if r := last["t1"]; r.Value != 118 { // 40119 is the 119th, address 118
		t.Errorf("%+v", r)
	}
	if r := last["last"]; r.Value != 65535 {
		t.Errorf("%+v", r)
	}
	if r, ok := last["t4"]; !ok || r.Said != watch.Unavailable {
		t.Errorf("%+v", r)
	}
	for _, tank := range []string{"t2", "t3"} {
		if r, ok := last[tank]; ok {
			t.Errorf("%+v, and the unit wasn't asked about its registers", r)
		}
	}
}
