package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"time"
)

// recording is a run of the program, or several over the same file, and what it
// did to its files.
type recording struct {
	program     string
	commitEvery string
	each        time.Duration // how long each run lasts
	readings    int           // in a message
	runs        int

	folder string // of its files
	events []event
	sent   sent
	syncs  int
}

// dataName is the file of readings in a recording's folder.
const dataName = "watch.db"

func (r *recording) String() string {
	kinds := map[kind]int{}
	for _, e := range r.events {
		kinds[e.kind]++
	}
	return fmt.Sprintf("recorded: %d runs; %d readings sent, %d of them acknowledged; %d writes to files, %d syncs, %d names changed, %d writes to the client",
		r.runs, r.sent.made, len(r.sent.acked), kinds[written], kinds[synced], kinds[renamed]+kinds[unlinked]+kinds[opened], kinds[told])
}

// record runs the program and reads what was traced. The folder is to be empty.
func (r *recording) record(folder string) error {
	folder, err := filepath.EvalSymlinks(folder)
	if err != nil {
		return err
	}
	r.folder = filepath.Join(folder, "data")
	if err := os.Mkdir(r.folder, 0o700); err != nil {
		return err
	}
	text := fmt.Sprintf("data = %q\ncommit_every = %q\n[mqtt]\nlisten = \"127.0.0.1:0\"\n", filepath.Join(r.folder, dataName), r.commitEvery)
	for _, tank := range tanks {
		text += fmt.Sprintf("[tank.%s]\nlower = 10\nupper = 190\ncapacity = \"100L\"\n", tank)
	}
	config := filepath.Join(folder, "van.toml")
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		return err
	}
	r.sent = sent{base: time.Now().Add(-96 * time.Hour).Truncate(time.Second), each: r.readings, acked: map[int]bool{}}
	for n := range r.runs {
		trace := filepath.Join(folder, fmt.Sprintf("trace-%d", n))
		if err := r.once(config, trace, n%2 == 1); err != nil {
			return fmt.Errorf("run %d: %w", n+1, err)
		}
		f, err := os.Open(trace)
		if err != nil {
			return err
		}
		events, err := read(f, r.folder, r.syncs)
		_ = f.Close()
		if err != nil {
			return fmt.Errorf("run %d: %w", n+1, err)
		}
		for _, e := range events {
			r.syncs = max(r.syncs, e.mark)
		}
		r.events = append(append(r.events, events...), event{kind: restarted})
	}
	return nil
}

// once runs the program once, with a client that sends what it can.
func (r *recording) once(config, trace string, kill bool) error {
	c := exec.Command("strace", "-f", "-yy", "-xx", "-s", "16777216", "-e", "signal=none", "-e", "trace="+calls, "-o", trace, "--", r.program, "watch", config)
	var said output
	c.Stdout, c.Stderr = &said, &said
	if err := c.Start(); err != nil {
		return err
	}
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	where := regexp.MustCompile(`MQTT: +mqtt://(\S+)`)
	for end := time.Now().Add(time.Minute); !where.MatchString(said.String()); time.Sleep(2 * time.Millisecond) {
		select {
		case err := <-ended:
			return fmt.Errorf("it ended with %v: %s", err, &said)
		default:
		}
		if time.Now().After(end) {
			_ = c.Process.Kill()
			return fmt.Errorf("it doesn't say where it listens: %s", &said)
		}
	}
	pid, err := traced(c.Process.Pid)
	if err == nil {
		err = r.sent.send(where.FindStringSubmatch(said.String())[1], time.Now().Add(r.each))
	}
	if err != nil {
		_ = c.Process.Kill()
		return fmt.Errorf("%w; it said: %s", err, &said)
	}
	signal := os.Interrupt
	if kill {
		signal = os.Kill
	}
	p, err := os.FindProcess(pid)
	if err == nil {
		err = p.Signal(signal)
	}
	if err != nil {
		return err
	}
	select {
	case err = <-ended:
	case <-time.After(20 * time.Second):
		_ = c.Process.Kill()
		return fmt.Errorf("it doesn't end: %s", &said)
	}
	if err != nil && !kill {
		return fmt.Errorf("it ended with %w: %s", err, &said)
	}
	return nil
}

// traced gives the process that strace runs: its only child.
func traced(strace int) (pid int, err error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", strace, strace))
	if err != nil {
		return 0, err
	}
	_, err = fmt.Sscan(strings.TrimSpace(string(text)), &pid)
	return pid, err
}

// output collects what a process says.
type output struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.all.Write(p)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.all.String()
}
