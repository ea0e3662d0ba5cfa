package main

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"gaugewright/internal/peer"
)

// program gives the program as it is shipped, built once for all tests at the most,
// so that they can start it as a process of its own and kill it.
var program = sync.OnceValues(func() (path string, err error) {
	if builtIn, err = os.MkdirTemp("", "gaugewright-test-"); err != nil {
		return "", err
	}
	return peer.Program(builtIn)
})

var (
	built   atomic.Bool
	builtIn string // a temporary folder; program sets it
)

func TestMain(m *testing.M) {
	status := m.Run()
	if built.Load() {
		_, _ = program() // it has come to its end
		_ = os.RemoveAll(builtIn)
	}
	os.Exit(status)
}

// process is the program, running by itself.
type process struct {
	t       *testing.T
	command *exec.Cmd
	url     string
	said    *lines
	ended   chan error
}

// lines collects what a process says.
type lines struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all.String()
}

// begin starts the program with a command line that serves pages, and waits
// until it says where.
func begin(t *testing.T, args ...string) *process {
	t.Helper()
	built.Store(true)
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(path, args...)
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p := &process{t: t, command: c, said: &lines{}, ended: make(chan error, 1)}
	c.Stderr = p.said
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.kill)
	where := make(chan string, 1)
	go func() {
		for s := bufio.NewScanner(out); s.Scan(); {
			fmt.Fprintln(p.said, s.Text())
			if url, ok := strings.CutPrefix(s.Text(), "Pages: "); ok {
				where <- url
			}
		}
		p.ended <- c.Wait()
		close(p.ended)
	}()
	select {
	case p.url = <-where:
	case err := <-p.ended:
		t.Fatalf("%s ended with %v:\n%s", strings.Join(args, " "), err, p.said)
	case <-time.After(time.Minute):
		t.Fatalf("%s doesn't say where its pages are:\n%s", strings.Join(args, " "), p.said)
	}
	return p
}

// kill ends the process at once, as a power cut would.
func (p *process) kill() {
	_ = p.command.Process.Kill() // it may be gone already
	<-p.ended
}

// endsWithin is how long a process may take to end, on a machine that does much else.
const endsWithin = time.Minute

// interrupt ends it as Ctrl-C does, and gives how it ended.
func (p *process) interrupt() error {
	p.t.Helper()
	if err := p.command.Process.Signal(os.Interrupt); err != nil {
		p.t.Fatal(err)
	}
	select {
	case err := <-p.ended:
		return err
	case <-time.After(endsWithin):
	}
	// It says what it waits for, and ends.
	if err := p.command.Process.Signal(syscall.SIGQUIT); err == nil {
		select {
		case <-p.ended:
		case <-time.After(endsWithin):
		}
	}
	p.t.Fatalf("it doesn't end within %v when it is interrupted:\n%s", endsWithin, p.said)
	return nil
}

// address gives the host and port that a process serves at, for the next one.
func (p *process) address() string {
	return strings.Trim(strings.TrimPrefix(p.url, "http://"), "/")
}

func TestServeIsInterrupted(t *testing.T) {
	data := filepath.Join(t.TempDir(), "folder", "w.db")
	p := begin(t, "serve", "--data", data, "--listen", "127.0.0.1:0")
	if err := p.interrupt(); err != nil {
		t.Errorf("it ended with %v", err)
	}
	if said := p.said.String(); !strings.Contains(said, data) || strings.Contains(said, "level=") {
		t.Errorf("it said:\n%s", said)
	}
	if _, err := os.Stat(data); err != nil {
		t.Error(err)
	}
}

func TestServeRefuses(t *testing.T) {
	folder := t.TempDir()
	short := filepath.Join(folder, "short")
	if err := os.WriteFile(short, []byte("secret\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	data := filepath.Join(folder, "w.db")
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"no pass phrase and no terminal": {[]string{"--listen", ":0"}, "--pass-phrase-file"},
		"a short pass phrase":            {[]string{"--listen", ":0", "--pass-phrase-file", short}, "expected 15 or more"},
		"no such file":                   {[]string{"--new-pass-phrase", "--pass-phrase-file", filepath.Join(folder, "none")}, "none"},
		"no address":                     {[]string{"--listen", "here"}, "expected a host and a port"},
		"a folder":                       {[]string{"--data", folder}, folder},
	} {
		t.Run(name, func(t *testing.T) {
			args := append([]string{"serve", "--data", data}, c.args...)
			status, _, messages := command("", args...)
			if status != exitInput || !strings.Contains(messages, c.want) {
				t.Errorf("status %d, %s; expected %d and %q", status, messages, exitInput, c.want)
			}
		})
	}
}

func TestServeKeepsThePassPhrase(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "phrase")
	if err := os.WriteFile(file, []byte("copper kettle on the stove\r\nnot this line\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	data := filepath.Join(folder, "w.db")
	p := begin(t, "serve", "--data", data, "--listen", "127.0.0.1:0", "--ask-always", "--pass-phrase-file", file)
	if err := p.interrupt(); err != nil {
		t.Fatal(err)
	}
	p = begin(t, "serve", "--data", data, "--listen", "127.0.0.1:0", "--ask-always")
	if err := p.interrupt(); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(p.said.String(), "kettle") {
		t.Error("it tells the pass phrase")
	}
}
