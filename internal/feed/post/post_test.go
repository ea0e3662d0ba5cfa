package post

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// sink keeps what it is given, as the watch of three tanks would.
type sink struct {
	mu      sync.Mutex
	kept    []watch.Reading
	refused map[string]int
	fail    error
	hold    chan struct{} // not nil: Take waits until it is closed, or for its context
	begun   chan struct{} // not nil: told of each Take
}

func (s *sink) Take(ctx context.Context, list []watch.Reading) error {
	s.mu.Lock()
	hold, begun := s.hold, s.begun
	s.mu.Unlock()
	if begun != nil {
		begun <- struct{}{}
	}
	if hold != nil {
		select {
		case <-hold:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fail != nil {
		return s.fail
	}
	s.kept = append(s.kept, list...)
	return nil
}

func (s *sink) Later(list []watch.Reading, done func(error)) {
	go func() { done(s.Take(context.Background(), list)) }()
}

func (s *sink) Offer(string, []watch.Reading) {}

func (s *sink) Refused(_, why string, _ []byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.refused == nil {
		s.refused = map[string]int{}
	}
	s.refused[why]++
}

func (s *sink) Knows(tank string) bool {
	return slices.Contains([]string{"fresh", "gas", "grey-1"}, tank)
}

// count gives how often something was refused.
func (s *sink) count(why string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.refused[why]
}

// taken gives what was kept since the last time.
func (s *sink) taken() []watch.Reading {
	s.mu.Lock()
	defer s.mu.Unlock()
	list := s.kept
	s.kept = nil
	return list
}

type teller struct{ up chan string }

func (t teller) Up(where string)           { t.up <- where }
func (t teller) Down(error, time.Duration) {}

// running is a feed over a sink, served on this machine.
func running(t testing.TB, to feed.Sink, c Config) (*Feed, string) {
	t.Helper()
	f, err := New("http", c)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	tell, ended := teller{make(chan string, 1)}, make(chan error, 1)
	go func() { ended <- f.Run(ctx, to, tell) }()
	if where := <-tell.up; where != Path {
		t.Errorf("it is up at %q", where)
	}
	server := httptest.NewServer(f)
	t.Cleanup(func() {
		server.Close()
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	return f, server.URL
}

// answer is what came back.
type answer struct {
	status int
	head   http.Header
	text   string
	Kept   *int
	Title  string
	Status int
	Detail string
	Why    string
}

func send(t testing.TB, method, url, kind, body string, heads ...string) answer {
	t.Helper()
	r, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	for i := 0; i+1 < len(heads); i += 2 {
		r.Header.Set(heads[i], heads[i+1])
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	text, err := io.ReadAll(got.Body)
	if err != nil {
		t.Fatal(err)
	}
	a := answer{status: got.StatusCode, head: got.Header, text: string(text)}
	if err := json.Unmarshal(text, &a); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return a
}

func TestReadingsAreKept(t *testing.T) {
	s := &sink{}
	_, url := running(t, s, Config{Signal: func(tank string) watch.Signal {
		return map[string]watch.Signal{"gas": watch.Volt}[tank]
	}})
	for name, c := range map[string]struct {
		path, kind, body string
		want             []watch.Reading
	}{
		"a bare number":     {"/readings/fresh", "application/json", "118.4", []watch.Reading{{Tank: "fresh", Signal: watch.Ohm, Value: 118.4}}},
		"its own signal":    {"/readings/gas", "text/plain; charset=utf-8", "2.5\n", []watch.Reading{{Tank: "gas", Signal: watch.Volt, Value: 2.5}}},
		"an object":         {"/readings/gas", "application/json", `{"ohm": 61}`, []watch.Reading{{Tank: "gas", Signal: watch.Ohm, Value: 61}}},
		"no content type":   {"/readings/grey-1", "", "7", []watch.Reading{{Tank: "grey-1", Value: 7}}},
		"several":           {"/readings/fresh", "application/json", `[1, {"level_pct": 61.5}, null]`, []watch.Reading{{Tank: "fresh", Value: 1}, {Tank: "fresh", Signal: watch.Percent, Value: 61.5}, {Tank: "fresh", Said: watch.Unavailable}}},
		"many tanks":        {"/readings", "application/json", `[{"tank":"fresh","ohm":1},{"tank":"gas","fault":"wet"}]`, []watch.Reading{{Tank: "fresh", Value: 1}, {Tank: "gas", Said: watch.Broken}}},
		"one that names it": {"/readings", "application/json", `{"tank":"fresh","count":512}`, []watch.Reading{{Tank: "fresh", Signal: watch.Count, Value: 512}}},
	} {
		before := time.Now()
		a := send(t, "POST", url+c.path, c.kind, c.body)
		if a.status != 200 || a.Kept == nil || *a.Kept != len(c.want) || a.head.Get("Content-Type") != "application/json" {
			t.Errorf("%s: %d %s", name, a.status, a.text)
		}
		got := s.taken()
		for i := range got {
			r := &got[i]
			if r.Source != "http" || r.Clock != watch.ArrivalClock || r.Time.Before(before) || r.Time.After(time.Now()) || !r.Arrived.Equal(r.Time) {
				t.Errorf("%s: %+v has no time of arrival", name, *r)
			}
			r.Source, r.Time, r.Arrived, r.Clock = "", time.Time{}, time.Time{}, 0
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: kept %+v; expected %+v", name, got, c.want)
		}
	}
	// A time of its own is the reading's time.
	send(t, "POST", url+"/readings/fresh", "application/json", `{"ohm":1,"time":"2025-11-02T09:30:00+01:00"}`)
	if got := s.taken(); len(got) != 1 || !got[0].Time.Equal(time.Date(2025, 11, 2, 8, 30, 0, 0, time.UTC)) || got[0].Clock != watch.SourceClock {
		t.Errorf("with a time: %+v", got)
	}
	if len(s.refused) > 0 {
		t.Errorf("refused: %v", s.refused)
	}
}

// What can't be taken is told as RFC 9457 has it (from memory), is counted under a
// few words, and leaves nothing behind.
func TestRefused(t *testing.T) {
	s := &sink{}
	_, url := running(t, s, Config{})
	const json, plain = "application/json", "text/plain"
	for name, c := range map[string]struct {
		method, path, kind, body string
		heads                    []string
		status                   int
		why, says                string
	}{
		"no JSON":               {"POST", "/readings/fresh", json, "{ohm:1}", nil, 400, feed.NotJSON, "{ohm:1}"},
		"nothing":               {"POST", "/readings/fresh", json, "", nil, 400, feed.Empty, "empty"},
		"NaN":                   {"POST", "/readings/fresh", plain, "NaN", nil, 400, feed.NotJSON, "NaN"},
		"a field unknown":       {"POST", "/readings/fresh", json, `{"ohms":1}`, nil, 400, feed.UnknownField, "ohms"},
		"one wrong of three":    {"POST", "/readings/fresh", json, `[1, {"ohm":"x"}, 3]`, nil, 400, feed.WrongKind, "ohm"},
		"too many":              {"POST", "/readings/fresh", json, "[" + strings.Repeat("1,", 1000) + "1]", nil, 413, feed.TooMany, "1000"},
		"too long":              {"POST", "/readings/fresh", json, strings.Repeat(" ", 65536) + "1", nil, 413, feed.TooLong, "65537 bytes; expected at most 65536"},
		"no tank inside":        {"POST", "/readings", json, "118.4", nil, 400, feed.NoTank, "tank"},
		"an unknown tank":       {"POST", "/readings/nowhere", json, "1", nil, 404, feed.NoSuchTank, `"nowhere"`},
		"an unknown one inside": {"POST", "/readings", json, `[{"tank":"fresh","ohm":1},{"tank":"<b>","ohm":1}]`, nil, 404, feed.NoSuchTank, "Reading 2 of 2"},
		"a form":                {"POST", "/readings/fresh", "application/x-www-form-urlencoded", "118.4", nil, 415, wrongKind, "application/json"},
		"a strange alphabet":    {"POST", "/readings/fresh", "text/plain; charset=utf-16", "118.4", nil, 415, wrongKind, "utf-16"},
		"no content type":       {"POST", "/readings/fresh", ";;", "118.4", nil, 415, wrongKind, ";;"},
		"packed":                {"POST", "/readings/fresh", json, "118.4", []string{"Content-Encoding", "gzip"}, 415, wrongKind, "gzip"},
		"asked for":             {"GET", "/readings/fresh", "", "", nil, 405, "", "expected POST"},
		"put":                   {"PUT", "/readings", json, "1", nil, 405, "", "PUT"},
		"asked whether it may":  {"OPTIONS", "/readings", "", "", nil, 405, "", "OPTIONS"},
		"elsewhere":             {"POST", "/readings/fresh/more", json, "1", nil, 404, "", "/readings/TANK"},
		"beside it":             {"POST", "/readingsfresh", json, "1", nil, 404, "", "/readings/TANK"},
		"another site's page":   {"POST", "/readings/fresh", plain, "1", []string{"Origin", "http://example.org", "Sec-Fetch-Site", "cross-site"}, 403, anotherSite, "another site"},
		"an old browser's page": {"POST", "/readings/fresh", plain, "1", []string{"Origin", "http://example.org"}, 403, anotherSite, "another site"},
	} {
		before := s.count(c.why)
		a := send(t, c.method, url+c.path, c.kind, c.body, c.heads...)
		if a.status != c.status || a.Status != c.status || a.Title != http.StatusText(c.status) || a.head.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: %d %s; expected %d as a problem", name, a.status, a.text, c.status)
		}
		if a.Why != c.why || !strings.Contains(a.Detail, c.says) {
			t.Errorf("%s: %s; expected why %q and a detail with %q", name, a.text, c.why, c.says)
		}
		if c.why != "" && s.count(c.why) != before+1 {
			t.Errorf("%s: not counted as %q", name, c.why)
		}
		if a.status == 405 && a.head.Get("Allow") != "POST" {
			t.Errorf("%s: Allow is %q", name, a.head.Get("Allow"))
		}
		if a.head.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: it lets other sites' pages in", name)
		}
	}
	if got := s.taken(); len(got) > 0 {
		t.Errorf("of what was refused %+v was kept", got)
	}
	// A page of this address may.
	if a := send(t, "POST", url+"/readings/fresh", "text/plain", "1", "Sec-Fetch-Site", "same-origin", "Origin", url); a.status != 200 {
		t.Errorf("a page of this address: %s", a.text)
	}
}

func TestDiskFails(t *testing.T) {
	s := &sink{fail: errors.New("/home/someone/watch.db: no space left on device")}
	_, url := running(t, s, Config{})
	a := send(t, "POST", url+"/readings/fresh", "application/json", "1")
	if a.status != 503 || a.head.Get("Retry-After") == "" || strings.Contains(a.text, "someone") {
		t.Errorf("%d, Retry-After %q, %s", a.status, a.head.Get("Retry-After"), a.text)
	}
	s.mu.Lock()
	s.fail = nil
	s.mu.Unlock()
	if a := send(t, "POST", url+"/readings/fresh", "application/json", "1"); a.status != 200 || len(s.taken()) != 1 {
		t.Errorf("once there is room again: %s", a.text)
	}
}

// A disk that takes too long is as one that fails: the request ends.
func TestDiskHangs(t *testing.T) {
	s := &sink{hold: make(chan struct{})}
	_, url := running(t, s, Config{Within: feed.Duration(50 * time.Millisecond)})
	if a := send(t, "POST", url+"/readings/fresh", "application/json", "1"); a.status != 503 {
		t.Errorf("%d %s", a.status, a.text)
	}
}

// Nothing is answered before it is kept, and more than so many at once are asked to
// come again.
func TestTooManyAtOnce(t *testing.T) {
	s := &sink{hold: make(chan struct{}), begun: make(chan struct{}, 9)}
	_, url := running(t, s, Config{AtOnce: 2})
	done := make(chan answer, 2)
	for range 2 {
		go func() { done <- send(t, "POST", url+"/readings/fresh", "application/json", "1") }()
		<-s.begun
	}
	a := send(t, "POST", url+"/readings/fresh", "application/json", "1")
	if a.status != 429 || a.head.Get("Retry-After") != "1" || a.Why != tooManyAsked {
		t.Errorf("a third: %d %s", a.status, a.text)
	}
	select {
	case a := <-done:
		t.Errorf("answered before it was kept: %s", a.text)
	case <-time.After(50 * time.Millisecond):
	}
	close(s.hold)
	for range 2 {
		if a := <-done; a.status != 200 {
			t.Errorf("the first two: %s", a.text)
		}
	}
	if n := len(s.taken()); n != 2 {
		t.Errorf("%d kept; expected 2", n)
	}
}

func TestNotRunning(t *testing.T) {
	f, err := New("http", Config{})
	if err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	f.ServeHTTP(w, httptest.NewRequest("POST", "/readings/fresh", strings.NewReader("1")))
	if w.Code != 503 || w.Header().Get("Retry-After") == "" {
		t.Errorf("before it runs: %d %s", w.Code, w.Body)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error)
	tell := teller{make(chan string, 1)}
	go func() { ended <- f.Run(ctx, &sink{}, tell) }()
	<-tell.up
	if err := f.Run(ctx, &sink{}, tell); err == nil {
		t.Error("it runs twice")
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	w = httptest.NewRecorder()
	f.ServeHTTP(w, httptest.NewRequest("POST", "/readings/fresh", strings.NewReader("1")))
	if w.Code != 503 {
		t.Errorf("after it ran: %d %s", w.Code, w.Body)
	}
}

func TestConfig(t *testing.T) {
	for _, c := range []struct {
		name  string
		c     Config
		wants string
	}{{"", Config{}, "no name"}, {"http", Config{AtOnce: -1}, "at_once is -1"}, {"http", Config{Within: -1}, "within"}} {
		if _, err := New(c.name, c.c); err == nil || !strings.Contains(err.Error(), c.wants) {
			t.Errorf("%+v: %v; expected an error with %q", c.c, err, c.wants)
		}
	}
}
