//go:build linux || darwin

package port

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
)

var usual = Setup{Speed: 9600, DataBits: 8, Parity: "none", StopBits: 1}

func TestPort(t *testing.T) {
	far, near, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer far.Close()
	defer near.Close()
	if _, err := far.WriteString("from before\n"); err != nil {
		t.Fatal(err)
	}
	// Its echo says that it has arrived; what is still on its way isn't dropped.
	b := make([]byte, 64)
	for echo := ""; !strings.HasSuffix(echo, "before\r\n"); {
		n, err := far.Read(b)
		if err != nil {
			t.Fatalf("the echo is %q, %v", echo, err)
		}
		echo += string(b[:n])
	}
	s := usual
	s.Path = near.Name()
	p, err := Open(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	p.SetDeadline(begun.Add(30 * time.Millisecond))
	if n, err := p.Read(b); n != 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("read %q, %v; expected nothing, and what came before it was opened dropped", b[:n], err)
	}
	if d := time.Since(begun); d < 25*time.Millisecond || d > time.Second {
		t.Errorf("gave up after %v, expected 30 ms", d)
	}
	p.SetDeadline(time.Time{})
	far.WriteString("118.4\n")
	if n, err := p.Read(b); err != nil || !strings.HasPrefix("118.4\n", string(b[:n])) || n == 0 {
		t.Errorf("read %q, %v", b[:n], err)
	}
	if _, err := p.Write([]byte("hello")); err != nil {
		t.Error(err)
	}
	if _, err := io.ReadFull(far, b[:5]); err != nil || string(b[:5]) != "hello" {
		t.Errorf("the far end got %q, %v", b[:5], err)
	}
	ended := make(chan error, 1)
	go func() { _, err := p.Read(b); ended <- err }()
	time.Sleep(20 * time.Millisecond)
	p.Close()
	select {
	case err := <-ended:
		if err == nil {
			t.Error("a read of a closed port has no error")
		}
	case <-time.After(2 * time.Second):
		t.Error("Close doesn't end a read")
	}
}

func TestWhyNot(t *testing.T) {
	for path, want := range map[string]string{
		filepath.Join(t.TempDir(), "none"): "isn't there; plug its cable in",
		os.DevNull:                         "isn't a serial port",
	} {
		s := usual
		s.Path = path
		if _, err := Open(t.Context(), s); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), path) {
			t.Errorf("%v; expected %q", err, want)
		}
	}
}

func TestCheck(t *testing.T) {
	good := Setup{Path: "COM3", Speed: 19200, DataBits: 8, Parity: "even", StopBits: 1}
	if key, err := good.Check(); err != nil {
		t.Errorf("%s: %v", key, err)
	}
	if s := good.String(); s != "COM3 19200 8E1" {
		t.Errorf("%q", s)
	}
	// 11 bits at 19,200 baud, by division.
	if d := good.Character(); d != 572916*time.Nanosecond {
		t.Errorf("a character of %v", d)
	}
	for want, change := range map[string]func(*Setup){
		"":          func(s *Setup) { s.Path = "" },
		"speed":     func(s *Setup) { s.Speed = 0 },
		"data_bits": func(s *Setup) { s.DataBits = 9 },
		"parity":    func(s *Setup) { s.Parity = "mark" },
		"stop_bits": func(s *Setup) { s.StopBits = 3 },
	} {
		s := good
		change(&s)
		if key, err := s.Check(); err == nil || key != want {
			t.Errorf("%+v: %q, %v; expected a fault of %q", s, key, err, want)
		}
	}
}

// Beyond 1024 open files the library underneath can't wait for a port. That is
// an error with words, not the end of the watch.
func TestManyOpen(t *testing.T) {
	far, near, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer far.Close()
	defer near.Close()
	for range 1100 {
		f, err := os.Open(os.DevNull)
		if err != nil {
			t.Fatalf("this test needs 1100 open files: %v", err)
		}
		defer f.Close()
	}
	s := usual
	s.Path = near.Name()
	p, err := Open(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if _, err := far.WriteString("118.4\n"); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(make([]byte, 64)); err == nil || !strings.Contains(err.Error(), "so many connections are open") {
		t.Errorf("%v", err)
	}
}
