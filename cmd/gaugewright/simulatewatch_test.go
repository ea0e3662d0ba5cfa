package main

import (
	"encoding/json"
	"fmt"
	"math"
	"net"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/peer"
)

// The simulator and the watch as two processes over MQTT, with mosquitto's client
// listening: a wire that is pulled is a failure within two readings, with the last
// good level; mended, the level comes back where it was.
func TestSimulateIntoAWatch(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	built.Store(true)
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	watch := exec.Command(path, "watch")
	for _, set := range []string{"data=" + filepath.Join(t.TempDir(), "watch.db"), "mqtt.listen=127.0.0.1:" + port,
		"tank.fresh.lower=240", "tank.fresh.upper=33", "tank.fresh.capacity=99.9L",
		"tank.waste.lower=10", "tank.waste.upper=180", "tank.lpg.lower=0", "tank.lpg.upper=90"} {
		watch.Args = append(watch.Args, "--set", set)
	}
	told := &lines{}
	watch.Stderr = told
	background(t, watch, told)
	awaited(t, told, "the watch", has("MQTT:"))
	heard := &lines{}
	background(t, exec.Command(peer.Tool(t, "mosquitto_sub", "mosquitto-clients"), "-h", "127.0.0.1", "-p", port, "-V", "5", "-q", "1",
		"-t", "gaugewright/fresh/+", "-F", "%t %p"), heard)
	s := simulating(t, port, "--every", "200ms")
	awaited(t, heard, "a good level", has(`"status":"good"`))
	s.order(t, "break fresh")
	awaited(t, heard, "a failure", has(`"status":"failure"`))
	s.order(t, "mend fresh")
	said := awaited(t, heard, "a good level again", func(said string) bool {
		_, after, found := strings.Cut(said, `"status":"failure"`)
		return found && strings.Contains(after, `"status":"good"`)
	})
	if err := pulledAndMended(said); err != nil {
		t.Errorf("%v:\n%s", err, said)
	}
}

// pulledAndMended reads what was heard, in order.
func pulledAndMended(said string) error {
	open, before := 0, math.NaN()
	failed := false
	for line := range strings.Lines(said) {
		topic, payload, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch {
		case strings.HasSuffix(topic, "/reading") && strings.Contains(payload, "99999"):
			open++
		case strings.HasSuffix(topic, "/level"):
			var level struct {
				Status, Fault, Reason string
				Pct                   *float64 `json:"level_pct"`
				Last                  *struct {
					Pct float64 `json:"level_pct"`
				} `json:"last_good"`
			}
			if err := json.Unmarshal([]byte(payload), &level); err != nil {
				return err
			}
			switch {
			case level.Status == "failure" && !failed:
				failed = true
				if open > 2 || level.Pct != nil || !strings.HasPrefix(level.Reason, "broken wire since") || level.Last == nil || math.Abs(level.Last.Pct-before) > 1 {
					return fmt.Errorf("after %d open readings and a level of %.1f %%: %+v", open, before, level)
				}
			case level.Status == "good" && level.Pct == nil:
				return fmt.Errorf("a good level that isn't there: %+v", level)
			case level.Status == "good" && failed && math.Abs(*level.Pct-before) > 1:
				return fmt.Errorf("the level was %.1f %% and comes back at %.1f %%", before, *level.Pct)
			case level.Status == "good":
				before = *level.Pct
			}
		}
	}
	if !failed {
		return fmt.Errorf("no failure")
	}
	return nil
}
