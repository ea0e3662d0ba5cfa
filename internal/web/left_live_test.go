package web

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// events reads what a stream says (WHATWG HTML, 9.2.6).
type events struct {
	t     *testing.T
	lines *bufio.Scanner
	stop  func()
}

func listenTo(t *testing.T, address string) (*events, *http.Response) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, "GET", address, nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { answer.Body.Close() })
	return &events{t, bufio.NewScanner(answer.Body), cancel}, answer
}

// next gives the next event; false at the end of the stream.
func (e *events) next() (leftTold, bool) {
	e.t.Helper()
	name := ""
	for e.lines.Scan() {
		switch key, value, _ := strings.Cut(e.lines.Text(), ": "); key {
		case "event":
			name = value
		case "data":
			var told leftTold
			if err := json.Unmarshal([]byte(value), &told); err != nil || name != "now" {
				e.t.Fatalf("event %q: %v: %s", name, err, value)
			}
			return told, true
		}
	}
	return leftTold{}, false
}

// A page is told at once how things stand, again when they change, and now and then
// where they don't; it holds no level.
func TestLeftStream(t *testing.T) {
	w := stall(t)
	b := open(t, w.options)
	b.site.followers.pace, b.site.followers.beat = 10*time.Millisecond, 300*time.Millisecond
	_, page := b.get(leftPath)
	mark := regexp.MustCompile(`data-mark="(\w+)"`).FindStringSubmatch(page)
	e, answer := listenTo(t, b.url+leftStream)
	if kind := answer.Header.Get("Content-Type"); kind != "text/event-stream" || answer.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("the stream is %q, to be kept %q", kind, answer.Header.Get("Cache-Control"))
	}
	first, ok := e.next()
	if !ok || mark == nil || first.Mark != mark[1] || len(first.Ages) != 3 || *first.Ages[1] != 4 || first.At > 5000 {
		t.Fatalf("the first word is %+v; the page's mark %v", first, mark)
	}
	// A newer reading of the same level: younger, and the page stays.
	w.sets(1, func(v *watch.Level) { v.Age, v.Time = time.Second, sunday.Add(-time.Second) })
	second, _ := e.next()
	if second.Mark != first.Mark || *second.Ages[1] != 1 || *second.Ages[0] != 4 || second.At < first.At {
		t.Errorf("after a newer reading: %+v", second)
	}
	w.sets(1, func(v *watch.Level) { *v = watch.Level{Tank: "fresh"} })
	if third, _ := e.next(); third.Mark == first.Mark || third.Ages[1] != nil {
		t.Errorf("after a level was lost: %+v", third)
	}
	w.stands(Standing{Failing: "the disk is full"})
	fourth, _ := e.next()
	if fourth.Mark == first.Mark {
		t.Error("that nothing can be kept isn't told")
	}
	begun := time.Now()
	if fifth, ok := e.next(); !ok || fifth.Mark != fourth.Mark || time.Since(begun) < 100*time.Millisecond {
		t.Errorf("where nothing changes it says %+v, %v later", fifth, time.Since(begun))
	}
}

// However often something changes, a page is told of it once in the pace.
func TestLeftPace(t *testing.T) {
	w := stall(t)
	b := open(t, w.options)
	b.site.followers.pace = 100 * time.Millisecond
	stop := make(chan struct{})
	defer close(stop)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			case <-time.After(time.Millisecond):
				w.sets(0, func(v *watch.Level) { v.Age = time.Duration(i) * time.Millisecond })
			}
		}
	}()
	e, _ := listenTo(t, b.url+leftStream)
	begun, n := time.Now(), 0
	for ; time.Since(begun) < time.Second; n++ {
		if _, ok := e.next(); !ok {
			t.Fatal("the stream ended")
		}
	}
	if n > 12 || n < 3 {
		t.Errorf("told %d times in a second at a pace of ten", n)
	}
}

// So many pages may follow and no more, and who goes makes room.
func TestLeftMost(t *testing.T) {
	b := open(t, stall(t).options)
	b.site.followers.most = 2
	one, _ := listenTo(t, b.url+leftStream)
	two, _ := listenTo(t, b.url+leftStream)
	one.next()
	two.next()
	_, refused := listenTo(t, b.url+leftStream)
	if refused.StatusCode != http.StatusServiceUnavailable || refused.Header.Get("Retry-After") == "" {
		t.Fatalf("the third page gets %s", refused.Status)
	}
	one.stop()
	for end := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		if _, answer := listenTo(t, b.url+leftStream); answer.StatusCode == http.StatusOK {
			break
		}
		if time.Now().After(end) {
			t.Fatal("one page has gone, and there is no room")
		}
	}
}

