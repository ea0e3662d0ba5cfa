//go:build linux || darwin

package lines

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/peer"
	"gaugewright/internal/watch"
)

const serialWriter = `
import itertools, serial, sys, time
port = serial.Serial(sys.argv[1], 9600, write_timeout=5)
print("ready", flush=True)
for n in itertools.count():
    port.write(("R=%.1f,T=23.5,W=%s ohm\r\n" % (100 + n % 10, "OL" if n % 10 == 9 else "77")).encode())
    time.sleep(0.02)
`

// A device that writes by pySerial, on a line by socat; its cable is pulled and
// put in again.
func TestSerial(t *testing.T) {
	t.Parallel()
	python := peer.Interpreter(t, "serial")
	dir := t.TempDir()
	near, far := filepath.Join(dir, "near"), filepath.Join(dir, "far")
	plug := func() func() {
		unplug := peer.SerialLine(t, near, far)
		stop := peer.Beside(t, peer.Says("ready"), python, "-c", serialWriter, far)
		return func() { stop(); unplug() }
	}
	unplug := plug()
	s, _ := feedtest.Running(t, New, Config{Address: near, Keys: map[string]string{"R": "fresh", "W": "waste"}})
	enough := func() bool { return len(s.Readings) >= 60 }
	s.Wait(t, "readings", enough)
	check := func() {
		t.Helper()
		s.Lock()
		defer s.Unlock()
		if len(s.Counts) != 0 {
			t.Errorf("refused %v %v", s.Counts, s.Samples)
		}
		opened := 0
		for _, r := range s.Readings {
			ok := r.Said == watch.Measured
			switch r.Tank {
			case "fresh":
				ok = ok && r.Value >= 100 && r.Value <= 109
			case "waste":
				ok = ok && (r.Value == 77 || r.Value == openCircuit)
				if r.Value == openCircuit {
					opened++
				}
			}
			if !ok {
				t.Errorf("%+v", r)
			}
		}
		if opened < 2 {
			t.Errorf("an open circuit %d times in %d readings", opened, len(s.Readings))
		}
		clear(s.Counts)
		s.Readings = nil
	}
	check()
	unplug()
	s.Wait(t, "loss", func() bool { return len(s.Downs) > 0 })
	s.Do(func() { clear(s.Counts); s.Readings = nil }) // half a line, more often than not
	plug()
	s.Wait(t, "readings", enough)
	check()
}

const socketServer = `
import socket, sys, time
server = socket.socket()
server.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
server.bind(("127.0.0.1", int(sys.argv[1])))
server.listen()
print("ready", flush=True)
connection, _ = server.accept()
begun = time.monotonic()
for n in range(3000):
    connection.sendall(b"%d,-,%d\n" % (n, 2 * n))
    time.sleep(max(0, begun + n / 1000 - time.monotonic()))
time.sleep(60)
`

// A thousand lines a second for three seconds, from a Python socket: none is
// lost but the first, which may be half.
func TestThousandASecond(t *testing.T) {
	t.Parallel()
	port := peer.FreePort(t)
	peer.Beside(t, peer.Says("ready"), peer.Interpreter(t), "-c", socketServer, fmt.Sprint(port))
	s, _ := feedtest.Running(t, New, Config{Address: fmt.Sprintf("tcp://127.0.0.1:%d", port), Columns: []string{"fresh", "-", "waste"}, Signal: "count"})
	s.Wait(t, "last reading", func() bool { return len(s.Readings) > 0 && s.Readings[len(s.Readings)-1].Value == 2*2999 })
	s.Lock()
	defer s.Unlock()
	first := int(s.Readings[0].Value)
	if first < 1 || first > 50 || len(s.Readings) != 2*(3000-first) || len(s.Counts) != 0 {
		t.Errorf("from %d on: %d readings, refused %v", first, len(s.Readings), s.Counts)
	}
	for n := 0; n < len(s.Readings); n += 2 {
		a, b := s.Readings[n], s.Readings[n+1]
		if want := float64(first + n/2); a.Tank != "fresh" || a.Value != want || b.Tank != "waste" || b.Value != 2*want || a.Signal != watch.Count {
			t.Fatalf("%+v and %+v; want %v", a, b, want)
		}
		if n > 0 && !a.Time.After(s.Readings[n-1].Time) {
			t.Fatalf("%v after %v", a.Time, s.Readings[n-1].Time)
		}
	}
	if took := s.Readings[len(s.Readings)-1].Time.Sub(s.Readings[0].Time); took < 2*time.Second || took > 6*time.Second {
		t.Errorf("they took %v", took)
	}
}
