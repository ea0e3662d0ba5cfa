package station

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/paho"

	"gaugewright/internal/watch"
)

// started starts a station of a configuration on free ports, and stops it.
func started(t *testing.T, text string, o Options) (*Station, string) {
	t.Helper()
	path := write(t, text)
	return startedFrom(t, path, o), path
}

func startedFrom(t *testing.T, path string, o Options) *Station {
	t.Helper()
	c, err := Read(path, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	o.Zone = time.UTC
	s, err := New(t.Context(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	if err := s.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	return s
}

const withDoors = "commit_every = \"1ms\"\n" + small + "[mqtt]\nlisten = \"127.0.0.1:0\"\n[http]\nlisten = \"127.0.0.1:0\"\n"

func (s *Station) brokerAt(t *testing.T) string {
	t.Helper()
	for _, f := range s.feeds {
		if b, ok := f.feed.(interface{ Addr() net.Addr }); ok {
			return b.Addr().String()
		}
	}
	t.Fatal("there is no broker inside")
	return ""
}

// client is a client of MQTT 5 that gathers the levels it gets.
type client struct {
	*paho.Client
	levels chan watch.Published
}

func joined(t *testing.T, at string) *client {
	t.Helper()
	conn, err := net.Dial("tcp", at)
	if err != nil {
		t.Fatal(err)
	}
	c := &client{levels: make(chan watch.Published, 100)}
	c.Client = paho.NewClient(paho.ClientConfig{Conn: conn, OnPublishReceived: []func(paho.PublishReceived) (bool, error){func(p paho.PublishReceived) (bool, error) {
		var l watch.Published
		if err := json.Unmarshal(p.Packet.Payload, &l); err != nil {
			t.Errorf("a level that is no JSON: %s", p.Packet.Payload)
		}
		c.levels <- l
		return true, nil
	}}})
	if _, err := c.Connect(t.Context(), &paho.Connect{ClientID: "a test", CleanStart: true, KeepAlive: 30}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Disconnect(&paho.Disconnect{}) })
	if _, err := c.Subscribe(t.Context(), &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: "gaugewright/fresh/level", QoS: 1}}}); err != nil {
		t.Fatal(err)
	}
	return c
}

func (c *client) send(t *testing.T, payload string) {
	t.Helper()
	if _, err := c.Publish(t.Context(), &paho.Publish{Topic: "gaugewright/fresh/reading", QoS: 1, Payload: []byte(payload)}); err != nil {
		t.Fatal(err)
	}
}

// until waits for a level like that.
func (c *client) until(t *testing.T, what string, like func(watch.Published) bool) watch.Published {
	t.Helper()
	wait := time.After(10 * time.Second)
	var last watch.Published
	for {
		select {
		case last = <-c.levels:
			if like(last) {
				return last
			}
		case <-wait:
			text, _ := json.Marshal(last)
			t.Fatalf("no level came that is %s; the last was %s", what, text)
		}
	}
}

// A reading by MQTT becomes a level there; a broken wire is told within two
// readings, with the last good level; mended, the level comes back where it was;
// and after a restart the watch knows what it knew.
func TestWatches(t *testing.T) {
	s, path := started(t, withDoors, Options{})
	c := joined(t, s.brokerAt(t))
	begun := time.Now().Add(-time.Minute).UTC().Truncate(time.Second)
	second := 0
	reading := func(ohm float64) string {
		second++
		return fmt.Sprintf(`{"ohm":%g,"time":%q}`, ohm, begun.Add(time.Duration(second)*time.Second).Format(time.RFC3339))
	}
	for range 20 {
		c.send(t, reading(95))
	}
	good := c.until(t, "good", func(l watch.Published) bool { return l.Status == "good" && l.LevelPct != nil })
	if *good.LevelPct < 49.9 || *good.LevelPct > 50.1 || *good.VolumeL < 49.9 || *good.LowPct > 50 || *good.HighPct < 50 || good.Clock != "source" {
		t.Errorf("95 of 10 to 180 ohms is half of the tank; it says %+v", good)
	}
	c.send(t, reading(99999))
	c.send(t, reading(99999))
	broken := c.until(t, "a broken wire", func(l watch.Published) bool { return l.Fault == "broken wire" && l.Status == "failure" })
	at := begun.Add(21 * time.Second).Format("15:04")
	if want := "broken wire since " + at + "; last good 50 %"; broken.LevelPct != nil || broken.Reason != want || broken.LastGood == nil {
		t.Errorf("the level is %v with %+v, because of %q; expected none, the last good one, and %q", broken.LevelPct, broken.LastGood, broken.Reason, want)
	}
	for range 5 {
		c.send(t, reading(95))
	}
	c.until(t, "back where it was", func(l watch.Published) bool {
		if l.LevelPct != nil && (*l.LevelPct < 49 || *l.LevelPct > 51) {
			t.Errorf("on its way back it says %v", *l.LevelPct)
		}
		return l.Status == "good" && l.LevelPct != nil
	})

	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	again := startedFrom(t, path, Options{})
	if l := again.Levels(time.Now())[0]; !l.Shown || l.Share < 0.49 || l.Share > 0.51 {
		t.Errorf("after a restart it says %+v", l.Publish())
	}
	late := joined(t, again.brokerAt(t))
	late.send(t, reading(95))
	late.until(t, "good after a restart", func(l watch.Published) bool { return l.Status == "good" })
}