// Streams end when the program stops, before anybody has to cut them off.
func TestLeftStops(t *testing.T) {
	ended := make(chan struct{})
	h, err := NewWatched(WatchedOptions{Watch: stall(t), Now: func() time.Time { return sunday }, Ended: ended})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(h)
	t.Cleanup(server.Close)
	server.Config.RegisterOnShutdown(func() { close(ended) })
	e, _ := listenTo(t, server.URL+leftStream)
	e.next()
	begun := time.Now()
	if err := server.Config.Shutdown(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, more := e.next(); more || time.Since(begun) > 2*time.Second {
		t.Errorf("the stream goes on after the stop, or it took %v", time.Since(begun))
	}
}

// slow is a page that takes a few bytes and then no more, as a phone does that has
// gone out of reach: a write waits for as long as it may.
type slow struct {
	header   http.Header
	room     int
	deadline time.Time
	waited   time.Duration
}

func (s *slow) Header() http.Header                 { return s.header }
func (s *slow) WriteHeader(int)                     {}
func (s *slow) Flush()                              {}
func (s *slow) SetReadDeadline(time.Time) error     { return nil }
func (s *slow) SetWriteDeadline(at time.Time) error { s.deadline = at; return nil }

func (s *slow) Write(text []byte) (int, error) {
	if s.room -= len(text); s.room >= 0 {
		return len(text), nil
	}
	s.waited = time.Until(s.deadline)
	if s.deadline.IsZero() {
		return 0, errors.New("it would have waited for ever")
	}
	return 0, os.ErrDeadlineExceeded
}

// A page that takes nothing is let go after five seconds, its place is free again,
// and nothing was queued for it.
func TestLeftSlow(t *testing.T) {
	b := open(t, stall(t).options)
	b.site.followers.pace, b.site.followers.beat = time.Millisecond, 2*time.Millisecond
	s := &slow{header: http.Header{}, room: 1000}
	b.site.ServeHTTP(s, httptest.NewRequest("GET", "http://localhost"+leftStream, nil))
	if s.waited <= 4*time.Second || s.waited > 5*time.Second {
		t.Errorf("a write may wait for %v; expected 5 s", s.waited)
	}
	if n := b.site.followers.n.Load(); n != 0 {
		t.Errorf("%d pages are still taken to follow", n)
	}
}

// What a phone keeps is told in the language of the page, and is no older than the
// site: the names of its files change with them.
func TestLeftManifest(t *testing.T) {
	books, _ := german(t)
	b := open(t, stall(t).options, func(o *Options) { o.Languages = books })
	for language, name := range map[string]string{"en": "What is left", "de": "Was noch da ist"} {
		status, text, header := fetch(t, b.url+leftManifest, language)
		var m phoneManifest
		if err := json.Unmarshal([]byte(text), &m); err != nil || status != 200 || header.Get("Content-Type") != "application/manifest+json" {
			t.Fatalf("%d, %v: %s", status, err, text)
		}
		if m.Name != name || m.ShortName != name || m.Lang != language || m.StartURL != leftPath || m.Display != "standalone" {
			t.Errorf("%+v", m)
		}
		for _, icon := range m.Icons {
			answer, err := http.Get(b.url + icon.Src)
			if err != nil {
				t.Fatal(err)
			}
			data, _ := io.ReadAll(answer.Body)
			answer.Body.Close()
			if answer.StatusCode != 200 || answer.Header.Get("Content-Type") != "image/png" || len(data) < 100 {
				t.Errorf("%s: %s", icon.Src, answer.Status)
			}
		}
	}
	status, text, header := fetch(t, b.url+leftWorker, "en")
	if status != 200 || header.Get("Service-Worker-Allowed") != leftPath || !strings.HasPrefix(header.Get("Content-Type"), "text/javascript") {
		t.Errorf("%d, %v", status, header)
	}
	for _, file := range regexp.MustCompile(`/static/[^"]+`).FindAllString(text, -1) {
		if status, _ := b.get(file); status != 200 {
			t.Errorf("it would keep %s, which is answered by %d", file, status)
		}
	}
}
