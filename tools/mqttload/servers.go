package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// server is a server's process.
type server struct {
	cmd     *exec.Cmd
	pid     string
	address string
	folder  string
	out     *bufio.Reader // nil where it says nothing
}

// start starts a server by its name.
func start(name, data, profile string, l load) (*server, error) {
	folder, err := os.MkdirTemp(data, "mqttload-")
	if err != nil {
		return nil, err
	}
	s := &server{folder: folder}
	var out io.Reader
	switch name {
	case "ours", "bare":
		self, err := os.Executable()
		if err != nil {
			return nil, err
		}
		if profile == "" || name == "bare" {
			profile = "-"
		}
		s.cmd = exec.Command(self, "serve", name, folder, strconv.Itoa(l.tanks), profile)
		s.cmd.Stderr = os.Stderr
		if out, err = s.cmd.StdoutPipe(); err != nil {
			return nil, err
		}
	case "mosquitto":
		if err := s.mosquitto(); err != nil {
			return nil, err
		}
	case "watch":
		if err := s.watch(l); err != nil {
			return nil, err
		}
	default:
		return nil, fmt.Errorf("there is no server %q; expected ours, bare, mosquitto or watch", name)
	}
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	s.pid = strconv.Itoa(s.cmd.Process.Pid)
	if out != nil {
		s.out = bufio.NewReader(out)
		line, err := s.out.ReadString('\n')
		if err != nil {
			return nil, fmt.Errorf("%s didn't start: %w", name, err)
		}
		s.address = strings.TrimSpace(line)
		return s, nil
	}
	// The others don't say when they listen.
	for end := time.Now().Add(5 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		c, err := net.Dial("tcp", s.address)
		if err == nil {
			return s, c.Close()
		}
		if time.Now().After(end) {
			return nil, fmt.Errorf("%s doesn't listen: %w", name, err)
		}
	}
}

// mosquitto prepares Debian's broker, which keeps nothing.
func (s *server) mosquitto() error {
	path, err := exec.LookPath("mosquitto")
	if err != nil {
		if path, err = exec.LookPath("/usr/sbin/mosquitto"); err != nil {
			return errors.New("there is no mosquitto; install Debian's package mosquitto, or leave it out with -servers ours,bare")
		}
	}
	if err := s.free(); err != nil {
		return err
	}
	_, port, _ := net.SplitHostPort(s.address)
	conf := filepath.Join(s.folder, "mosquitto.conf")
	text := "listener " + port + " 127.0.0.1\nallow_anonymous true\npersistence false\nlog_type none\nmax_inflight_messages 0\n"
	if err := os.WriteFile(conf, []byte(text), 0o600); err != nil {
		return err
	}
	s.cmd = exec.Command(path, "-c", conf)
	return nil
}

// free finds a port that nobody listens at.
func (s *server) free() error {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	s.address = l.Addr().String()
	return l.Close()
}

// watch prepares the whole program.
func (s *server) watch(l load) error {
	if err := s.free(); err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "data = \"watch.db\"\n[mqtt]\nlisten = %q\n", s.address)
	for i := range l.tanks {
		fmt.Fprintf(&b, "[tank.%s]\nlower = 10\nupper = 250\n", tankName(i))
	}
	config := filepath.Join(s.folder, "watch.toml")
	if err := os.WriteFile(config, []byte(b.String()), 0o600); err != nil {
		return err
	}
	s.cmd = exec.Command(l.program, "watch", config)
	return nil
}

// stop ends the server and gives what it says of itself.
func (s *server) stop() (said string, err error) {
	defer os.RemoveAll(s.folder)
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		return "", err
	}
	if s.out != nil {
		text, err := io.ReadAll(s.out)
		if err != nil {
			return "", err
		}
		said = strings.TrimSpace(string(text))
	}
	return said, s.cmd.Wait()
}

// tick is the unit of processor time in /proc, which is 1/100 s on all of
// Linux's usual machines (man 5 proc; sysconf(_SC_CLK_TCK)).
const tick = 10 * time.Millisecond

// processorTime is how much a process has used, its own and in the kernel for it.
func processorTime(pid string) (time.Duration, error) {
	text, err := os.ReadFile("/proc/" + pid + "/stat")
	if err != nil {
		return 0, err
	}
	// The second field, the program's name, may have spaces and brackets.
	fields := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))
	if len(fields) < 13 {
		return 0, fmt.Errorf("/proc/%s/stat has %d fields; expected more", pid, len(fields))
	}
	user, err := strconv.ParseInt(fields[11], 10, 64)
	if err != nil {
		return 0, err
	}
	system, err := strconv.ParseInt(fields[12], 10, 64)
	return time.Duration(user+system) * tick, err
}
