package mqtt

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/internal/feed"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// blocks gives the blocks of a language in docs/levels.md.
func blocks(t *testing.T, language string) (list []string) {
	t.Helper()
	text, err := os.ReadFile("../../../docs/levels.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile("(?ms)^```"+language+"\n(.*?)^```$").FindAllStringSubmatch(string(text), -1) {
		list = append(list, m[1])
	}
	if len(list) == 0 {
		t.Fatalf("docs/levels.md has no block of %s", language)
	}
	return list
}

// published are levels as the watch publishes them: good, with a fault, old, and
// one that has never been good.
func published(now time.Time) []watch.Published {
	num := func(v float64) *float64 { return &v }
	good := watch.Published{
		Tank: "fresh", Time: now, Clock: "source", Source: "mqtt", Ohm: num(118.4), MarkPct: num(61.2),
		LevelPct: num(61.2), LowPct: num(59.3), HighPct: num(63.1), UPct: num(0.97), VolumeL: num(61.2), UVolumeL: num(0.97),
		StaleS: 300, Motion: "standing", Status: "good",
	}
	doubtful := good
	doubtful.Tank, doubtful.Status, doubtful.Fault, doubtful.Reason, doubtful.Since = "grey", "out-of-spec", "tilted too far", "tilted too far since 14:02", &now
	old := good
	old.Tank, old.Time = "diesel", now.Add(-time.Hour)
	broken := watch.Published{
		Tank: "gas", Time: now, Clock: "arrival", Source: "mqtt", StaleS: 300, Motion: "unknown",
		Status: "failure", Fault: "broken wire", Since: &now, Reason: "broken wire since 14:02; last good 61 %",
		LastGood: &watch.PublishedGood{Time: now.Add(-10 * time.Minute), LevelPct: 61.2, UPct: 1, MassKg: num(7)},
	}
	never := watch.Published{Tank: "black", Time: now, Clock: "source", Source: "can/bus", StaleS: 300, Motion: "moving", Status: "check", Fault: "not settled yet", Reason: "not settled yet"}
	return []watch.Published{good, doubtful, old, broken, never}
}

// watched are levels of a real watch: beginning, good, with each fault that a
// sender or a source can show, and old; with a capacity and without.
func watched(t *testing.T) (list []watch.Published) {
	t.Helper()
	statuses := make(map[string]bool)
	for _, capacity := range []quantity.CubicMetre{0, 0.2} {
		sender, err := watch.Ends(10, 180, capacity)
		if err != nil {
			t.Fatal(err)
		}
		w, err := watch.New(watch.Config{Tank: "fresh", Instrument: sender})
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 11, 1, 14, 0, 0, 0, time.UTC)
		take := func(n int, r watch.Reading) {
			for range n {
				at = at.Add(time.Second)
				r.Tank, r.Source, r.Time = "fresh", "mqtt", at
				p := w.Take(r).Publish()
				statuses[p.Status] = true
				list = append(list, p)
			}
		}
		take(2, watch.Reading{Value: 100})
		for range 60 {
			at = at.Add(time.Second)
			w.Take(watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Value: 100})
		}
		take(1, watch.Reading{Value: 100, Tilt: &watch.Tilt{Pitch: 0.02}})
		take(3, watch.Reading{Value: 99999})
		take(3, watch.Reading{Value: 100, Clock: watch.ArrivalClock})
		take(3, watch.Reading{Value: 0})
		take(3, watch.Reading{Said: watch.Unavailable})
		take(3, watch.Reading{Said: watch.Broken})
		take(2, watch.Reading{Signal: watch.Percent, Value: 60})
		take(1, watch.Reading{Value: math.NaN()})
		list = append(list, w.At(at.Add(time.Hour)).Publish())
	}
	if !statuses["good"] || !statuses["failure"] {
		t.Errorf("the watch showed %v; expected good and failure among them", statuses)
	}
	return list
}

// What is published over a real broker is what the document says, as one library
// of Go and one of Python read it.
func TestLevelsAgainstTheSchema(t *testing.T) {
	for _, house := range houses {
		h := house.open(t)
		live := subscribe(t, h.port, "311", "-t", "gaugewright/+/level")
		list := append(published(time.Now().UTC()), watched(t)...)
		for i, p := range list {
			text, err := json.Marshal(p)
			if err != nil {
				t.Fatal(err)
			}
			h.publish(t, fmt.Sprintf("%s-%d/level", p.Tank, i), string(text))
		}
		eventually(t, "all levels come", func() bool { return len(live.got()) == len(list) })
		docs := levelsOnTheWire(t, live.got())
		schema := schemaOf(t, "level")
		for _, doc := range docs {
			if err := schema.Validate(doc); err != nil {
				t.Errorf("%v: %v", doc, err)
			}
		}
		// And they can fail.
		docs = append(docs, map[string]any{"tank": "fresh"}, "61", nil)
		for _, doc := range docs[len(list):] {
			if schema.Validate(doc) == nil {
				t.Errorf("%v passes", doc)
			}
		}
		var faults []int
		peer.Python(t, []string{"jsonschema"}, `
import json, sys, jsonschema
given = json.load(sys.stdin)
given["Document"]["$ref"] = "#/components/schemas/level"
v = jsonschema.Draft7Validator(given["Document"], format_checker=jsonschema.FormatChecker())
print(json.dumps([len(list(v.iter_errors(d))) for d in given["Levels"]]))`,
			map[string]any{"Document": document(t), "Levels": docs}, &faults)
		for i, n := range faults {
			if (n > 0) != (i >= len(list)) {
				t.Errorf("Python finds %d faults in %v", n, docs[i])
			}
		}
	}
}

