package web

import (
	"context"
	"net/http"
	"net/http/cookiejar"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/doors"
)

const phrase = "four words of ours"

// somePhrases are pass phrases as they are, for tests.
type somePhrases struct {
	mu    sync.Mutex
	texts map[doors.Role]string
	marks map[doors.Role]string
}

const ownerPhrase = "other words of theirs"

// newPhrases are a fitter's and an owner's.
func newPhrases() *somePhrases {
	return &somePhrases{texts: map[doors.Role]string{doors.Fitter: phrase, doors.Owner: ownerPhrase}, marks: map[doors.Role]string{doors.Fitter: "1", doors.Owner: "2"}}
}

func (p *somePhrases) Opens(_ context.Context, text string) (doors.Role, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for role, own := range p.texts {
		if text == own {
			return role, nil
		}
	}
	return doors.Nobody, nil
}

func (p *somePhrases) Mark(role doors.Role) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.marks[role]
}

func (p *somePhrases) Set(_ context.Context, role doors.Role, text string) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.texts, role)
	delete(p.marks, role)
	if text != "" {
		p.texts[role], p.marks[role] = text, newKey()
	}
	return nil
}

func (p *somePhrases) EndAll(context.Context) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	for role := range p.marks {
		p.marks[role] = newKey()
	}
	return nil
}

// withPhrase is a site that asks for a pass phrase, and a browser's cookies.
func withPhrase(t *testing.T, now *time.Time) (*bench, *http.Client) {
	b := open(t, func(o *Options) {
		o.Guarded, o.Phrases = true, newPhrases()
		o.Now = func() time.Time { return *now }
	})
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return b, &http.Client{Jar: jar}
}

func (b *bench) send(c *http.Client, method, path, form string) (*http.Response, string) {
	b.t.Helper()
	r, err := http.NewRequest(method, b.url+path, strings.NewReader(form))
	if err != nil {
		b.t.Fatal(err)
	}
	r.Header.Set("Accept", "text/html")
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	answer, err := c.Do(r)
	_, text := b.answer(answer, err)
	return answer, text
}

func TestSignIn(t *testing.T) {
	now := sunday
	b, c := withPhrase(t, &now)
	answer, text := b.send(c, "GET", "/words?a=1", "")
	if answer.Request.URL.Path != "/sign-in" || !strings.Contains(text, `value="/words?a=1"`) {
		t.Errorf("a stranger got %s; expected the sign-in page that leads back", answer.Request.URL)
	}
	if answer, _ := b.send(c, "POST", "/jobs", "customer=x"); answer.StatusCode != 401 {
		t.Errorf("a stranger's form: %s; expected 401", answer.Status)
	}
	for _, path := range []string{"/live", "/jobs/j1/file"} {
		if status, _ := b.get(path); status != 401 {
			t.Errorf("a stranger at %s: %d; expected 401", path, status)
		}
	}
	if _, text := b.send(c, "POST", "/sign-in", "phrase=guess"); !strings.Contains(text, "That isn&#39;t the pass phrase") {
		t.Errorf("a wrong phrase isn't refused:\n%s", text)
	}
	answer, _ = b.send(c, "POST", "/sign-in", "next=%2Fnowhere&phrase="+strings.ReplaceAll(phrase, " ", "+"))
	if answer.Request.URL.Path != "/nowhere" {
		t.Errorf("after signing in: %s; expected /nowhere", answer.Request.URL)
	}
	cookie := c.Jar.Cookies(answer.Request.URL)
	if len(cookie) != 1 {
		t.Fatalf("found %d cookies; expected one", len(cookie))
	}
	b.send(c, "POST", "/sign-out", "")
	// The token is worth nothing any more, and not only forgotten by the browser.
	r, _ := http.NewRequest("GET", b.url+"/nowhere", nil)
	r.AddCookie(cookie[0])
	if status, _ := b.answer(http.DefaultClient.Do(r)); status != 401 {
		t.Errorf("an old token after signing out: %d; expected 401", status)
	}
}

