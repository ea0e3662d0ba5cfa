package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// watching is the watch as a process, which prints what it publishes.
type watching struct {
	command    *exec.Cmd
	said, told *lines // levels as JSON; all else
	port       string
}

func watchingOver(t *testing.T, config string, args ...string) *watching {
	t.Helper()
	built.Store(true)
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	w := &watching{said: &lines{}, told: &lines{}}
	w.command = exec.Command(path, append([]string{"watch", config, "--levels", "--json"}, args...)...)
	w.command.Stderr = w.told
	background(t, w.command, w.said)
	where := regexp.MustCompile(`MQTT: +mqtt://127\.0\.0\.1:(\d+)`)
	w.port = where.FindStringSubmatch(awaited(t, w.told, "where it listens", where.MatchString))[1]
	return w
}

// levels are those that it published, from the nth on.
func (w *watching) levels(t *testing.T, from int) []watch.Published {
	t.Helper()
	var all []watch.Published
	text := w.said.String()
	for line := range strings.Lines(text[:strings.LastIndex(text, "\n")+1]) {
		var l watch.Published
		if err := json.Unmarshal([]byte(line), &l); err != nil {
			t.Fatalf("it published %q: %v", line, err)
		}
		all = append(all, l)
	}
	return all[min(from, len(all)):]
}

// until waits for a level like that, and gives how many had been published before.
func (w *watching) until(t *testing.T, what string, from int, like func(watch.Published) bool) (watch.Published, int) {
	t.Helper()
	var last watch.Published
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		for i, l := range w.levels(t, from) {
			if last = l; like(l) {
				return l, from + i
			}
		}
	}
	t.Fatalf("no level came that is %s; the last was %+v, and it said:\n%s", what, last, w.told)
	return last, 0
}

// The simulator and the watch as two processes over real MQTT. Pulling the
// sender's wire turns the level to "broken wire" within two readings; mending it
// brings the level back without a jump.
func TestWatchAndSimulate(t *testing.T) {
	config := filepath.Join(t.TempDir(), "van.toml")
	if err := os.WriteFile(config, []byte("publish_every = \"1ms\"\n[tank.fresh]\nlower = 240\nupper = 33\ncapacity = \"100L\"\n[mqtt]\nlisten = \"127.0.0.1:0\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	w := watchingOver(t, config)
	s := simulating(t, w.port, "--every", "100ms", "--kind", "town")
	before, at := w.until(t, "good", 0, func(l watch.Published) bool { return l.Status == "good" && l.LevelPct != nil })
	s.order(t, "break fresh")
	first, at := w.until(t, "without a wire", at, func(l watch.Published) bool { return l.Ohm != nil && *l.Ohm == 99999 })
	if first.LevelPct != nil || first.Status == "good" || first.LastGood == nil {
		t.Errorf("the first reading of a broken wire gives %+v", first)
	}
	broken, second := w.until(t, "a broken wire", at, func(l watch.Published) bool { return l.Status == "failure" })
	if second > at+1 {
		t.Errorf("it took %d readings to say that the wire is broken, expected two at most", second-at+1)
	}
	if !regexp.MustCompile(`^broken wire since \d\d:\d\d; last good \d\d %$`).MatchString(broken.Reason) || broken.Fault != "broken wire" {
		t.Errorf("it says %q", broken.Reason)
	}
	time.Sleep(500 * time.Millisecond)
	s.order(t, "mend fresh")
	after, back := w.until(t, "good again", second, func(l watch.Published) bool { return l.Status == "good" })
	for _, l := range w.levels(t, second)[:back-second] {
		if l.LevelPct != nil {
			t.Errorf("while the wire was broken it showed %g %%", *l.LevelPct)
		}
	}
	time.Sleep(time.Second)
	for _, l := range w.levels(t, back) {
		if l.LevelPct == nil || *l.LevelPct < *before.LevelPct-1.5 || *l.LevelPct > *before.LevelPct+1.5 {
			t.Errorf("mended, it says %+v; before it broke it said %g", l, *before.LevelPct)
		}
	}
	if after.UPct == nil || *after.UPct <= 0 {
		t.Errorf("mended, its doubt is %v", after.UPct)
	}
	s.order(t, "quit")
	awaited(t, s.said, "its end", has("Ended after"))
	if err := w.command.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	awaited(t, w.told, "its end", has("Watched for"))
}

// What can't be used ends with status 2 and says what and where; --check says of
// what can be used that it can.
func TestWatchRefuses(t *testing.T) {
	config := filepath.Join(t.TempDir(), "van.toml")
	if err := os.WriteFile(config, []byte("[tank.fresh]\nlower = 10\nuper = 180\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		code int
		say  string
	}{
		{[]string{"watch", config}, exitInput, "there is no key tank.fresh.uper"},
		{[]string{"watch", filepath.Join(t.TempDir(), "none.toml")}, exitInput, "the configuration can't be read"},
		{[]string{"watch"}, exitInput, "no tank is to be watched; expected at least one table like [tank.fresh]"},
		{[]string{"watch", "--check", "--set", "tank.a.lower=10"}, exitInput, "[tank.a]: nothing says what its ohms mean"},
		{[]string{"watch", "--check", "--set", "tank.a.lower=10", "--set", "tank.a.upper=180"}, exitDone, "The configuration can be used. Tanks: a."},
	} {
		status, out, said := command("", c.args...)
		if status != c.code || !strings.Contains(out+said, c.say) {
			t.Errorf("%q ends with %d:\n%s%s\nexpected %d and %q", c.args[1:], status, out, said, c.code, c.say)
		}
	}
}