// The page's examples run, and say what the page says.
func TestLevelsPage(t *testing.T) {
	python := peer.Interpreter(t, "paho.mqtt")
	peer.Tool(t, "mosquitto_sub", "mosquitto-clients")
	for _, house := range houses {
		t.Run(house.name, func(t *testing.T) {
			t.Parallel()
			h := house.open(t)
			ctx, cancel := context.WithTimeout(context.Background(), 4*soon)
			defer cancel()
			here := func(text string) string { return strings.ReplaceAll(text, "1883", h.port) }
			shell := blocks(t, "sh")
			for _, text := range shell[:2] {
				if out, err := exec.CommandContext(ctx, "sh", "-c", here(text)).CombinedOutput(); err != nil || len(out) > 0 {
					t.Errorf("%s%v: %s", text, err, out)
				}
			}
			scripts := blocks(t, "python")
			out, err := exec.CommandContext(ctx, python, "-c", here(scripts[0]), "3").CombinedOutput()
			if err != nil || strings.Count(string(out), "on disk: ") != 3 {
				t.Errorf("the controller: %v\n%s", err, out)
			}
			eventually(t, "their readings come", func() bool { return len(h.sink.values()) == 5 })
			if got := h.sink.values()[:2]; !slices.Equal(got, []float64{118.4, 118.6}) || h.sink.kept[1].Tilt == nil {
				t.Errorf("got %v", got)
			}

			var display lines
			cmd := exec.Command(python, "-c", here(scripts[1]))
			display.follow(t, cmd, true)
			defer func() {
				_ = cmd.Process.Kill()
				_ = cmd.Wait()
			}()
			for _, p := range published(time.Now().UTC()) {
				text, err := json.Marshal(p)
				if err != nil {
					t.Fatal(err)
				}
				h.publish(t, p.Tank+"/level", string(text))
			}
			for _, want := range []string{
				"the watch is running",
				"fresh: 61 % (59 to 63)",
				"grey: 61 % (59 to 63); tilted too far since 14:02",
				"diesel: no level: nothing new (61 %, 60 min ago)",
				"gas: no level: broken wire since 14:02; last good 61 % (61 %, 10 min ago)",
				"black: no level: not settled yet",
			} {
				eventually(t, "the display says "+want, func() bool {
					return slices.Contains(strings.Split(display.all(), "\n"), want)
				})
			}
			sub, err := exec.CommandContext(ctx, "sh", "-c", strings.Replace(here(shell[2]), "-C 10", "-C 6", 1)).CombinedOutput()
			if err != nil || strings.Count(string(sub), "/level {") != 5 || strings.Count(string(sub), "gaugewright/watch running") != 1 {
				t.Errorf("%s%v: %s", shell[2], err, sub)
			}
		})
	}
}

// The page's payloads are readings, its configuration is one, and its table has
// every field.
func TestLevelsPageSays(t *testing.T) {
	for _, text := range blocks(t, "json") {
		if _, err := feed.Decode(nil, []byte(text), feed.Defaults{Tank: "fresh", Arrived: time.Now()}); err != nil {
			t.Errorf("%s: %v", text, err)
		}
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
		if err == nil {
			err = schemaOf(t, "readings").Validate(doc)
		}
		if err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
	var config struct {
		MQTT    Config                   `toml:"mqtt"`
		Outside map[string]OutsideConfig `toml:"outside"`
	}
	done, err := toml.Decode(strings.Join(blocks(t, "toml"), "\n"), &config)
	if err != nil || len(done.Undecoded()) > 0 {
		t.Fatal(err, done.Undecoded())
	}
	if len(config.MQTT.Users) != 1 {
		t.Errorf("%+v", config.MQTT)
	}
	if _, err := NewBroker(config.MQTT, nil); err != nil {
		t.Error(err)
	}
	c := config.Outside["depot"]
	c.PasswordFile, c.User, c.CA = "", "", "" // files that aren't here
	if _, err := NewOutside("outside/depot", c); err != nil {
		t.Error(err)
	}
	page, err := os.ReadFile("../../../docs/levels.md")
	if err != nil {
		t.Fatal(err)
	}
	doc := document(t)
	for _, of := range []string{"level", "reading", "last_good"} {
		for name := range in(t, doc, "components", "schemas", of, "properties").(map[string]any) {
			if !strings.Contains(string(page), "`"+name+"`") {
				t.Errorf("the page doesn't name %s", name)
			}
		}
	}
	for _, why := range []string{KeptUntimed, RetainedUntimed} {
		if !strings.Contains(string(page), why) {
			t.Errorf("the page doesn't say %q", why)
		}
	}
}
