package hook

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/notice"
	"gaugewright/internal/peer"
)

var noon = time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)

const secret = "an old tin kettle on the hob"

func message() notice.Message {
	n := notice.Notice{ID: "gas/leak/1762171200", Time: noon, Kind: "leak", Priority: notice.Critical, State: "unacknowledged", Alarm: "gas/leak", Tank: "gas", Label: "Küche",
		Title: "Küche: it may leak", Text: "Küche falls by 0.4 L an hour <with> everything off.", Cautions: []string{"Shut the valve at the tank."}}
	return notice.Words(notice.Waiting{Notice: n, Queued: noon}, noon.Add(time.Second), time.UTC)
}

func config(t *testing.T, to string) Config {
	t.Helper()
	path := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(path, []byte(secret+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return Config{URL: to, SecretFile: path}
}

func way(t *testing.T, c Config) *Way {
	t.Helper()
	w, err := New("hook/house", c)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// The example of RFC 9421, B.2.5 (the request of B.2, the shared secret of B.1.5), and
// the digest that this request has there: RFC 9530's for the same content.
func TestExampleOfRFC9421(t *testing.T) {
	key, err := base64.StdEncoding.DecodeString("uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ==")
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, "https://example.com/foo?param=Value&Pet=dog", strings.NewReader(`{"hello": "world"}`))
	r.Header.Set("Date", "Tue, 20 Apr 2021 02:07:55 GMT")
	r.Header.Set("Content-Type", "application/json")
	if err := sign(r, "sig-b25", []string{"date", "@authority", "content-type"}, time.Unix(1618884473, 0), "test-shared-secret", "", key); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"Signature-Input": `sig-b25=("date" "@authority" "content-type");created=1618884473;keyid="test-shared-secret"`,
		"Signature":       "sig-b25=:pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=:",
	} {
		if got := r.Header.Get(name); got != want {
			t.Errorf("%s: %s\nexpected %s", name, got, want)
		}
	}
	if got, want := digest([]byte(`{"hello": "world"}`)), "sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:"; got != want {
		t.Errorf("the digest is %s, expected %s", got, want)
	}
	for name, want := range map[string]string{"@method": "POST", "@path": "/foo", "@query": "?param=Value&Pet=dog"} {
		if got, err := component(r, name); got != want || err != nil {
			t.Errorf("%s is %s, %v; expected %s", name, got, err, want)
		}
	}
	// 2.2.3: without the scheme's own port, in small letters; 2.2.6: an empty path is /.
	for to, want := range map[string][2]string{"https://WWW.Example.com:443": {"www.example.com", "/"}, "http://a.example:80/x%20y": {"a.example", "/x%20y"}, "https://a.example:8443/": {"a.example:8443", "/"}} {
		r := httptest.NewRequest(http.MethodPost, to, nil)
		r.Host = ""
		authority, err1 := component(r, "@authority")
		path, err2 := component(r, "@path")
		if authority != want[0] || path != want[1] || err1 != nil || err2 != nil {
			t.Errorf("%s: %s %s, %v, %v", to, authority, path, err1, err2)
		}
	}
	if _, err := component(r, "@unknown"); err == nil {
		t.Error("a component that isn't there is signed")
	}
}

// verify is the recipe of docs/notices.md: what a program does that gets a post. It is
// run in Python, which knows nothing of how the post was made.
func verify(t *testing.T, seen seenPost, secret string) (ok bool) {
	t.Helper()
	doc, err := os.ReadFile("../../../docs/notices.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(doc), "```python\n")
	recipe, _, ended := strings.Cut(rest, "```")
	if !found || !ended {
		t.Fatal("docs/notices.md has no recipe in Python")
	}
	script := recipe + `
import json, sys
given = json.load(sys.stdin)
try:
    check(given["method"], given["host"], given["target"], given["headers"], given["body"].encode(), given["secret"].encode(), now=given["now"])
    ok = True
except ValueError:
    ok = False
print(json.dumps({"ok": ok}))
`
	var out struct{ OK bool }
	peer.Python(t, nil, script, map[string]any{"method": seen.method, "host": seen.host, "target": seen.target, "headers": seen.headers, "body": seen.body, "secret": secret, "now": noon.Unix() + 3}, &out)
	return out.OK
}

type seenPost struct {
	method, host, target, body string
	headers                    map[string]string
}

// A server gets a post that it can check, and reads of what it is told.
func TestHook(t *testing.T) {
	var seen seenPost
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		seen = seenPost{r.Method, r.Host, r.URL.RequestURI(), string(body), map[string]string{}}
		for name := range r.Header {
			seen.headers[strings.ToLower(name)] = r.Header.Get(name)
		}
		w.WriteHeader(http.StatusNoContent)
	}))
	defer server.Close()
	c := config(t, server.URL+"/notices%20here?to=house")
	c.TokenFile = filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(c.TokenFile, []byte("tok-1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	w := way(t, c)
	w.now = func() time.Time { return noon.Add(time.Second) }
	if err := w.Send(t.Context(), message()); err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal([]byte(seen.body), &got); err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]any{"id": "gas/leak/1762171200", "time": "2025-11-03T12:00:00Z", "sent": "2025-11-03T12:00:01Z", "kind": "leak", "priority": "critical",
		"state": "unacknowledged", "alarm": "gas/leak", "tank": "gas", "label": "Küche", "again": 0.0, "title": "Küche: it may leak",
		"text": "Küche falls by 0.4 L an hour <with> everything off.\n\nThat was on 3 November 2025 at 12:00:00 (UTC+00:00).\n\nShut the valve at the tank."} {
		if got[key] != want {
			t.Errorf("%s is %v; expected %v", key, got[key], want)
		}
	}
	if seen.method != "POST" || seen.headers["gaugewright-notice"] != "gas/leak/1762171200" || seen.headers["authorization"] != "Bearer tok-1" {
		t.Errorf("%+v", seen)
	}
	if !verify(t, seen, secret) {
		t.Errorf("the signature doesn't hold: %+v", seen)
	}
	for name, change := range map[string]func(*seenPost){
		"another body": func(s *seenPost) { s.body = strings.Replace(s.body, "leak", "low!", 1) }, "another path": func(s *seenPost) { s.target = "/other" },
		"another host": func(s *seenPost) { s.host = "other.example" },
		"another ID":   func(s *seenPost) { s.headers["gaugewright-notice"] = "x" },
		"another time": func(s *seenPost) {
			s.headers["signature-input"] = strings.Replace(s.headers["signature-input"], "created=", "created=1", 1)
		},
		"an old time": func(s *seenPost) {
			s.headers["signature-input"] = strings.Replace(s.headers["signature-input"], "created=17", "created=16", 1)
		},
		"less that is said": func(s *seenPost) {
			s.headers["signature-input"] = strings.Replace(s.headers["signature-input"], ` "content-digest"`, "", 1)
		},
		"no signature": func(s *seenPost) { delete(s.headers, "signature") },
	} {
		bad := seen
		bad.headers = map[string]string{}
		for k, v := range seen.headers {
			bad.headers[k] = v
		}
		if change(&bad); verify(t, bad, secret) {
			t.Errorf("%s: it is taken", name)
		}
	}
	if verify(t, seen, "another secret altogether") {
		t.Error("another secret: it is taken")
	}
}