// Readings are posted, levels asked for and shown at one address; what is no
// reading is counted under its feed.
func TestByHTTP(t *testing.T) {
	s, _ := started(t, withDoors, Options{})
	at := "http://" + s.listener.Addr().String()
	post := func(body string) (int, string) {
		t.Helper()
		r, err := http.Post(at+"/readings", "application/json", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		text, _ := io.ReadAll(r.Body)
		return r.StatusCode, string(text)
	}
	get := func(path string) (int, string) {
		t.Helper()
		r, err := http.Get(at + path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		text, _ := io.ReadAll(r.Body)
		return r.StatusCode, string(text)
	}
	for range 3 {
		if status, text := post(`[{"tank":"fresh","ohm":95},{"tank":"fresh","ohm":95.1}]`); status != http.StatusOK {
			t.Fatalf("a post is answered %d %s", status, text)
		}
	}
	if status, text := post(`{"tank":"stale","ohm":95}`); status/100 != 4 {
		t.Errorf("a tank that isn't watched is answered %d %s", status, text)
	}
	if status, text := post(`{"tank":"fresh","ohm":"a lot"}`); status != http.StatusBadRequest {
		t.Errorf("no number is answered %d %s", status, text)
	}
	deadline := time.Now().Add(10 * time.Second)
	for {
		status, text := get("/levels/fresh")
		var l watch.Published
		if err := json.Unmarshal([]byte(text), &l); err != nil || status != http.StatusOK {
			t.Fatalf("%d %s", status, text)
		}
		if l.LevelPct != nil && *l.LevelPct > 49.5 && *l.LevelPct < 50.5 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("no level came of what was posted: %s", text)
		}
		time.Sleep(10 * time.Millisecond)
	}
	if status, _ := get("/levels/none"); status != http.StatusNotFound {
		t.Errorf("the level of a tank that isn't watched: %d", status)
	}
	if status, text := get("/watched"); status != http.StatusOK || !strings.Contains(text, "fresh") {
		t.Errorf("the page is answered %d", status)
	}
	refused := 0
	for _, f := range s.Feeds() {
		if f.Name == "http" {
			refused = len(f.Refused)
			if f.Taken != 6 {
				t.Errorf("of six readings that were posted it counts %d", f.Taken)
			}
		}
	}
	if refused == 0 {
		t.Errorf("what was refused isn't counted: %+v", s.Feeds())
	}
}

// A page of another site that made its own name lead to this machine neither sends
// readings nor reads levels, though its browser takes it for the same site.
func TestByAnotherName(t *testing.T) {
	s, _ := started(t, withDoors, Options{})
	at := "http://" + s.listener.Addr().String()
	for _, c := range []struct{ method, path string }{{"POST", "/readings/fresh"}, {"GET", "/levels"}, {"GET", "/watched"}} {
		r, err := http.NewRequest(c.method, at+c.path, strings.NewReader("95"))
		if err != nil {
			t.Fatal(err)
		}
		r.Host = "gaugewright.example"
		r.Header.Set("Content-Type", "text/plain")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if answer.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("%s %s by another name: %s; expected 421", c.method, c.path, answer.Status)
		}
	}
	if n := s.Counts()[0].Taken; n != 0 {
		t.Errorf("%d readings came in that way", n)
	}
}

