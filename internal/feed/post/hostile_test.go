package post

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
)

// endless is a body that doesn't end.
type endless struct{ sent int }

func (e *endless) Read(b []byte) (int, error) {
	clear(b)
	e.sent += len(b)
	return len(b), nil
}

// A body of 10 MB costs no memory, whether its length is stated or not, and one
// without an end isn't read for ever.
func TestTenMegabytes(t *testing.T) {
	s := &sink{}
	f, url := running(t, s, Config{})
	var before, after runtime.MemStats
	for name, length := range map[string]int64{"of a stated length": 10 << 20, "of none": -1} {
		bodies.Put(new(body)) // one may be held
		runtime.GC()
		runtime.ReadMemStats(&before)
		for range 20 {
			from := &endless{}
			r := httptest.NewRequest("POST", "/readings/fresh", io.LimitReader(from, 10<<20))
			r.ContentLength = length
			w := httptest.NewRecorder()
			f.ServeHTTP(w, r)
			if w.Code != http.StatusRequestEntityTooLarge {
				t.Fatalf("%s: %d %s", name, w.Code, w.Body)
			}
		}
		runtime.ReadMemStats(&after)
		if each := (after.TotalAlloc - before.TotalAlloc) / 20; each > 128<<10 { // a hundredth; other tests' servers, and the race detector, take some too
			t.Errorf("%s: each costs %d bytes; expected no more than 128 KiB", name, each)
		}
	}
	from := &endless{}
	r := httptest.NewRequest("POST", "/readings/fresh", from)
	r.ContentLength = -1
	w := httptest.NewRecorder()
	if f.ServeHTTP(w, r); w.Code != http.StatusRequestEntityTooLarge || from.sent > drained+2*feed.MaxPayload {
		t.Errorf("without an end: %d, and %d bytes of it were read", w.Code, from.sent)
	}
	// Over a connection: the answer comes, and the next one is taken.
	answer, err := http.Post(url+"/readings/fresh", "application/json", struct{ io.Reader }{io.LimitReader(&endless{}, 10<<20)})
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("sent in pieces: %s", answer.Status)
	}
	if a := send(t, "POST", url+"/readings/fresh", "application/json", "1"); a.status != 200 {
		t.Errorf("after it: %s", a.text)
	}
}

// Who sends slowly, or breaks off, is told so, and what came of it isn't a reading
// though it looks like one.
func TestBrokenOff(t *testing.T) {
	s := &sink{}
	_, url := running(t, s, Config{Within: feed.Duration(100 * time.Millisecond)})
	const head = "POST /readings/fresh HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 5\r\n\r\n"
	for name, c := range map[string]struct {
		end    bool
		status int
	}{"slow": {false, 408}, "broken off": {true, 400}} {
		line, err := net.Dial("tcp", strings.TrimPrefix(url, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		_ = line.SetDeadline(time.Now().Add(5 * time.Second))
		fmt.Fprint(line, head+"118") // of 118.4
		if c.end {
			_ = line.(*net.TCPConn).CloseWrite()
		}
		got, err := http.ReadResponse(bufio.NewReader(line), nil)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		text, _ := io.ReadAll(got.Body)
		line.Close()
		if got.StatusCode != c.status {
			t.Errorf("%s: %s %s; expected %d", name, got.Status, text, c.status)
		}
	}
	if list := s.taken(); len(list) > 0 || s.count(notSent) != 2 {
		t.Errorf("kept %+v, counted %d", list, s.count(notSent))
	}
}

// FuzzServe: whatever is sent, the answer says that all of it was kept, which is
// what the decoder gives, or is a problem, and then nothing was.
func FuzzServe(f *testing.F) {
	for _, body := range []string{"118.4", "[1,2]", `{"tank":"fresh","ohm":1}`, `[{"tank":"fresh","ohm":1},{"tank":"x","ohm":2}]`, "NaN", "", "[[[", `{"ohm":null}`} {
		f.Add("POST", "/readings/fresh", "application/json", []byte(body))
		f.Add("POST", "/readings", "text/plain", []byte(body))
	}
	f.Add("GET", "/readings/%2F", "a/b;c", []byte("1"))
	s := &sink{}
	h, err := New("http", Config{})
	if err != nil {
		f.Fatal(err)
	}
	h.to = s
	f.Fuzz(func(t *testing.T, method, path, kind string, body []byte) {
		r := httptest.NewRequest("POST", "/", bytes.NewReader(body))
		r.Method, r.URL.Path = method, path
		r.Header.Set("Content-Type", kind)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		kept := s.taken()
		switch {
		case w.Code == 200:
			d := feed.Defaults{Source: "http", Arrived: time.Now(), TankInside: path == Path}
			if !d.TankInside {
				d.Tank = strings.TrimPrefix(path, Path+"/")
			}
			want, err := feed.Decode(nil, body, d)
			if err != nil || len(want) != len(kept) || w.Body.String() != fmt.Sprintf("{\"kept\":%d}\n", len(kept)) {
				t.Fatalf("%q: %s, kept %d; the decoder gives %d, %v", body, w.Body, len(kept), len(want), err)
			}
			for _, r := range kept {
				if !s.Knows(r.Tank) {
					t.Fatalf("kept for %q", r.Tank)
				}
			}
		case w.Code < 400 || w.Code > 499 || w.Header().Get("Content-Type") != "application/problem+json" || len(kept) > 0:
			t.Fatalf("%d %s, kept %d", w.Code, w.Body, len(kept))
		}
	})
}

// What the handler costs beside the network and the disk.
func BenchmarkServe(b *testing.B) {
	for name, body := range map[string]string{"one": "118.4", "hundred": "[" + strings.Repeat(`{"ohm":118.4,"time":"2026-11-03T14:02:00Z"},`, 99) + `{"ohm":118.4}]`} {
		b.Run(name, func(b *testing.B) {
			h, err := New("http", Config{})
			if err != nil {
				b.Fatal(err)
			}
			s := &sink{}
			h.to = s
			b.ReportAllocs()
			for b.Loop() {
				w := httptest.NewRecorder()
				r := httptest.NewRequest("POST", "/readings/fresh", strings.NewReader(body))
				if h.ServeHTTP(w, r); w.Code != 200 {
					b.Fatal(w.Body)
				}
				s.kept = s.kept[:0]
			}
		})
	}
}
