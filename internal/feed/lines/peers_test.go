//go:build linux || darwin

package lines

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/peer"
	"gaugewright/internal/watch"
)

// started runs a program beside the test, and waits until ready says so.
func started(t *testing.T, ready func(line string) bool, name string, args ...string) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	cmd := exec.CommandContext(ctx, name, args...)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var trouble strings.Builder
	cmd.Stderr = &trouble
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	said := make(chan string, 64)
	go func() {
		defer close(said)
		for s := bufio.NewScanner(out); s.Scan(); {
			select {
			case said <- s.Text():
			default:
			}
		}
	}()
	stopped := false
	stop = func() {
		if !stopped {
			stopped = true
			cancel()
			_ = cmd.Wait()
		}
	}
	t.Cleanup(stop)
	for end := time.After(20 * time.Second); !ready(""); {
		select {
		case line, ok := <-said:
			if !ok {
				stop()
				t.Fatalf("%s ended: %s", name, trouble.String())
			}
			if ready(line) {
				return stop
			}
		case <-time.After(20 * time.Millisecond):
		case <-end:
			t.Fatalf("%s isn't ready: %s", name, trouble.String())
		}
	}
	return stop
}

// line is two serial ports that are joined, by socat.
func line(t *testing.T, a, b string) (stop func()) {
	t.Helper()
	ready := func(string) bool {
		for _, link := range []string{a, b} {
			if m, _ := filepath.Glob(link); m == nil {
				return false
			}
		}
		return true
	}
	return started(t, ready, peer.Tool(t, "socat", "socat"), "pty,raw,echo=0,link="+a, "pty,raw,echo=0,link="+b)
}

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
		unplug := line(t, near, far)
		stop := started(t, func(line string) bool { return line == "ready" }, python, "-c", serialWriter, far)
		return func() { stop(); unplug() }
	}
	unplug := plug()
	s, _ := running(t, Config{Address: near, Keys: map[string]string{"R": "fresh", "W": "waste"}})
	enough := func() bool { return len(s.taken) >= 60 }
	s.wait(t, "readings", enough)
	check := func() {
		t.Helper()
		s.mu.Lock()
		defer s.mu.Unlock()
		if len(s.refused) != 0 {
			t.Errorf("refused %v %v", s.refused, s.samples)
		}
		opened := 0
		for _, r := range s.taken {
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
			t.Errorf("an open circuit %d times in %d readings", opened, len(s.taken))
		}
		clear(s.refused)
		s.taken = nil
	}
	check()
	unplug()
	s.wait(t, "loss", func() bool { return len(s.downs) > 0 })
	s.do(func() { clear(s.refused); s.taken = nil }) // half a line, more often than not
	plug()
	s.wait(t, "readings", enough)
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
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()
	started(t, func(line string) bool { return line == "ready" }, peer.Interpreter(t), "-c", socketServer, fmt.Sprint(port))
	s, _ := running(t, Config{Address: fmt.Sprintf("tcp://127.0.0.1:%d", port), Columns: []string{"fresh", "-", "waste"}, Signal: "count"})
	s.wait(t, "last reading", func() bool { return len(s.taken) > 0 && s.taken[len(s.taken)-1].Value == 2*2999 })
	s.mu.Lock()
	defer s.mu.Unlock()
	first := int(s.taken[0].Value)
	if first < 1 || first > 50 || len(s.taken) != 2*(3000-first) || len(s.refused) != 0 {
		t.Errorf("from %d on: %d readings, refused %v", first, len(s.taken), s.refused)
	}
	for n := 0; n < len(s.taken); n += 2 {
		a, b := s.taken[n], s.taken[n+1]
		if want := float64(first + n/2); a.Tank != "fresh" || a.Value != want || b.Tank != "waste" || b.Value != 2*want || a.Signal != watch.Count {
			t.Fatalf("%+v and %+v; want %v", a, b, want)
		}
		if n > 0 && !a.Time.After(s.taken[n-1].Time) {
			t.Fatalf("%v after %v", a.Time, s.taken[n-1].Time)
		}
	}
	if took := s.taken[len(s.taken)-1].Time.Sub(s.taken[0].Time); took < 2*time.Second || took > 6*time.Second {
		t.Errorf("they took %v", took)
	}
}