// A level that grows old is published as such, though nothing comes in.
func TestGrowsStale(t *testing.T) {
	var mu sync.Mutex
	var ahead time.Duration
	s, _ := started(t, withDoors, Options{Now: func() time.Time { mu.Lock(); defer mu.Unlock(); return time.Now().Add(ahead) }})
	c := joined(t, s.brokerAt(t))
	for range 5 {
		c.send(t, "95")
	}
	c.until(t, "good", func(l watch.Published) bool { return l.Status == "good" })
	mu.Lock()
	ahead = 6 * time.Minute
	mu.Unlock()
	old := c.until(t, "too old", func(l watch.Published) bool { return l.Status == "failure" })
	if old.LevelPct != nil || old.LastGood == nil || !regexp.MustCompile(`^no reading since \d\d:\d\d; last good 50 %`).MatchString(old.Reason) {
		t.Errorf("it says %q with a level of %v", old.Reason, old.LevelPct)
	}
}

// What can't be used in a tank or a feed is told with its table, all of it at
// once, and nothing is left open.
func TestNewRefuses(t *testing.T) {
	for name, c := range map[string]struct{ text, say string }{
		"no ends":           {"[tank.a]\nlower = 10\n", `\[tank\.a\]: nothing says what its ohms mean; expected job = "FILE", or lower and upper`},
		"both":              {small + "job = \"x.json\"\n", `\[tank\.fresh\]: it has a job and end values`},
		"no such job":       {"[tank.a]\njob = \"none.json\"\n", `\[tank\.a\]: job: .*none\.json`},
		"equal ends":        {"[tank.a]\nlower = 10\nupper = 10\n", `\[tank\.a\]: `},
		"capacity":          {"[tank.a]\nlower = 10\nupper = 90\ncapacity = \"much\"\n", `\[tank\.a\]: capacity: `},
		"two at once":       {"[tank.a]\nlower = 10\n[tank.b]\nupper = 10\n", `(?s)\[tank\.a\].*\[tank\.b\]`},
		"others reach it":   {small + "[http]\nlisten = \"0.0.0.0:0\"\n", `\[http\]: listen is "0\.0\.0\.0:0", which other machines reach`},
		"broker for others": {small + "[mqtt]\nlisten = \"0.0.0.0:0\"\n", `\[mqtt\]: `},
		"a feed":            {small + "[modbus.bay]\nurl = \"smoke\"\n", `\[modbus\.bay\]: `},
		"a recording":       {small + "[file.old]\npath = \"\"\n", `\[file\.old\]: path isn't given`},
	} {
		t.Run(name, func(t *testing.T) {
			config, err := Read(write(t, c.text), nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			s, err := New(context.Background(), config, Options{})
			if err == nil {
				t.Error(s.Stop())
			}
			if err == nil || !regexp.MustCompile(c.say).MatchString(err.Error()) {
				t.Errorf("it says %v, expected %s", err, c.say)
			}
			if err := config.Try(); err == nil {
				t.Error("trying it says nothing")
			}
		})
	}
}

// The configurations in the handbook can be used, those that name files apart.
func TestHandbook(t *testing.T) {
	text, err := os.ReadFile("../../docs/watching.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```toml\n(.*?)```").FindAllSubmatch(text, -1)
	if len(blocks) < 2 {
		t.Fatalf("docs/watching.md has %d blocks of TOML, expected two or more", len(blocks))
	}
	for i, b := range blocks {
		c, err := Read(write(t, string(b[1])), nil, nil)
		if err != nil {
			t.Errorf("block %d: %v", i+1, err)
			continue
		}
		if strings.Contains(string(b[1]), "job = ") {
			sample, err := filepath.Abs("../../docs/samples/tidewater.job.json")
			if err != nil {
				t.Fatal(err)
			}
			for n, tank := range c.Tank {
				tank.Job = sample
				c.Tank[n] = tank
			}
		}
		if err := c.Try(); err != nil {
			t.Errorf("block %d: %v", i+1, err)
		}
	}
}

// A feed that breaks down is begun again and takes nothing with it.
func TestFeedBreaksDown(t *testing.T) {
	ctx, stop := context.WithTimeout(t.Context(), 10*time.Second)
	defer stop()
	f := &fed{feed: &breaking{stop: stop}, log: slog.New(slog.DiscardHandler), now: time.Now}
	f.run(ctx, nil)
	if b := f.feed.(*breaking); b.runs != 2 {
		t.Errorf("it ran %d times, expected 2", b.runs)
	}
	if f.state().Up || !strings.Contains(f.state().Why, "out of paper") {
		t.Errorf("it stands %+v", f.state())
	}
}
