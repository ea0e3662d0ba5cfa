package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	past "gaugewright/internal/history"
	"gaugewright/internal/peer"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

var kills = flag.Int("kills", 20, "how often TestKilledWatch kills the watch (docs/reliability.md has the figures of a thousand)")

// killsOfAFile is how often the watch over one file is killed before the next
// begins with a new one.
const killsOfAFile = 20

// The watch is killed at random moments while a client of MQTT 5 sends readings
// of four tanks at quality of service 1: new ones, late ones, ones it has sent
// before. What wasn't acknowledged it sends again to the next watch over the same
// file. In the end each reading that was acknowledged is there once, and none
// that wasn't sent; and minutes, hours and days are those of the readings.
func TestKilledWatch(t *testing.T) {
	t.Parallel()
	// Commits that are small and come often; those that wait ten seconds, of which
	// only what fills a commit is acknowledged before; and none waits for another.
	ways := []struct {
		every        string
		each, window int
	}{{"200ms", 3, 40}, {"10s", 60, 200}, {"50ms", 1, 20}, {"200ms", 25, 100}}
	var sum killed
	for done, turn := 0, 0; done < *kills; turn++ {
		way := ways[turn%len(ways)]
		n := min(killsOfAFile, *kills-done)
		if *kills <= killsOfAFile { // all ways in little time
			n = max(1, min(n, *kills/len(ways)))
		}
		sum.add(killWatch(t, uint64(turn), n, way.every, way.each, way.window))
		if t.Failed() {
			t.Fatalf("with commits each %s, %d readings in a message, %d messages at a time, after %d kills before", way.every, way.each, way.window, done)
		}
		done += n
	}
	t.Logf("%d kills, %d of them before it listened; %d readings sent in %d messages, %d of which were acknowledged and sent again; %d kept",
		sum.kills, sum.early, sum.readings, sum.messages, sum.repeated, sum.kept)
}

// killed is what came of some kills.
type killed struct{ kills, early, readings, messages, repeated, kept int }

func (k *killed) add(o killed) {
	k.kills += o.kills
	k.early += o.early
	k.readings += o.readings
	k.messages += o.messages
	k.repeated += o.repeated
	k.kept += o.kept
}

// killWatch kills the watch over one new file so many times.
func killWatch(t *testing.T, seed uint64, times int, every string, each, window int) (sum killed) {
	folder := t.TempDir()
	config, data := filepath.Join(folder, "van.toml"), filepath.Join(folder, "watch.db")
	address := fmt.Sprintf("127.0.0.1:%d", peer.FreePort(t))
	text := fmt.Sprintf("data = %q\ncommit_every = %q\n[mqtt]\nlisten = %q\n", data, every, address)
	for _, tank := range loadTanks {
		text += fmt.Sprintf("[tank.%s]\nlower = 10\nupper = 190\ncapacity = \"100L\"\n", tank)
	}
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	l := newLoad(seed, each, time.Now().Add(-96*time.Hour).Truncate(time.Second))
	random := rand.New(rand.NewPCG(seed, 9)) // #nosec: moments, not secrets
	for range times {
		sum.kills++
		w := watchAlone(t, config)
		if random.IntN(8) == 0 {
			// While it starts: it opens the file, puts it right, makes its tables.
			time.Sleep(time.Duration(random.IntN(60)) * time.Millisecond)
			w.kill()
			sum.early++
			continue
		}
		w.listens()
		timer := time.AfterFunc(time.Duration(random.IntN(300))*time.Millisecond, func() { _ = w.command.Process.Kill() })
		l.send(t, address, window, false)
		timer.Stop()
		w.kill()
	}
	w := watchAlone(t, config, "--set", "commit_every=50ms") // so that the end doesn't wait for a slow one
	w.listens()
	l.send(t, address, window, true)
	if random.IntN(2) == 0 {
		w.kill() // all was acknowledged: nothing may hang on an orderly end
	} else if err := w.interrupt(); err != nil {
		t.Errorf("it ended with %v", err)
	}
	kept := keptWell(t, data)
	for _, d := range l.differences(kept) {
		t.Error(d)
	}
	sum.readings, sum.messages, sum.repeated, sum.kept = l.made, int(l.messages.Load()), int(l.repeated.Load()), len(kept)
	return sum
}

// watchAlone starts the watch, and doesn't wait for it.
func watchAlone(t *testing.T, config string, args ...string) *process {
	t.Helper()
	built.Store(true)
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	p := &process{t: t, command: exec.Command(path, append([]string{"watch", config}, args...)...), said: &lines{}, ended: make(chan error, 1)}
	p.command.Stdout, p.command.Stderr = p.said, p.said
	if err := p.command.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		p.ended <- p.command.Wait()
		close(p.ended)
	}()
	t.Cleanup(p.kill)
	return p
}

// listens waits until it says where it takes readings.
func (p *process) listens() {
	p.t.Helper()
	for end := time.Now().Add(time.Minute); !has("MQTT:")(p.said.String()); time.Sleep(2 * time.Millisecond) {
		select {
		case err := <-p.ended:
			p.t.Fatalf("the watch ended with %v:\n%s", err, p.said)
		default:
		}
		if time.Now().After(end) {
			p.t.Fatalf("the watch doesn't say where it listens:\n%s", p.said)
		}
	}
}

// keptWell gives all readings of a file that is sound.
func keptWell(t *testing.T, data string) []watch.Reading {
	t.Helper()
	s, err := sqlite.OpenReadings(t.Context(), data, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Sound(t.Context()); err != nil {
		t.Error(err)
	}
	kept, err := s.Recent(t.Context(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tank := range loadTanks {
		for _, step := range []time.Duration{time.Minute, time.Hour, 24 * time.Hour} {
			rolledWell(t, s, tank, step, kept)
		}
	}
	return kept
}

// rolledWell holds a tank's past in buckets of a length to its readings.
func rolledWell(t *testing.T, h past.Past, tank string, step time.Duration, kept []watch.Reading) {
	t.Helper()
	var want []past.Bucket
	begin, end := time.Time{}, time.Time{}
	for _, r := range kept {
		if r.Tank != tank || r.Said != watch.Measured {
			continue
		}
		from := r.Time.Truncate(step) // Unix time has no leap seconds, and so begins days at multiples
		if begin.IsZero() {
			begin = from
		}
		end = from.Add(step)
		if n := len(want); n == 0 || !want[n-1].From.Equal(from) {
			want = append(want, past.Bucket{From: from, Min: r.Value, Max: r.Value})
		}
		b := &want[len(want)-1]
		b.N++
		b.Min, b.Max, b.Mean = min(b.Min, r.Value), max(b.Max, r.Value), b.Mean+r.Value // the sum until all are there
	}
	if want == nil {
		return
	}
	got, err := h.Readings(t.Context(), past.Line{Tank: tank, Source: "mqtt", Signal: watch.Ohm}, past.Stretch{From: begin, To: end, Buckets: int(end.Sub(begin) / step)})
	if err != nil || len(got) != len(want) {
		t.Errorf("%s by %v: %d buckets, %v; want %d", tank, step, len(got), err, len(want))
		return
	}
	for i, b := range got {
		w := want[i]
		if w.Mean /= float64(w.N); !b.From.Equal(w.From) || b.N != w.N || b.Min != w.Min || b.Max != w.Max || math.Abs(b.Mean-w.Mean) > 1e-9*w.Mean {
			t.Errorf("%s by %v: %+v; want %+v", tank, step, b, w)
			return
		}
	}
}
