package api

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"
)

// event is one of a stream.
type event struct {
	name  string
	level Level
}

// listen opens a stream and gives its events one by one; the function ends it.
func listen(t *testing.T, url string) (<-chan event, context.CancelFunc, *http.Response) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	r, err := http.NewRequestWithContext(ctx, "GET", url, nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	events := make(chan event, 100)
	go func() {
		defer close(events)
		defer res.Body.Close()
		var e event
		for s := bufio.NewScanner(res.Body); s.Scan(); {
			switch key, rest, _ := strings.Cut(s.Text(), ": "); key {
			case "event":
				e.name = rest
			case "data":
				if json.Unmarshal([]byte(rest), &e.level) != nil {
					return
				}
			case "":
				if e.name != "" {
					events <- e
				}
				e = event{}
			}
		}
	}()
	return events, cancel, res
}

func next(t *testing.T, events <-chan event) event {
	t.Helper()
	select {
	case e, ok := <-events:
		if !ok {
			t.Fatal("the stream ended")
		}
		return e
	case <-time.After(10 * time.Second):
		t.Fatal("no event within 10 s")
	}
	return event{}
}

// A stream begins with each level, and then tells those that changed alone.
func TestStream(t *testing.T) {
	s := newStall()
	events, cancel, res := listen(t, serving(t, s)+"/api/v1/levels/stream")
	defer cancel()
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "text/event-stream" || res.Header.Get("Cache-Control") != "no-store" {
		t.Fatalf("%d %v", res.StatusCode, res.Header)
	}
	for _, want := range []string{"fresh", "lpg", "diesel"} {
		if e := next(t, events); e.name != "level" || e.level.Tank != want {
			t.Errorf("%+v; expected %s", e, want)
		}
	}
	s.moves(0.4)
	s.moves(0.3)
	var last event
	for last.level.LevelPct == nil || *last.level.LevelPct != 30 {
		if last = next(t, events); last.level.Tank != "fresh" {
			t.Errorf("%+v, which didn't change", last)
		}
	}
}

// A guest's stream has the guest's tanks, one for a tank that tank, and no more
// are open than may be; one that ends makes room.
func TestStreamLimits(t *testing.T) {
	s := newStall()
	url := serving(t, s, func(o *Options) { o.May, o.MostStreams = guest, 1 })
	events, cancel, _ := listen(t, url+"/api/v1/levels/stream")
	if e := next(t, events); e.level.Tank != "fresh" {
		t.Errorf("%+v", e)
	}
	if got := ask(t, "GET", url+"/api/v1/levels/stream", ""); got.status != 503 || got.head.Get("Retry-After") != "10" {
		t.Errorf("a second: %d %v", got.status, got.head)
	}
	select {
	case e := <-events:
		t.Errorf("a guest got %+v", e)
	case <-time.After(20 * time.Millisecond):
	}
	cancel()
	for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(time.Millisecond) {
		events, cancel, res := listen(t, url+"/api/v1/levels/stream?tank=fresh")
		if res.StatusCode == 200 {
			if e := next(t, events); e.level.Tank != "fresh" {
				t.Errorf("%+v", e)
			}
			cancel()
			return
		}
		if cancel(); time.Now().After(deadline) {
			t.Fatal("a stream that ended makes no room")
		}
	}
}

// A token that is revoked ends its stream.
func TestStreamRevoked(t *testing.T) {
	s := newStall()
	revoked := make(chan struct{})
	a, err := New(Options{Watch: past{s}, May: func(r *http.Request) (Access, error) {
		select {
		case <-revoked:
			return Access{}, nil
		default:
			return guest(r)
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	a.quiet = 5 * time.Millisecond
	events, cancel, _ := listen(t, serve(t, a)+"/api/v1/levels/stream")
	defer cancel()
	next(t, events)
	close(revoked)
	select {
	case e, ok := <-events:
		if ok {
			t.Errorf("%+v", e)
		}
	case <-time.After(10 * time.Second):
		t.Error("the stream goes on")
	}
}

// A server that is shut down isn't held up by its streams.
func TestStreamEnds(t *testing.T) {
	ending := make(chan struct{})
	events, cancel, _ := listen(t, serving(t, newStall(), func(o *Options) { o.Ending = ending })+"/api/v1/levels/stream")
	defer cancel()
	next(t, events)
	close(ending)
	for end := time.After(10 * time.Second); ; {
		select {
		case _, ok := <-events:
			if !ok {
				return
			}
		case <-end:
			t.Fatal("the stream goes on")
		}
	}
}
