package app

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed/meter"
	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
	"gaugewright/internal/web"
)

// started is a program that serves pages on a free port of this machine.
func started(t *testing.T, o Options) *App {
	t.Helper()
	if o.Data == "" {
		o.Data = filepath.Join(t.TempDir(), "workshop.db")
	}
	if o.Listen == "" {
		o.Listen = "127.0.0.1:0"
	}
	a, err := New(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Stop(); err != nil {
			t.Error(err)
		}
	})
	if err := a.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	return a
}

func get(t *testing.T, c *http.Client, address string) (int, string) {
	t.Helper()
	r, err := http.NewRequest("GET", address, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept", "text/html")
	answer, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(text)
}

func TestStartAndStop(t *testing.T) {
	a := started(t, Options{})
	if status, text := get(t, http.DefaultClient, a.URL()+"words"); status != 200 && status != 404 || !strings.Contains(text, "Gaugewright") {
		t.Errorf("a page: %d\n%s", status, text)
	}
	if err := a.Start(t.Context()); err == nil {
		t.Error("it starts twice")
	}
	// A live page is held open and must not hold up the end.
	live, err := http.Get(a.URL() + "live?meter=1")
	if err != nil {
		t.Fatal(err)
	}
	defer live.Body.Close()
	begun := time.Now()
	for range 2 {
		if err := a.Stop(); err != nil {
			t.Error(err)
		}
	}
	if took := time.Since(begun); took > stopWithin-time.Second {
		t.Errorf("with a live page open it took %s to stop", took)
	}
	<-a.Ended()
	if a.Err() != nil {
		t.Error(a.Err())
	}
	if err := a.Start(t.Context()); err == nil {
		t.Error("it starts after it was stopped")
	}
}

func TestWhatIsWrong(t *testing.T) {
	folder := t.TempDir()
	garbage := filepath.Join(folder, "garbage.db")
	if err := os.WriteFile(garbage, []byte(strings.Repeat("not a data file. ", 99)), 0o600); err != nil {
		t.Fatal(err)
	}
	taken := started(t, Options{})
	for name, c := range map[string]struct {
		o    Options
		want string
	}{
		"address":       {Options{Listen: "bench"}, "expected a host and a port"},
		"half a pair":   {Options{Certificate: "c.pem"}, "only one of them"},
		"garbage":       {Options{Data: garbage}, garbage},
		"a folder":      {Options{Data: folder}, folder},
		"short phrase":  {Options{NewPhrase: "short"}, "expected 15 or more"},
		"port taken":    {Options{Listen: strings.Trim(strings.TrimPrefix(taken.URL(), "http://"), "/")}, "--listen"},
		"no such files": {Options{Certificate: "no.pem", Key: "no.key"}, "no.pem"},
	} {
		t.Run(name, func(t *testing.T) {
			if c.o.Data == "" {
				c.o.Data = filepath.Join(t.TempDir(), "w.db")
			}
			if c.o.Listen == "" {
				c.o.Listen = "127.0.0.1:0"
			}
			a, err := New(t.Context(), c.o)
			if err == nil {
				err = a.Start(t.Context())
				if err := a.Stop(); err != nil {
					t.Error(err)
				}
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("found %v; expected an error with %q", err, c.want)
			}
		})
	}
}

// Pages for the workshop's network ask for a pass phrase, which holds from one
// start to the next; a new one shuts out who has given the old.
func TestPassPhrase(t *testing.T) {
	data := filepath.Join(t.TempDir(), "w.db")
	if _, err := New(t.Context(), Options{Data: data, Listen: ":0"}); !errors.Is(err, ErrPhraseWanted) {
		t.Fatalf("without a pass phrase: %v; expected ErrPhraseWanted", err)
	}
	const first, second = "copper kettle on the stove", "quite another set of words"
	jar, _ := cookiejar.New(nil)
	c := &http.Client{Jar: jar}
	signIn := func(a *App, text string) string {
		t.Helper()
		answer, err := c.PostForm(a.URL()+"sign-in", url.Values{"phrase": {text}})
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		return answer.Request.URL.Path
	}
	start := func(phrase string) *App {
		t.Helper()
		return started(t, Options{Data: data, Guarded: true, NewPhrase: phrase})
	}
	a := start(first)
	if _, text := get(t, c, a.URL()); !strings.Contains(text, ">Pass phrase<") {
		t.Errorf("a stranger sees\n%s", text)
	}
	if at := signIn(a, second); at != "/sign-in" {
		t.Errorf("a wrong phrase leads to %s", at)
	}
	if at := signIn(a, first); at != "/" {
		t.Errorf("the phrase leads to %s", at)
	}
	if err := a.Stop(); err != nil {
		t.Fatal(err)
	}
	port := a.listener.Addr().String()
	again := func(phrase string) (*App, string) {
		t.Helper()
		a := started(t, Options{Data: data, Guarded: true, Listen: port, NewPhrase: phrase})
		_, text := get(t, c, a.URL())
		return a, text
	}
	a, text := again("")
	if strings.Contains(text, ">Pass phrase<") {
		t.Error("after a new start the same browser is asked again")
	}
	if err := a.Stop(); err != nil {
		t.Fatal(err)
	}
	if _, text = again(second); !strings.Contains(text, ">Pass phrase<") {
		t.Error("a new pass phrase lets in who has given the old one")
	}
}

func TestLoopbackNeedsNoPhrase(t *testing.T) {
	for listen, beyond := range map[string]bool{
		"127.0.0.1:0": false, "[::1]:0": false, "localhost:0": false, "127.8.8.8:1": false,
		":0": true, "0.0.0.0:1": true, "[::]:1": true, "192.168.0.2:1": true, "bench:1": true,
	} {
		if got := (&App{o: Options{Listen: listen}}).beyond(); got != beyond {
			t.Errorf("%s reached from other machines: %v; expected %v", listen, got, beyond)
		}
	}
}

func TestDataFolder(t *testing.T) {
	env := func(pairs ...string) func(string) string {
		return func(name string) string {
			for i := 0; i+1 < len(pairs); i += 2 {
				if pairs[i] == name {
					return pairs[i+1]
				}
			}
			return ""
		}
	}
	for _, c := range []struct {
		system string
		env    func(string) string
		want   string
	}{
		{"linux", env("HOME", "/home/f"), "/home/f/.local/share"},
		{"linux", env("HOME", "/home/f", "XDG_DATA_HOME", "/data"), "/data"},
		{"linux", env("HOME", "/home/f", "XDG_DATA_HOME", "data"), "/home/f/.local/share"},
		{"freebsd", env("XDG_DATA_HOME", "/data"), "/data"},
		{"darwin", env("HOME", "/Users/f"), "/Users/f/Library/Application Support"},
		{"windows", env("LocalAppData", `C:\f`), `C:\f`},
		{"windows", env("HOME", "/home/f"), ""},
		{"linux", env(), ""},
	} {
		got, err := dataFolder(c.system, c.env)
		if got != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%s: %q, %v; expected %q", c.system, got, err, c.want)
		}
	}
}

