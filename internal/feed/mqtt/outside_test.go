package mqtt

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// running is an Outside that runs.
type running struct {
	*Outside
	sink *ledger
	told *telling
	stop func()
}

// run runs one against a broker, with short waits.
func run(t *testing.T, c OutsideConfig, sink *ledger) *running {
	t.Helper()
	o, err := NewOutside("outside/test", c)
	if err != nil {
		t.Fatal(err)
	}
	o.waits = feed.Waits{First: 20 * time.Millisecond, Most: 100 * time.Millisecond}
	ctx, cancel := context.WithCancel(context.Background())
	r := &running{Outside: o, sink: sink, told: &telling{}}
	done := make(chan error, 1)
	go func() { done <- o.Run(ctx, sink, r.told) }()
	r.stop = func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Run: %v", err)
		}
		done <- nil
	}
	t.Cleanup(r.stop)
	return r
}

// up waits until it has connected so often.
func (r *running) up(t *testing.T, n int) {
	t.Helper()
	for end := time.Now().Add(soon); r.told.up() < n; time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("connected %d times, expected %d; it told %q", r.told.up(), n, r.told.down())
		}
	}
}

// versions are the protocols, as our configuration and mosquitto's clients have
// them.
var versions = []struct{ protocol, v string }{{"5", "5"}, {"3.1.1", "311"}}

func TestOutsideTakesReadings(t *testing.T) {
	for _, v := range versions {
		t.Run(v.protocol, func(t *testing.T) {
			t.Parallel()
			m := newMosquitto(t)
			r := run(t, OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port, Protocol: v.protocol,
				Signal: func(tank string) watch.Signal {
					return map[string]watch.Signal{"grey": watch.Volt}[tank]
				}}, newLedger(t))
			r.up(t, 1)
			at := time.Now().Add(-time.Hour).UTC().Truncate(time.Second)
			for _, c := range []struct{ topic, payload string }{
				{"gaugewright/fresh/reading", "118.4"},
				{"gaugewright/fresh/reading", fmt.Sprintf(`{"ohm":118.6,"time":%q}`, at.Format(time.RFC3339))},
				{"gaugewright/grey/reading", `1.25`},
				{"gaugewright/black/reading", `1.25`},
				{"gaugewright/fresh/reading", `wet`},
				{"gaugewright/fresh/reading", strings.Repeat("9", 70000)},
				{"gaugewright/fresh/level", `{}`},
				{"other/fresh/reading", `7`},
				{"gaugewright/a/fresh/reading", `7`},
				{"gaugewright/fresh/reading", `[119, 120]`},
			} {
				mustPublish(t, m.port, v.v, "-t", c.topic, "-m", c.payload)
			}
			eventually(t, "all readings come", func() bool { return len(r.sink.values()) == 5 })
			if got, want := r.sink.values(), []float64{118.4, 118.6, 1.25, 119, 120}; !slices.Equal(got, want) {
				t.Errorf("got %v, expected %v", got, want)
			}
			second, third := r.sink.kept[1], r.sink.kept[2]
			if !second.Time.Equal(at) || second.Clock != watch.SourceClock || second.Source != "outside/test" || second.Tank != "fresh" {
				t.Errorf("with its own time: got %+v", second)
			}
			if third.Signal != watch.Volt || third.Tank != "grey" || third.Clock != watch.ArrivalClock || time.Since(third.Time) > time.Minute {
				t.Errorf("in volts: got %+v", third)
			}
			tooLong := 1
			if v.protocol == "3.1.1" { // MQTT 5 has a limit that the broker keeps to
				huge := filepath.Join(t.TempDir(), "huge")
				if err := os.WriteFile(huge, bytes.Repeat([]byte("9"), 10<<20), 0o600); err != nil {
					t.Fatal(err)
				}
				mustPublish(t, m.port, v.v, "-t", "gaugewright/fresh/reading", "-f", huge)
				eventually(t, "10 MB are refused", func() bool { return r.sink.refusals(feed.TooLong) == 2 })
				tooLong = 2
			}
			for why, n := range map[string]int{feed.NoSuchTank: 1, feed.NotJSON: 1, feed.TooLong: tooLong} {
				if r.sink.refusals(why) != n {
					t.Errorf("%q: refused %d times, expected %d", why, r.sink.refusals(why), n)
				}
			}
		})
	}
}

// A level is retained, the latest counts, and an empty one takes it back.
func TestOutsidePublishes(t *testing.T) {
	for _, v := range versions {
		t.Run(v.protocol, func(t *testing.T) {
			t.Parallel()
			m := newMosquitto(t)
			r := run(t, OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port, Protocol: v.protocol, Root: "van/7"}, newLedger(t))
			r.up(t, 1)
			live := subscribe(t, m.port, v.v, "-t", "van/7/#")
			live.waitFor(t, "* van/7/watch running")
			if err := r.Publish("fresh/level", []byte(`{"level_pct":61}`), true); err != nil {
				t.Fatal(err)
			}
			live.waitFor(t, `0 van/7/fresh/level {"level_pct":61}`)
			late := subscribe(t, m.port, v.v, "-t", "van/7/+/level")
			late.waitFor(t, `1 van/7/fresh/level {"level_pct":61}`)
			if err := r.Publish("fresh/level", nil, true); err != nil {
				t.Fatal(err)
			}
			late.waitFor(t, "0 van/7/fresh/level ")
			later := subscribe(t, m.port, v.v, "-t", "van/7/#")
			later.waitFor(t, "1 van/7/watch running")
			if got := later.got(); len(got) != 1 {
				t.Errorf("after it was taken back: got %q", got)
			}
			r.stop()
			live.waitFor(t, "0 van/7/watch gone")
		})
	}
}

