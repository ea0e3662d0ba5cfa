package mqtt

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"gaugewright/internal/peer"
	"gaugewright/internal/watch"
)

// soon is how long a test waits for what should come at once.
const soon = time.Minute

// eventually waits until something is so.
func eventually(t testing.TB, what string, so func() bool) {
	t.Helper()
	for end := time.Now().Add(soon); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		if so() {
			return
		}
	}
	t.Fatalf("waited %v in vain: %s", soon, what)
}

// python runs a script that talks to a broker, and decodes what it prints.
func python(t testing.TB, script string, in, out any) {
	t.Helper()
	given, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 2*soon)
	defer cancel()
	cmd := exec.CommandContext(ctx, peer.Interpreter(t, "paho.mqtt"), "-c", script)
	cmd.Stdin = bytes.NewReader(given)
	var wrong bytes.Buffer
	cmd.Stderr = &wrong
	text, err := cmd.Output()
	if err == nil {
		err = json.Unmarshal(text, out)
	}
	if err != nil {
		t.Fatalf("python: %v\n%s%s", err, text, wrong.Bytes())
	}
}

func freePort(t testing.TB) string { return strconv.Itoa(peer.FreePort(t)) }

// mosquitto is Debian's broker, which can be stopped and started again.
type mosquitto struct {
	t    testing.TB
	path string
	dir  string
	port string
	cmd  *exec.Cmd
	log  lines
}

// newMosquitto starts a broker on a port of its own. The lines of configuration
// stand after the usual ones; listeners among them are further ones.
func newMosquitto(t testing.TB, configuration ...string) *mosquitto {
	t.Helper()
	path := "/usr/sbin/mosquitto" // where Debian has it, which isn't in everybody's PATH
	if _, err := os.Stat(path); err != nil {
		path = peer.Tool(t, "mosquitto", "mosquitto")
	}
	m := &mosquitto{t: t, path: path, dir: t.TempDir(), port: freePort(t)}
	config := strings.Join(append([]string{
		"persistence true", "persistence_location " + m.dir + "/", "max_queued_messages 100000",
		"allow_anonymous true", "log_type all", "connection_messages true", "sys_interval 0",
	}, configuration...), "\n")
	config += "\nlistener " + m.port + " 127.0.0.1\n"
	if os.Getuid() == 0 {
		config += "user root\n" // or it can't read the test's folder
	}
	if err := os.WriteFile(filepath.Join(m.dir, "broker.conf"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	m.start()
	t.Cleanup(m.stop)
	return m
}

func (m *mosquitto) start() {
	m.t.Helper()
	m.cmd = exec.Command(m.path, "-c", filepath.Join(m.dir, "broker.conf"))
	m.log.follow(m.t, m.cmd, true)
	for end := time.Now().Add(soon); ; time.Sleep(5 * time.Millisecond) {
		conn, err := net.Dial("tcp", "127.0.0.1:"+m.port)
		if err == nil {
			conn.Close()
			return
		}
		if time.Now().After(end) {
			m.t.Fatalf("mosquitto doesn't answer: %v\n%s", err, m.log.all())
		}
	}
}

// stop ends the broker in good order: it writes down what it has.
func (m *mosquitto) stop() {
	if m.cmd == nil {
		return
	}
	_ = m.cmd.Process.Signal(syscall.SIGTERM)
	_ = m.cmd.Wait()
	m.cmd = nil
}

// lines gathers what a program prints.
type lines struct {
	mu   sync.Mutex
	text []string
}

func (l *lines) add(line string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text = append(l.text, line)
}

func (l *lines) all() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Join(l.text, "\n")
}

func (l *lines) count(part string) (n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, line := range l.text {
		if strings.Contains(line, part) {
			n++
		}
	}
	return n
}

// follow starts the program and gathers its lines.
func (l *lines) follow(t testing.TB, cmd *exec.Cmd, errorsToo bool) {
	t.Helper()
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stdout = write
	if errorsToo {
		cmd.Stderr = write
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	write.Close()
	go func() {
		defer read.Close()
		in := bufio.NewScanner(read)
		in.Buffer(nil, 1<<20)
		for in.Scan() {
			l.add(in.Text())
		}
		_, _ = io.Copy(io.Discard, read)
	}()
}

// publish has mosquitto_pub publish, and returns what it said.
func publish(t testing.TB, port, version string, arguments ...string) (string, error) {
	t.Helper()
	peer.Tool(t, "mosquitto_pub", "mosquitto-clients")
	ctx, cancel := context.WithTimeout(context.Background(), soon)
	defer cancel()
	out, err := exec.CommandContext(ctx, "mosquitto_pub", append([]string{"-h", "127.0.0.1", "-p", port, "-V", version, "-q", "1"}, arguments...)...).CombinedOutput()
	return strings.TrimSpace(string(out)), err
}

// mustPublish is publish for what has to work.
func mustPublish(t testing.TB, port, version string, arguments ...string) {
	t.Helper()
	if out, err := publish(t, port, version, arguments...); err != nil || out != "" {
		t.Fatalf("mosquitto_pub -V %s %s: %v, %s", version, strings.Join(arguments, " "), err, out)
	}
}

// subscriber is a mosquitto_sub that runs. A line of it is the retain flag, the
// topic and the payload.
type subscriber struct {
	lines
	cmd *exec.Cmd
}

// subscribe runs mosquitto_sub until the test ends. It returns when the broker has
// acknowledged the subscription.
func subscribe(t testing.TB, port, version string, arguments ...string) *subscriber {
	t.Helper()
	peer.Tool(t, "mosquitto_sub", "mosquitto-clients")
	s := &subscriber{}
	// stdbuf is of coreutils: lines come one by one.
	s.cmd = exec.Command("stdbuf", append([]string{"-oL", "mosquitto_sub", "-h", "127.0.0.1", "-p", port, "-V", version, "-q", "1", "-d", "-F", "= %r %t %p"}, arguments...)...)
	s.follow(t, s.cmd, true)
	t.Cleanup(s.kill)
	eventually(t, "mosquitto_sub has subscribed", func() bool { return s.count("Subscribed (") > 0 })
	return s
}

// kill ends it without a word to the broker.
func (s *subscriber) kill() {
	if s.cmd.ProcessState == nil {
		_ = s.cmd.Process.Kill()
		_ = s.cmd.Wait()
	}
}

// got is what came so far, without its other talk.
func (s *subscriber) got() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []string
	for _, line := range s.text {
		if what, ok := strings.CutPrefix(line, "= "); ok {
			list = append(list, what)
		}
	}
	return list
}

// waitFor waits until a line has come; with a * in place of the retain flag,
// retained or not: it may have been published before or after the subscription.
func (s *subscriber) waitFor(t testing.TB, line string) {
	t.Helper()
	rest, either := strings.CutPrefix(line, "* ")
	for end := time.Now().Add(soon); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		for _, l := range s.got() {
			if l == line || either && l[2:] == rest {
				return
			}
		}
	}
	t.Fatalf("no %q came; got %q\n%s", line, s.got(), s.all())
}