// wait looks again until a thing is so.
func wait(t *testing.T, what string, so func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !so(); {
		if time.Now().After(end) {
			t.Fatalf("it never came about that %s", what)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// The meter on the bench is listened to over a real socket, let go for another,
// and found again by the next start.
func TestMeters(t *testing.T) {
	one, err := simulated.Listen("127.0.0.1:0", simulated.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer one.Close()
	one.SetOhms(47.3)
	data := filepath.Join(t.TempDir(), "w.db")
	a := started(t, Options{Data: data})
	if _, ok := a.meters.Chosen(); ok {
		t.Error("there is a meter on the bench before one was kept")
	}
	ctx := context.Background()
	setup := web.MeterSetup{Name: "Bench meter", Kind: meter.SCPIOverTCP, Address: one.Addr()}
	tried, err := a.meters.Try(ctx, setup)
	if err != nil || tried.Last.State != sitting.Reading || tried.Identity == "" {
		t.Errorf("trying it: %+v, %v", tried, err)
	}
	if err := a.meters.Keep(ctx, setup); err != nil {
		t.Fatal(err)
	}
	wait(t, "the meter stands still at 47.3", func() bool {
		m, ok := a.meters.Chosen()
		return ok && m.Last.Spell > 0 && m.Steady > 47.2 && m.Steady < 47.4
	})
	one.SetOpen()
	wait(t, "an open circuit is an overload", func() bool {
		m, _ := a.meters.Chosen()
		return m.Last.State == sitting.Overload && m.Last.Words != ""
	})
	for name, m := range map[string]web.MeterSetup{
		"no name": {Kind: meter.SCPIOverTCP, Address: one.Addr()}, "no kind": {Name: "x", Address: one.Addr()},
		"no address": {Name: "x", Kind: meter.SCPIOverTCP},
	} {
		if err := a.meters.Keep(ctx, m); err == nil {
			t.Errorf("%s is kept", name)
		}
	}
	if err := a.Stop(); err != nil {
		t.Fatal(err)
	}
	a = started(t, Options{Data: data})
	wait(t, "the next start finds it again", func() bool {
		m, ok := a.meters.Chosen()
		return ok && m.Last.State == sitting.Overload
	})
	heard := a.meters.Heard()
	if err := a.meters.Choose(ctx, ""); err != nil {
		t.Fatal(err)
	}
	<-heard
	if _, ok := a.meters.Chosen(); ok {
		t.Error("it is on the bench after it was taken off")
	}
	if list := a.meters.List(); len(list) != 1 || list[0].Chosen {
		t.Errorf("the list: %+v", list)
	}
	if err := a.meters.Remove(ctx, "bench METER"); err != nil {
		t.Error(err)
	}
	if err := a.meters.Choose(ctx, "Bench meter"); err == nil {
		t.Error("a meter that was removed is chosen")
	}
}

func TestDemo(t *testing.T) {
	j := &job.Job{Version: job.Version, Number: "1", Tanks: []job.Tank{{Name: "Gas", Contents: job.Water, Bench: job.Bench{Readings: []job.Reading{}}}}}
	data := filepath.Join(t.TempDir(), "w.db")
	d := &Demo{Words: "invented", Jobs: []*job.Job{j, j}, Ohms: func(_ job.Tank, mark float64) float64 { return 100 * mark }}
	a := started(t, Options{Data: data, Demo: d})
	if _, all, err := a.Store().Jobs(t.Context(), "", 9); all != 2 || err != nil {
		t.Errorf("%d jobs, %v; expected 2", all, err)
	}
	a.hand.move(j.Tanks[0], 0.42)
	wait(t, "the meter follows the hand", func() bool {
		m, ok := a.meters.Chosen()
		return ok && m.Last.State == sitting.Reading && m.Last.Value > 41.9 && m.Last.Value < 42.1
	})
	if err := a.Stop(); err != nil {
		t.Fatal(err)
	}
	a = started(t, Options{Data: data, Demo: d})
	if _, all, err := a.Store().Jobs(t.Context(), "", 9); all != 2 || err != nil {
		t.Errorf("after a second start %d jobs, %v; expected 2", all, err)
	}
}
