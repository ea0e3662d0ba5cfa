package station

import (
	"bytes"
	"errors"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// manager stands in for a service manager: it listens as sd_notify(3) says.
func manager(t *testing.T) func() string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "notify")
	conn, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	t.Setenv("NOTIFY_SOCKET", path)
	t.Setenv("WATCHDOG_USEC", "60000") // 60 ms
	t.Setenv("WATCHDOG_PID", "")
	return func() string {
		b := make([]byte, 4096)
		if err := conn.SetReadDeadline(time.Now().Add(300 * time.Millisecond)); err != nil {
			t.Fatal(err)
		}
		n, err := conn.Read(b)
		if err != nil {
			return "nothing"
		}
		return string(b[:n])
	}
}

// The service manager is told that the watch is ready, that it is alive while its
// loops go round, nothing while one doesn't, and that it stops.
func TestServiceManager(t *testing.T) {
	told := manager(t)
	s, _ := started(t, withDoors, Options{})
	var stuck atomic.Bool
	stop := Watched{Status: s.Status, Turning: func() error {
		if stuck.Load() {
			return errors.New("stuck")
		}
		return s.Turning()
	}}.Tell(t.Context())
	if got := told(); got != "READY=1\nSTATUS=0 of 1 tanks with a level, 0 readings kept" {
		t.Errorf("told %q", got)
	}
	for range 3 {
		if got := told(); !strings.HasPrefix(got, "WATCHDOG=1\nSTATUS=") {
			t.Errorf("told %q", got)
		}
	}
	stuck.Store(true)
	for told() != "nothing" { // what was on its way
	}
	stuck.Store(false)
	if got := told(); !strings.HasPrefix(got, "WATCHDOG=1") {
		t.Errorf("told %q", got)
	}
	stop()
	last := ""
	for got := told(); got != "nothing"; got = told() {
		last = got
	}
	if last != "STOPPING=1" {
		t.Errorf("at the end it told %q", last)
	}
}

// A disk that hangs, and a publishing that does, are seen as such.
func TestStuck(t *testing.T) {
	d := &disk{hold: make(chan struct{})}
	bubbledAlive(t, d)
	s, _ := started(t, withDoors, Options{})
	waits(t, "the loops", func() bool { return s.Turning() == nil })
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	s.begun = s.begun.Add(-2 * stands) // as long ago
	if err := s.Turning(); err == nil || !strings.Contains(err.Error(), "publishing of levels has stood still") {
		t.Errorf("%v", err)
	}
}

func bubbledAlive(t *testing.T, d *disk) {
	d.hold = nil
	bubbled(t, IntakeConfig{Keep: d}, func(t *testing.T, in *Intake) {
		time.Sleep(10 * stands)
		if in.turned() > 2*idle {
			t.Errorf("idle, it has stood still for %v", in.turned())
		}
		hold := make(chan struct{})
		d.hold = hold
		in.Later(one(0, 0), func(error) {})
		time.Sleep(stands + time.Second)
		if in.turned() <= stands {
			t.Errorf("with a disk that hangs, it has stood still for %v", in.turned())
		}
		close(hold)
	})
}

// Pages that end by themselves end the program.
func TestPagesEnd(t *testing.T) {
	s, _ := started(t, withDoors, Options{})
	s.listener.Close()
	select {
	case <-s.Ended():
	case <-time.After(5 * time.Second):
		t.Fatal("nobody is told")
	}
	if s.Err() == nil {
		t.Error("nobody is told why")
	}
}

// The unit says what makes it safe; systemd's own program finds nothing amiss in it,
// and little that is open.
func TestUnit(t *testing.T) {
	text, err := os.ReadFile("../../contrib/gaugewright.service")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		"Type=notify", "Restart=always", "WatchdogSec=120s", "NoNewPrivileges=yes", "ProtectSystem=strict", "PrivateTmp=yes", "StateDirectory=gaugewright",
		"MemoryMax=256M", "CapabilityBoundingSet=", "SystemCallFilter=@system-service", "StartLimitIntervalSec=0",
	} {
		if !strings.Contains(string(text), "\n"+line+"\n") {
			t.Errorf("no line %s", line)
		}
	}
	tool, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Log("there is no systemd-analyze, so the unit was only read")
		return
	}
	here := filepath.Join(t.TempDir(), "gaugewright.service")
	if err := os.WriteFile(here, bytes.ReplaceAll(text, []byte("/usr/local/bin/gaugewright"), []byte("/bin/true")), 0o600); err != nil {
		t.Fatal(err)
	}
	if said, err := exec.Command(tool, "verify", here).CombinedOutput(); err != nil || len(bytes.TrimSpace(said)) > 0 {
		t.Errorf("verify: %v\n%s", err, said)
	}
	// Of 100, where 0 is closed on all sides; fails above the threshold.
	if said, err := exec.Command(tool, "security", "--offline=true", "--no-pager", "--threshold=20", here).CombinedOutput(); err != nil {
		t.Errorf("security: %v\n%s", err, said)
	}
}