// What a server answers decides whether it is worth another try.
func TestHookAnswers(t *testing.T) {
	asked := 0
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked++
		var code int
		fmt.Sscan(strings.TrimPrefix(r.URL.Path, "/"), &code)
		switch code {
		case 429:
			w.Header().Set("Retry-After", "120")
		case 503:
			w.Header().Set("Retry-After", noon.Add(time.Hour).Format(http.TimeFormat))
		case 302:
			w.Header().Set("Location", "/200")
		}
		w.WriteHeader(code)
		_, _ = w.Write(make([]byte, 1<<20))
	}))
	defer server.Close()
	for code, want := range map[int]notice.Failure{
		400: {Permanent: true}, 404: {Permanent: true}, 410: {Permanent: true}, 302: {Permanent: true},
		408: {}, 425: {}, 429: {After: 2 * time.Minute}, 500: {}, 503: {After: time.Hour},
	} {
		w := way(t, config(t, fmt.Sprint(server.URL, "/", code)))
		w.now = func() time.Time { return noon }
		asked = 0
		err := w.Send(t.Context(), message())
		got := notice.FailureOf(err)
		if err == nil || got.Permanent != want.Permanent || got.After != want.After || got.Unreached || asked != 1 {
			t.Errorf("%d: %v, %+v, asked %d times; expected %+v", code, err, got, asked, want)
		}
	}
	for _, code := range []int{200, 201, 202, 204} {
		if err := way(t, config(t, fmt.Sprint(server.URL, "/", code))).Send(t.Context(), message()); err != nil {
			t.Errorf("%d: %v", code, err)
		}
	}
	if d := retryAfter("-5", noon) + retryAfter("soon", noon) + retryAfter(noon.Add(-time.Hour).Format(http.TimeFormat), noon); d != 0 {
		t.Errorf("what is no pause is one of %v", d)
	}
}

