package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// TestMain has the test program be a server where it is asked to, as the command
// does with itself.
func TestMain(m *testing.M) {
	if len(os.Args) > 1 && os.Args[1] == "serve" {
		if err := serve(os.Args[2:]); err != nil {
			fail(err)
		}
		return
	}
	os.Exit(m.Run())
}

// TestServers has each server do a little: what it takes in is acknowledged, ours
// has it on disk, and times are measured.
func TestServers(t *testing.T) {
	servers := []string{"ours", "bare", "mosquitto"}
	if _, err := exec.LookPath("mosquitto"); err != nil {
		if _, err := os.Stat("/usr/sbin/mosquitto"); err != nil {
			servers = servers[:2] // the command says so, and needs it
		}
	}
	for _, name := range servers {
		for _, five := range []bool{false, true} {
			t.Run(fmt.Sprint(name, " ", five), func(t *testing.T) {
				t.Parallel()
				l := load{connections: 20, window: 5, tanks: 3, five: five, warming: 50 * time.Millisecond, length: 200 * time.Millisecond}
				s, err := start(name, t.TempDir(), "", l)
				if err != nil {
					t.Fatal(err)
				}
				r, err := l.run(s)
				said, stopping := s.stop()
				if err != nil || stopping != nil {
					t.Fatal(err, stopping)
				}
				if r.rate <= 0 || r.server < 0 || r.generator < 0 || r.slowest <= 0 {
					t.Errorf("%+v", r)
				}
				if name == "ours" && (!strings.Contains(said, "readings on disk") || !strings.HasSuffix(said, "refused []")) {
					t.Errorf("it says %q", said)
				}
			})
		}
	}
}

// TestProcessorTime burns some.
func TestProcessorTime(t *testing.T) {
	before, err := processorTime("self")
	if err != nil {
		t.Skip("this system has no /proc; the command needs Linux:", err)
	}
	n := 0
	for end := time.Now().Add(200 * time.Millisecond); time.Now().Before(end); n++ {
	}
	after, err := processorTime("self")
	if err != nil || after <= before || after-before > 5*time.Second {
		t.Errorf("%v before, %v after %d rounds, %v", before, after, n, err)
	}
}