// The broker is stopped and started again. Readings that it had kept come, those
// with a time of their own; what was published meanwhile is there, the latest of
// each topic.
func TestOutsideBrokerGone(t *testing.T) {
	for _, v := range versions {
		t.Run(v.protocol, func(t *testing.T) {
			t.Parallel()
			m := newMosquitto(t)
			sink := newLedger(t)
			c := OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port, Protocol: v.protocol}
			r := run(t, c, sink)
			r.up(t, 1)
			if err := r.Publish("grey/level", []byte(`{"n":0}`), true); err != nil {
				t.Fatal(err)
			}
			before := subscribe(t, m.port, v.v, "-t", "gaugewright/grey/level")
			eventually(t, "the broker has it", func() bool { return len(before.got()) > 0 })
			before.kill()
			m.stop()
			eventually(t, "its being gone is told", func() bool { return len(r.told.down()) >= 3 })
			for n := range 1000 {
				if err := r.Publish("fresh/level", fmt.Appendf(nil, `{"n":%d}`, n), true); err != nil {
					t.Fatal(err)
				}
			}
			// A broker that lost what it had.
			clearFolder(t, m.dir, "mosquitto.db")
			m.start()
			r.up(t, 2)
			live := subscribe(t, m.port, v.v, "-t", "gaugewright/#")
			live.waitFor(t, `* gaugewright/grey/level {"n":0}`)
			live.waitFor(t, `* gaugewright/fresh/level {"n":999}`)
			live.waitFor(t, "* gaugewright/watch running")
			if got := live.got(); len(got) != 3 {
				t.Errorf("got %q, expected the latest of each topic alone", got)
			}
			mustPublish(t, m.port, v.v, "-t", "gaugewright/fresh/reading", "-m", "50")
			eventually(t, "a reading comes after the subscription was made anew", func() bool { return len(sink.values()) == 1 })

			// The watch stays away while the broker stays.
			r.stop()
			live.waitFor(t, "0 gaugewright/watch gone")
			base := time.Now().Add(-30 * time.Minute).Unix()
			var payloads []string
			for n := range 60 {
				payloads = append(payloads, fmt.Sprintf(`{"ohm":%d,"time":%d}`, 100+n, base+int64(n)))
			}
			publishLines(t, m.port, v.v, "gaugewright/fresh/reading", append(payloads, "77"))
			m.stop()
			m.start() // in good order this time: what it kept is on its disk
			r = run(t, c, sink)
			r.up(t, 1)
			eventually(t, "what the broker had kept comes", func() bool { return len(sink.values()) == 61 && sink.refusals(KeptUntimed) == 1 })
			eventually(t, "a reading without a time counts again", func() bool {
				mustPublish(t, m.port, v.v, "-t", "gaugewright/fresh/reading", "-m", "51")
				return slices.Contains(sink.values(), 51)
			})
		})
	}
}

// While the disk fails nothing is acknowledged, and all comes again afterwards.
func TestOutsideDiskFails(t *testing.T) {
	for _, v := range versions {
		t.Run(v.protocol, func(t *testing.T) {
			t.Parallel()
			m := newMosquitto(t)
			r := run(t, OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port, Protocol: v.protocol}, newLedger(t))
			r.up(t, 1)
			live := subscribe(t, m.port, v.v, "-t", "gaugewright/watch")
			mustPublish(t, m.port, v.v, "-t", "gaugewright/grey/reading", "-m", "7")
			eventually(t, "the first comes", func() bool { return len(r.sink.values()) == 1 })
			r.sink.fail(errors.New("no space left on device"))
			var payloads []string
			at := time.Now().Add(-time.Minute).Unix()
			for n := range 50 {
				payloads = append(payloads, fmt.Sprintf(`{"ohm":%d,"time":%d}`, 100+n, at+int64(n)))
			}
			publishLines(t, m.port, v.v, "gaugewright/fresh/reading", append(payloads, "8"))
			eventually(t, "it tries again and again", func() bool { return len(r.told.down()) >= 3 })
			if got := r.sink.values(); len(got) > 1 {
				t.Fatalf("kept %v with a disk that fails", got)
			}
			live.waitFor(t, "0 gaugewright/watch gone") // the will
			if told := r.told.down()[0]; !strings.Contains(told, "no space left") {
				t.Errorf("it told %q", told)
			}
			r.sink.fail(nil)
			eventually(t, "all come once it works again", func() bool { return len(r.sink.values()) == 52 })
			if r.sink.attempts() <= 52 {
				t.Errorf("handed over %d readings, expected some twice", r.sink.attempts())
			}
			if got := r.sink.values(); !slices.IsSorted(got[:51]) || got[51] != 8 {
				t.Errorf("they came in another order: %v", got)
			}
		})
	}
}

// What a broker retained tells nothing of when it was measured.
func TestOutsideRetainedReading(t *testing.T) {
	for _, v := range versions {
		t.Run(v.protocol, func(t *testing.T) {
			t.Parallel()
			m := newMosquitto(t)
			mustPublish(t, m.port, v.v, "-t", "gaugewright/fresh/reading", "-r", "-m", "118")
			mustPublish(t, m.port, v.v, "-t", "gaugewright/grey/reading", "-r", "-m", fmt.Sprintf(`[{"ohm":5,"time":%d},6]`, time.Now().Unix()-60))
			r := run(t, OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port, Protocol: v.protocol}, newLedger(t))
			eventually(t, "both are refused, the second in part", func() bool {
				return r.sink.refusals(RetainedUntimed) == 2 && slices.Equal(r.sink.values(), []float64{5})
			})
		})
	}
}