func TestHookUnreached(t *testing.T) {
	w := way(t, config(t, fmt.Sprintf("http://127.0.0.1:%d/hidden", peer.FreePort(t))))
	if err := w.Send(t.Context(), message()); !notice.FailureOf(err).Unreached || strings.Contains(err.Error(), "hidden") {
		t.Errorf("%v; expected that nobody is reached, without the path", err)
	}
	// A server that never answers.
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { _, _ = io.Copy(io.Discard, r.Body); <-r.Context().Done() }))
	defer server.Close()
	ctx, done := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer done()
	if err := way(t, config(t, server.URL)).Send(ctx, message()); err == nil || notice.FailureOf(err).Unreached {
		t.Errorf("%v; expected that it was reached", err)
	}
	// One whose certificate nobody believes.
	secure := httptest.NewTLSServer(http.NotFoundHandler())
	defer secure.Close()
	if err := way(t, config(t, secure.URL)).Send(t.Context(), message()); err == nil || !strings.Contains(err.Error(), "certificate") {
		t.Errorf("%v; expected that its certificate isn't believed", err)
	}
}

func TestHookConfig(t *testing.T) {
	good := config(t, "https://house.example.org/notices")
	if w := way(t, good); w.What() != "house.example.org" || w.c.KeyID != "hook/house" {
		t.Errorf("%s, %s", w.What(), w.c.KeyID)
	}
	short := filepath.Join(t.TempDir(), "short")
	if err := os.WriteFile(short, []byte("abc\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		change func(*Config)
		say    string
	}{
		"no address":        {func(c *Config) { c.URL = "" }, `url is ""`},
		"no host":           {func(c *Config) { c.URL = "https:///x" }, "expected an address like"},
		"another scheme":    {func(c *Config) { c.URL = "file:///etc/passwd" }, "expected an address like"},
		"without TLS":       {func(c *Config) { c.URL = "http://house.example.org/" }, "plain = true"},
		"a user":            {func(c *Config) { c.URL = "https://u:p@house.example.org/" }, "has a user in it"},
		"a fragment":        {func(c *Config) { c.URL = "https://house.example.org/#x" }, "after #"},
		"no secret":         {func(c *Config) { c.SecretFile = "" }, "secret_file isn't there"},
		"no file of it":     {func(c *Config) { c.SecretFile = "/none" }, "secret_file can't be read"},
		"a short secret":    {func(c *Config) { c.SecretFile = short }, "has 3 bytes"},
		"a key with quotes": {func(c *Config) { c.KeyID = `a"b` }, "key_id is"},
	} {
		bad := good
		c.change(&bad)
		if _, err := New("hook/house", bad); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: it says %v, expected %s", name, err, c.say)
		}
	}
	good.URL, good.Plain = "http://house.example.org/", true
	if _, err := New("hook/house", good); err != nil {
		t.Errorf("in the clear as it was asked for: %v", err)
	}
}
