package peer

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// readyLimit is how long a program may take until it is ready.
const readyLimit = time.Minute

// Ready says whether a program that was started is ready to be asked. It is
// asked with each line that the program prints, and with "" in between.
type Ready func(line string) bool

// Says is ready when the program has printed the line.
func Says(line string) Ready { return func(said string) bool { return said == line } }

// Listens is ready when a port of 127.0.0.1 takes connections.
func Listens(port int) Ready {
	return func(string) bool {
		c, err := net.Dial("tcp", fmt.Sprint("127.0.0.1:", port))
		if err == nil {
			c.Close()
		}
		return err == nil
	}
}

// Beside runs a program beside a test, such as a server, and returns when it is
// ready. It ends with the test, or when stop is called. One that ends before it
// is ready, or isn't within a minute, fails the test.
func Beside(t testing.TB, ready Ready, name string, args ...string) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.WaitDelay = 5 * time.Second
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var trouble strings.Builder // to be read after stop
	cmd.Stderr = &trouble
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	stop = sync.OnceFunc(func() {
		cancel()
		_ = cmd.Wait()
	})
	t.Cleanup(stop)
	lines := make(chan string, 64)
	go func() {
		defer close(lines)
		for s := bufio.NewScanner(out); s.Scan(); {
			select {
			case lines <- s.Text():
			default: // nobody listens any more
			}
		}
	}()
	for end := time.After(readyLimit); !ready(""); {
		select {
		case line, ok := <-lines:
			if !ok {
				stop()
				t.Fatalf("%s ended before it was ready%s", name, quoted("standard error", trouble.String()))
			}
			if ready(line) {
				return stop
			}
		case <-time.After(20 * time.Millisecond):
		case <-end:
			stop()
			t.Fatalf("%s isn't ready after %v%s", name, readyLimit, quoted("standard error", trouble.String()))
		}
	}
	return stop
}

// SerialLine joins two ends by socat until the test ends, or unplug is called.
// An end is the path of a serial port, which is made, or an address in socat's
// own words: "tcp:127.0.0.1:4001".
func SerialLine(t testing.TB, near, far string) (unplug func()) {
	t.Helper()
	var ports, args []string
	for _, end := range []string{near, far} {
		if filepath.IsAbs(end) {
			ports = append(ports, end)
			end = "pty,raw,echo=0,link=" + end
		}
		args = append(args, end)
	}
	ready := func(string) bool {
		for _, port := range ports {
			if _, err := os.Lstat(port); err != nil {
				return false
			}
		}
		return true
	}
	return Beside(t, ready, Tool(t, "socat", "socat"), args...)
}