// ledger is a sink that keeps readings, counts one of the same tank, time and
// value once, and can fail.
type ledger struct {
	mu      sync.Mutex
	fails   error
	handed  int // readings, however often
	kept    []watch.Reading
	known   map[string]bool
	refused map[string]int
	queue   chan func()
}

func newLedger(t testing.TB) *ledger {
	l := &ledger{known: make(map[string]bool), refused: make(map[string]int), queue: make(chan func(), 1<<16)}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for f := range l.queue {
			f()
		}
	}()
	t.Cleanup(func() { close(l.queue); <-done })
	return l
}

// fail has the disk fail from now on; nil: it works again.
func (l *ledger) fail(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.fails = err
}

func (l *ledger) Take(_ context.Context, readings []watch.Reading) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.handed += len(readings)
	if l.fails != nil {
		return l.fails
	}
	for _, r := range readings {
		key := fmt.Sprint(r.Tank, r.Time.UnixNano(), r.Value)
		if !l.known[key] {
			l.known[key] = true
			l.kept = append(l.kept, r)
		}
	}
	return nil
}

func (l *ledger) Later(readings []watch.Reading, done func(error)) {
	l.queue <- func() { done(l.Take(context.Background(), readings)) }
}

func (l *ledger) Offer(string, []watch.Reading) {}

func (l *ledger) Refused(_, why string, _ []byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.refused[why]++
}

func (l *ledger) Knows(tank string) bool { return tank == "fresh" || tank == "grey" }

// values are those of the readings kept, in the order in which they came.
func (l *ledger) values() (v []float64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, r := range l.kept {
		v = append(v, r.Value)
	}
	return v
}

func (l *ledger) refusals(why string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.refused[why]
}

func (l *ledger) first() watch.Reading {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.kept[0]
}

func (l *ledger) attempts() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.handed
}

// telling remembers how a connection stood.
type telling struct {
	mu    sync.Mutex
	ups   int
	downs []string
}

func (c *telling) Up(string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.ups++
}

func (c *telling) Down(err error, _ time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.downs = append(c.downs, fmt.Sprint(err))
}

func (c *telling) up() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.ups
}

func (c *telling) down() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]string(nil), c.downs...)
}

// publishLines publishes many messages over one connection.
func publishLines(t testing.TB, port, version, topic string, payloads []string) {
	t.Helper()
	peer.Tool(t, "mosquitto_pub", "mosquitto-clients")
	ctx, cancel := context.WithTimeout(context.Background(), soon)
	defer cancel()
	cmd := exec.CommandContext(ctx, "mosquitto_pub", "-h", "127.0.0.1", "-p", port, "-V", version, "-q", "1", "-t", topic, "-l")
	cmd.Stdin = strings.NewReader(strings.Join(payloads, "\n") + "\n")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("mosquitto_pub -l: %v, %s", err, out)
	}
}

// clearFolder removes a file that has to be there.
func clearFolder(t testing.TB, dir, name string) {
	t.Helper()
	if err := os.Remove(filepath.Join(dir, name)); err != nil {
		t.Fatal(err)
	}
}