// Nobody is led to another site after signing in.
func TestSignInLeadsNowhereElse(t *testing.T) {
	now := sunday
	for _, next := range []string{"https://elsewhere.example/", "//elsewhere.example/", `/\elsewhere.example`, "elsewhere", "javascript:alert(1)"} {
		b, c := withPhrase(t, &now)
		c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		answer, _ := b.send(c, "POST", "/sign-in", "next="+next+"&phrase="+strings.ReplaceAll(phrase, " ", "+"))
		if to := answer.Header.Get("Location"); to != "/" {
			t.Errorf("next=%s leads to %q; expected /", next, to)
		}
	}
}

func TestGuessingIsSlow(t *testing.T) {
	now := sunday
	b, c := withPhrase(t, &now)
	waits := 0
	for range 20 {
		if _, text := b.send(c, "POST", "/sign-in", "phrase=guess"); strings.Contains(text, "Too many wrong tries") {
			waits++
		}
	}
	if waits != 20-doors.FreeTries-1 {
		t.Errorf("%d of 20 quick guesses were put off; expected %d", waits, 20-doors.FreeTries-1)
	}
	right := "phrase=" + strings.ReplaceAll(phrase, " ", "+")
	if _, text := b.send(c, "POST", "/sign-in", right); !strings.Contains(text, "Too many wrong tries") {
		t.Error("the right phrase among guesses isn't put off, so a guess can be told from it by the answer")
	}
	now = now.Add(-time.Hour) // a clock set back
	if wait := b.site.tries.Wait("127.0.0.1", now); wait > time.Second {
		t.Errorf("after the clock was set back the wait is %s", wait)
	}
	now = now.Add(time.Hour + doors.LongestWait)
	if answer, _ := b.send(c, "POST", "/sign-in", right); answer.Request.URL.Path == "/sign-in" {
		t.Error("the right phrase after the wait doesn't let in")
	}
}

func TestGuards(t *testing.T) {
	b := open(t)
	ask := func(method, host string, head ...string) *http.Response {
		t.Helper()
		r, _ := http.NewRequest(method, b.url+"/jobs", nil)
		r.Host = host
		for i := 0; i+1 < len(head); i += 2 {
			r.Header.Set(head[i], head[i+1])
		}
		answer, err := http.DefaultClient.Do(r)
		b.answer(answer, err)
		return answer
	}
	for _, host := range []string{"localhost:1", "127.0.0.1", "[::1]:80", "192.168.0.9:8765", "bench.localhost"} {
		if a := ask("GET", host); a.StatusCode == http.StatusMisdirectedRequest {
			t.Errorf("host %s is refused", host)
		}
	}
	// DNS rebinding: another site's name made to lead here.
	for _, host := range []string{"elsewhere.example", "127.0.0.1.elsewhere.example", "localhost.elsewhere.example:80"} {
		if a := ask("GET", host); a.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("host %s: %s; expected 421", host, a.Status)
		}
	}
	if a := ask("POST", "localhost", "Sec-Fetch-Site", "cross-site", "Origin", "https://elsewhere.example"); a.StatusCode != http.StatusForbidden {
		t.Errorf("a form of another site: %s; expected 403", a.Status)
	}
	if a := ask("POST", "localhost", "Origin", "https://elsewhere.example"); a.StatusCode != http.StatusForbidden {
		t.Errorf("a form of another site, from an old browser: %s; expected 403", a.Status)
	}
	csp := ask("GET", "localhost").Header.Get("Content-Security-Policy")
	for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'self'"} {
		if !strings.Contains(csp, want) {
			t.Errorf("the policy %q lacks %s", csp, want)
		}
	}
	if strings.Contains(csp, "unsafe") {
		t.Errorf("the policy allows inline code: %s", csp)
	}
}

func TestFormTooLarge(t *testing.T) {
	b := open(t)
	status, text := b.post("/jobs", "key", "k", "find", strings.Repeat("x", formLimit))
	if status != http.StatusRequestEntityTooLarge || !strings.Contains(text, "Nothing was changed.") {
		t.Errorf("a form of more than a megabyte: %d\n%.300s", status, text)
	}
	if _, all, err := b.store.Jobs(t.Context(), "", 1); all != 0 || err != nil {
		t.Errorf("%d jobs, %v; expected none", all, err)
	}
}
