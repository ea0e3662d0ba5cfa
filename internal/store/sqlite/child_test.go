package sqlite_test

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/store/storetest"
)

// childVariable has the test program be a second process instead: "changer",
// "keeper", "writer" or "opener", then a colon and a path.
const childVariable = "GAUGEWRIGHT_STORE_CHILD"

func TestMain(m *testing.M) {
	what, path, _ := strings.Cut(os.Getenv(childVariable), ":")
	switch what {
	case "":
		// Each try of TestReadingsModel has files of its own; who wants more says so.
		if err := flag.Set("rapid.checks", "40"); err != nil {
			panic(err)
		}
		os.Exit(m.Run())
	case "changer":
		fmt.Println(changer(path))
	case "keeper":
		fmt.Println(keeper(path))
	case "writer":
		fmt.Println(writer(path, writtenHours))
	case "opener":
		fmt.Println(opener(path))
	}
	os.Exit(1)
}

func child(t *testing.T, what, path string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), self)
	cmd.Env = append(os.Environ(), childVariable+"="+what+":"+path)
	cmd.Stderr = os.Stderr
	return cmd
}

// changer makes changes for ever and prints the key of each that was kept. The
// customer counts them, so that a change that is there by half would show.
func changer(path string) error {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return err
	}
	j, err := job.ReadFile("../../job/testdata/tidewater.job.json")
	if err != nil {
		return err
	}
	j.Customer = "0"
	id, err := s.Start(ctx, "the one", j, time.Now())
	if err != nil {
		return err
	}
	for n := 0; ; n++ {
		key := fmt.Sprint(os.Getpid(), "-", n)
		_, err := s.Change(ctx, id, job.Change{Key: key, At: time.Now(), Words: "counted", Do: func(j *job.Job) error {
			count, err := strconv.Atoi(j.Customer)
			j.Customer = fmt.Sprint(count + 1)
			j.Tanks[0].Bench.Readings[0].Ohm = float64(count+1) / 10
			return err
		}})
		if err != nil {
			return err
		}
		fmt.Println(key)
	}
}

// TestKilled kills a process that makes changes, again and again. What it was
// told is kept is there, and nothing is there by half. (That the disk has it
// too, should the power fail, isn't tested by this; it rests on SQLite's full
// synchronisation.)
func TestKilled(t *testing.T) {
	t.Parallel()
	const lanes, each = 2, 10 // two processes at a time
	const kills = lanes * each
	path := filepath.Join(t.TempDir(), "jobs.db")
	var mu sync.Mutex
	told := map[string]bool{}
	var wg sync.WaitGroup
	for range lanes {
		wg.Go(func() {
			for range each {
				for _, key := range killed(t, path) {
					mu.Lock()
					told[key] = true
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	s := opened(t, path, sqlite.Options{})
	id, err := s.Start(t.Context(), "the one", storetest.Sample(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	k, err := s.Job(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	changes, err := s.History(t.Context(), id, 1_000_000)
	if err != nil {
		t.Fatal(err)
	}
	n := len(changes)
	tellings := len(told)
	if n < tellings || n > tellings+kills || tellings < kills {
		t.Errorf("%d changes are there; %d were told, in %d processes", n, tellings, kills)
	}
	for i, c := range changes {
		if c.Revision != int64(n-i) {
			t.Errorf("change %d from the end was made on revision %d; want %d", i, c.Revision, n-i)
		}
		delete(told, c.Key)
	}
	if len(told) > 0 {
		t.Errorf("changes that were told as kept and are not there: %v", told)
	}
	cards, all, err := s.Jobs(t.Context(), "", 10)
	if err != nil || all != 1 || cards[0].Customer != fmt.Sprint(n) || cards[0].Revision != int64(n+1) {
		t.Errorf("the list has %+v, %d, %v; want customer %d at revision %d", cards, all, err, n, n+1)
	}
	if k.Job.Customer != fmt.Sprint(n) || k.Revision != int64(n+1) || k.Job.Tanks[0].Bench.Readings[0].Ohm != float64(n)/10 {
		t.Errorf("the job counts %s, its reading is %v, at revision %d; want %d", k.Job.Customer, k.Job.Tanks[0].Bench.Readings[0].Ohm, k.Revision, n)
	}
	sound(t, path)
	t.Logf("%d changes, %d of them told, %d kills", n, tellings, kills)
}

// killed gives what a process told of its changes before it was killed, wherever
// in its work that was.
func killed(t *testing.T, path string) (keys []string) {
	cmd := child(t, "changer", path)
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Error(err)
		return nil
	}
	lines := bufio.NewScanner(out)
	for first := true; lines.Scan(); first = false {
		if !strings.HasPrefix(lines.Text(), fmt.Sprint(cmd.Process.Pid, "-")) {
			t.Errorf("the process says: %s", lines.Text())
			continue
		}
		keys = append(keys, lines.Text())
		if first {
			time.AfterFunc(time.Duration(rand.IntN(80_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
		}
	}
	_ = cmd.Wait() // it was killed
	if len(keys) == 0 {
		t.Error("the process told of no change")
	}
	return keys
}

// sound fails unless SQLite finds nothing wrong in the whole file.
func sound(t *testing.T, path string) {
	t.Helper()
	altered(t, path, "PRAGMA busy_timeout = 5000") // opens it at all
	found, err := integrity(path)
	if err != nil || found != "ok" {
		t.Errorf("integrity of %s: %s, %v", path, found, err)
	}
}

// TestTwoProcesses has another process change a job while this one does.
func TestTwoProcesses(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "jobs.db")
	cmd := child(t, "changer", path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = cmd.Process.Kill(); _ = cmd.Wait() }()
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatal("the process says nothing")
	}
	go func() {
		for lines.Scan() { // so that it goes on
		}
	}()
	s := opened(t, path, sqlite.Options{})
	id, err := s.Start(t.Context(), "the one", storetest.Sample(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	moved := 0
	for range 10 {
		n, err := s.Revision(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		k, err := s.Change(t.Context(), id, job.Change{Revision: n, Do: func(j *job.Job) error {
			count, err := strconv.Atoi(j.Customer)
			j.Customer = fmt.Sprint(count + 1)
			return err
		}})
		switch {
		case errors.Is(err, job.ErrMoved):
			moved++
		case err != nil:
			t.Fatal(err)
		case k.Revision != n+1 || k.Job.Customer != fmt.Sprint(n):
			t.Fatalf("revision %d counts %s; was %d before", k.Revision, k.Job.Customer, n)
		}
	}
	t.Logf("%d of 10 changes came after one of the other process", moved)
}
