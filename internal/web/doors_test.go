package web

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
)

// yard is a guarded site with a watch, links and tokens, and who comes to it.
type yard struct {
	*bench
	passes  *doors.Register
	phrases *somePhrases
	log     *logged
	mu      sync.Mutex
	now     time.Time
}

// logged is a log that can be looked through while it is written.
type logged struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func (y *yard) clock() time.Time {
	y.mu.Lock()
	defer y.mu.Unlock()
	return y.now
}

func (y *yard) later(d time.Duration) {
	y.mu.Lock()
	defer y.mu.Unlock()
	y.now = y.now.Add(d)
}

func newPasses(t testing.TB) *doors.Register {
	t.Helper()
	s, err := sqlite.OpenReadings(context.Background(), filepath.Join(t.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return doors.NewRegister(s)
}

func newYard(t *testing.T, change ...func(*Options)) *yard {
	t.Helper()
	y := &yard{passes: newPasses(t), phrases: newPhrases(), log: &logged{}, now: sunday}
	y.bench = open(t, append([]func(*Options){stall(t).options, func(o *Options) {
		o.Guarded, o.Phrases, o.Passes, o.Now = true, y.phrases, y.passes, y.clock
		o.Log = slog.New(slog.NewTextHandler(y.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	}}, change...)...)
	return y
}

// link makes a link for tanks; none: for all.
func (y *yard) link(tanks ...string) (doors.Pass, string) {
	y.t.Helper()
	p, secret, err := y.passes.Make(context.Background(), doors.Pass{Kind: doors.Link, Name: "Tidewater Kitchen", Tanks: tanks}, y.clock())
	if err != nil {
		y.t.Fatal(err)
	}
	return p, secret
}

// ask sends a request without a network and gives the answer.
func (y *yard) ask(method, path, form string, cookies []*http.Cookie, head ...string) *http.Response {
	ctx, done := context.WithTimeout(context.Background(), 300*time.Millisecond) // for streams
	defer done()
	r := httptest.NewRequestWithContext(ctx, method, path, strings.NewReader(form))
	r.Host = "localhost"
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i+1 < len(head); i += 2 {
		r.Header.Set(head[i], head[i+1])
	}
	for _, c := range cookies {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	y.site.ServeHTTP(w, r)
	return w.Result()
}

// as gives the cookies of someone.
func (y *yard) as(role doors.Role) []*http.Cookie {
	y.t.Helper()
	switch role {
	case doors.Fitter:
		return y.ask("POST", "/sign-in", url.Values{"phrase": {phrase}}.Encode(), nil).Cookies()
	case doors.Owner:
		return y.ask("POST", "/sign-in", url.Values{"phrase": {ownerPhrase}}.Encode(), nil).Cookies()
	case doors.Guest:
		_, secret := y.link()
		return y.ask("GET", "/see/"+secret, "", nil).Cookies()
	}
	return nil
}

var blank = regexp.MustCompile(`\{[^}]*\}`)

// Every address says for whom it is, and lets in nobody else.
func TestEveryAddressHasItsRoles(t *testing.T) {
	y := newYard(t)
	if len(y.site.patterns) < 80 {
		t.Fatalf("only %d addresses were found", len(y.site.patterns))
	}
	for _, pattern := range y.site.patterns {
		g, known := groupOf(pattern)
		if !known {
			t.Errorf("%s: nothing says who may go there; add its room to doors_table.go", pattern)
		}
		method, path, ok := strings.Cut(pattern, " ")
		if !ok {
			method, path = "GET", pattern+"nowhere"
		}
		path = blank.ReplaceAllString(strings.TrimSuffix(path, "{$}"), "1")
		for _, role := range []doors.Role{doors.Nobody, doors.Fitter, doors.Owner, doors.Guest} {
			if role == doors.Fitter && method == "POST" && strings.HasPrefix(path, "/doors") {
				continue // it may, and the test of the page does so
			}
			y.phrases = newPhrases()
			y.site.o.Phrases = y.phrases
			status := y.ask(method, path, "", y.as(role)).StatusCode
			in := status != http.StatusUnauthorized && status != http.StatusForbidden
			if in != g.has(role) {
				t.Errorf("%q at %s: status %d; let in should be %v", role, pattern, status, g.has(role))
			}
		}
	}
}

// What isn't in the table is for fitters alone.
func TestUnknownAddressIsForFitters(t *testing.T) {
	for _, pattern := range []string{"GET /nonesuch", "POST /left/x", "POST /see/x", "DELETE /left", "/jobs/"} {
		g, _ := groupOf(pattern)
		if g != fitters {
			t.Errorf("%s: for group %d; expected fitters alone", pattern, g)
		}
	}
}

// An owner is led to the own page, and is shown no way to others.
func TestOwnerSeesOnlyWhatIsLeft(t *testing.T) {
	y := newYard(t)
	owner := y.as(doors.Owner)
	if a := y.ask("GET", "/", "", owner); a.Header.Get("Location") != "/left" {
		t.Errorf("an owner at the list of jobs is led to %q; expected /left", a.Header.Get("Location"))
	}
	a := y.ask("GET", "/jobs/j1", "", owner, "Accept", "text/html")
	text := body(t, a)
	if a.StatusCode != 403 || !strings.Contains(text, "for those who fit the tanks") {
		t.Errorf("an owner at a job: %d\n%s", a.StatusCode, text)
	}
	for _, words := range []string{`href="/meters"`, `href="/watched"`, `href="/doors"`, `>Jobs<`} {
		if strings.Contains(text, words) {
			t.Errorf("an owner is shown a way to %s, which isn't for owners", words)
		}
	}
	if !strings.Contains(text, "Sign out") {
		t.Error("an owner isn't shown how to sign out")
	}
}

func body(t *testing.T, a *http.Response) string {
	t.Helper()
	var b bytes.Buffer
	if _, err := b.ReadFrom(a.Body); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A link lets in by a cookie of its own, and its secret is in no address after it,
// in no header that is passed on, and in no log.
func TestLinkOpens(t *testing.T) {
	y := newYard(t)
	p, secret := y.link("fresh")
	for _, path := range []string{"/see/" + secret, strings.ToUpper("/see/" + secret)} {
		a := y.ask("GET", path, "", nil)
		if a.StatusCode != 303 || a.Header.Get("Location") != "/left" || a.Header.Get("Referrer-Policy") != "no-referrer" || a.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %d, %v", path, a.StatusCode, a.Header)
		}
		cookies := a.Cookies()
		if len(cookies) != 1 || strings.Contains(cookies[0].Value, secret) || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteLaxMode {
			t.Fatalf("%s: cookies %v", path, cookies)
		}
		r := httptest.NewRequest("GET", "/left", nil)
		r.AddCookie(cookies[0])
		v, err := y.site.Visitor(r)
		if err != nil || v.Role != doors.Guest || v.Pass != p.ID || !v.Sees("fresh") || v.Sees("gas") {
			t.Errorf("who comes by it is %+v, %v", v, err)
		}
	}
	if strings.Contains(strings.ToLower(y.log.String()), secret[4:]) {
		t.Error("the secret stands in the log")
	}
}

// A link that was revoked, that has ended, or that isn't one lets nobody in, and
// nobody any more who came by it.
func TestLinkEnds(t *testing.T) {
	y := newYard(t)
	p, secret := y.link()
	cookies := y.ask("GET", "/see/"+secret, "", nil).Cookies()
	if a := y.ask("GET", "/", "", cookies); a.Header.Get("Location") != "/left" {
		t.Fatalf("a guest is led to %q", a.Header.Get("Location"))
	}
	if err := y.passes.RevokePass(t.Context(), p.ID, y.clock()); err != nil {
		t.Fatal(err)
	}
	if a := y.ask("GET", "/left", "", cookies); a.StatusCode != 401 {
		t.Errorf("who came by a revoked link: %d; expected 401", a.StatusCode)
	}
	for _, path := range []string{"/see/" + secret, "/see/x", "/see/gwl-" + strings.Repeat("a", 52)} {
		a := y.ask("GET", path, "", nil)
		if text := body(t, a); a.StatusCode != 404 || len(a.Cookies()) > 0 || !strings.Contains(text, "This link doesn&#39;t work") {
			t.Errorf("%s: %d\n%s", path, a.StatusCode, text)
		}
	}
	ends, other, err := y.passes.Make(t.Context(), doors.Pass{Kind: doors.Link, Name: "x", Until: sunday.Add(48 * time.Hour)}, y.clock())
	if err != nil {
		t.Fatal(err)
	}
	y.later(doors.LongestWait)
	cookies = y.ask("GET", "/see/"+other, "", nil).Cookies()
	y.later(ends.Until.Sub(y.clock()))
	if a := y.ask("GET", "/left", "", cookies); a.StatusCode != 401 {
		t.Errorf("after the link's last day: %d; expected 401", a.StatusCode)
	}
	// A token is no link.
	_, token, err := y.passes.Make(t.Context(), doors.Pass{Kind: doors.Token, Name: "x", Read: true}, y.clock())
	if err != nil {
		t.Fatal(err)
	}
	if a := y.ask("GET", "/see/"+token, "", nil); a.StatusCode != 404 {
		t.Errorf("a token as a link: %d; expected 404", a.StatusCode)
	}
}

// Guessing links is slow, and told when to try again.
func TestLinkGuessingIsSlow(t *testing.T) {
	y := newYard(t)
	_, secret := y.link()
	waits := 0
	for range 20 {
		if a := y.ask("GET", "/see/gwl-"+strings.Repeat("b", 52), "", nil); a.StatusCode == http.StatusTooManyRequests && a.Header.Get("Retry-After") != "" {
			waits++
		}
	}
	if waits != 20-doors.FreeTries-1 {
		t.Errorf("%d of 20 quick guesses were put off; expected %d", waits, 20-doors.FreeTries-1)
	}
	if a := y.ask("GET", "/see/"+secret, "", nil); a.StatusCode != http.StatusTooManyRequests {
		t.Errorf("the right link among guesses: %d; expected 429", a.StatusCode)
	}
	if a := y.ask("GET", "/", "", y.as(doors.Fitter)); a.StatusCode != 200 {
		t.Errorf("who signs in by a pass phrase meanwhile: %d", a.StatusCode)
	}
	y.later(doors.LongestWait)
	if a := y.ask("GET", "/see/"+secret, "", nil); a.StatusCode != 303 {
		t.Errorf("after the wait: %d", a.StatusCode)
	}
}

func TestSignInTooOftenSays429(t *testing.T) {
	y := newYard(t)
	var last *http.Response
	for range doors.FreeTries + 2 {
		last = y.ask("POST", "/sign-in", "phrase=guess", nil)
	}
	if last.StatusCode != http.StatusTooManyRequests || last.Header.Get("Retry-After") != "1" {
		t.Errorf("%d, Retry-After %q; expected 429 and 1", last.StatusCode, last.Header.Get("Retry-After"))
	}
}

// Many sign-ins at once never check more than one pass phrase at a time, and those
// beyond a few aren't kept waiting.
func TestSignInOneAtATime(t *testing.T) {
	var tr tries
	var mu sync.Mutex
	now, most, checked := 0, 0, 0
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			_, _, _ = tr.check("10.0.0.1", func() time.Time { return sunday }, func() (doors.Role, error) {
				mu.Lock()
				now++
				most, checked = max(most, now), checked+1
				mu.Unlock()
				time.Sleep(5 * time.Millisecond)
				mu.Lock()
				now--
				mu.Unlock()
				return doors.Nobody, nil
			})
		})
	}
	all.Wait()
	if most != 1 || checked > doors.FreeTries+1 {
		t.Errorf("%d at once, %d guesses in all; expected 1 and at most %d", most, checked, doors.FreeTries+1)
	}
}

// A session ends when it wasn't used for its time, and in any case after the whole
// of it; a new one is made at each sign-in.
func TestSessionEnds(t *testing.T) {
	for role, l := range map[doors.Role]life{doors.Fitter: lives[doors.Fitter], doors.Owner: lives[doors.Owner]} {
		y := newYard(t)
		c := y.as(role)
		in := func() bool { return y.ask("GET", "/sign-in", "", c).StatusCode == 303 }
		y.later(l.idle - time.Hour)
		if !in() {
			t.Errorf("%s: out an hour before the session is idle for too long", role)
		}
		y.later(l.idle - time.Hour)
		if !in() {
			t.Errorf("%s: out though it was used", role)
		}
		y.later(l.idle)
		if in() {
			t.Errorf("%s: still in after %s without use", role, l.idle)
		}
		y = newYard(t)
		c = y.as(role)
		for gone := time.Duration(0); gone < l.whole; gone += l.idle / 2 {
			if !in() {
				t.Errorf("%s: out after %s", role, gone)
			}
			y.later(l.idle / 2)
		}
		y.later(l.idle / 2)
		if in() {
			t.Errorf("%s: still in after %s", role, l.whole)
		}
	}
	y := newYard(t)
	first := y.as(doors.Fitter)
	second := y.ask("POST", "/sign-in", url.Values{"phrase": {phrase}}.Encode(), first).Cookies()
	if first[0].Value == second[0].Value {
		t.Error("the session keeps its name through a sign-in")
	}
	if a := y.ask("GET", "/", "", first); a.StatusCode != 401 {
		t.Errorf("the session before: %d; expected 401", a.StatusCode)
	}
}

// When one role's pass phrase changes, its sessions end and no others.
func TestPhraseChangeEndsSessions(t *testing.T) {
	y := newYard(t)
	fitter, other, owner := y.as(doors.Fitter), y.as(doors.Fitter), y.as(doors.Owner)
	a := y.ask("POST", "/doors/phrase", url.Values{"whose": {"owner-phrase"}, "phrase": {"a wholly new set of words"}, "again": {"a wholly new set of words"}, "present": {phrase}}.Encode(), fitter)
	if a.Header.Get("Location") != "/doors?said=is-set-owner" {
		t.Fatalf("setting the owner's: %d\n%s", a.StatusCode, body(t, a))
	}
	if y.ask("GET", "/left", "", owner).StatusCode != 401 || y.ask("GET", "/", "", other).StatusCode != 200 {
		t.Error("the owner is still in, or a fitter is out")
	}
	a = y.ask("POST", "/doors/phrase", url.Values{"whose": {"fitter-phrase"}, "phrase": {"yet another set of words"}, "again": {"yet another set of words"}, "present": {phrase}}.Encode(), fitter)
	fitter = a.Cookies()
	if y.ask("GET", "/", "", other).StatusCode != 401 || y.ask("GET", "/", "", fitter).StatusCode != 200 {
		t.Error("another fitter is still in, or who set it is out")
	}
	guest := y.as(doors.Guest)
	if a := y.ask("POST", "/doors/end", "", fitter); a.Header.Get("Location") != "/sign-in" {
		t.Errorf("signing everybody out leads to %q", a.Header.Get("Location"))
	}
	if y.ask("GET", "/", "", fitter).StatusCode != 401 || y.ask("GET", "/", "", guest).StatusCode != 303 {
		t.Error("a fitter is still in, or a guest is out")
	}
}

// A stream ends within seconds when who follows it is signed out or the link is
// revoked.
func TestStreamEndsWithTheLink(t *testing.T) {
	y := newYard(t)
	// Any stream for guests will do.
	began, ended := make(chan bool, 1), make(chan bool, 1)
	m := y.site.crossing()
	m.HandleFunc("GET /left/live", func(_ http.ResponseWriter, r *http.Request) {
		began <- true
		<-r.Context().Done()
		ended <- true
	})
	p, secret := y.link()
	cookies := y.ask("GET", "/see/"+secret, "", nil).Cookies()
	r := httptest.NewRequest("GET", "/left/live", nil)
	r.AddCookie(cookies[0])
	go y.site.signedIn(m).ServeHTTP(httptest.NewRecorder(), r)
	<-began
	if err := y.passes.RevokePass(t.Context(), p.ID, sunday); err != nil {
		t.Fatal(err)
	}
	select {
	case <-ended:
	case <-time.After(3 * lookAgain):
		t.Error("the stream goes on")
	}
}

// Over TLS cookies have the prefix __Host- and are for TLS alone (RFC 6265bis,
// 4.1.3.2), and a browser is told to come by TLS only where it can check the
// certificate (RFC 6797).
func TestCookiesOverTLS(t *testing.T) {
	y := newYard(t, func(o *Options) { o.Secure = true })
	for _, c := range append(y.as(doors.Fitter), y.as(doors.Guest)...) {
		if !strings.HasPrefix(c.Name, "__Host-") || !c.Secure || !c.HttpOnly || c.Path != "/" || c.Domain != "" || c.SameSite != http.SameSiteLaxMode {
			t.Errorf("the cookie %s", c)
		}
	}
	if h := y.ask("GET", "/sign-in", "", nil).Header.Get("Strict-Transport-Security"); h != "" {
		t.Errorf("with a certificate of one's own: %q", h)
	}
	y = newYard(t, func(o *Options) { o.Secure, o.Strict = true, true })
	if h := y.ask("GET", "/sign-in", "", nil).Header.Get("Strict-Transport-Security"); !strings.Contains(h, "max-age=31536000") {
		t.Errorf("with a given certificate: %q", h)
	}
}

// Every answer has the headers that browsers guard by, an error's too.
func TestHeadersEverywhere(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	for _, path := range []string{"/", "/nowhere", "/sign-in", "/static/base.css", "/see/x", "/doors", "/jobs/j9"} {
		h := y.ask("GET", path, "", fitter).Header
		for name, want := range map[string]string{"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
			if !strings.Contains(h.Get(name), want) {
				t.Errorf("%s: %s is %q; expected %s", path, name, h.Get(name), want)
			}
		}
		if h.Get("Referrer-Policy") == "" || h.Get("Access-Control-Allow-Origin") != "" || h.Get("Server") != "" {
			t.Errorf("%s: %v", path, h)
		}
	}
}

// After all that people and guessers do, no secret stands in the log.
func TestNoSecretInTheLog(t *testing.T) {
	y := newYard(t)
	_, secret := y.link()
	fitter := y.as(doors.Fitter)
	guest := y.ask("GET", "/see/"+secret, "", nil).Cookies()
	for _, pattern := range y.site.patterns {
		method, path, ok := strings.Cut(pattern, " ")
		if !ok || strings.Contains(path, "live") || path == "/doors/end" || path == "/sign-out" {
			continue
		}
		path = blank.ReplaceAllString(strings.TrimSuffix(path, "{$}"), secret)
		y.ask(method, path, url.Values{"phrase": {"not these secret words"}, "present": {phrase}, "again": {"not these secret words"}, "name": {"x"}, "key": {doors.NewID()}}.Encode(), fitter, "Authorization", "Bearer "+secret)
	}
	y.ask("POST", "/sign-in", url.Values{"phrase": {"not these secret words either"}}.Encode(), nil)
	log := strings.ToLower(y.log.String())
	if !strings.Contains(log, "wrong pass phrase") || !strings.Contains(log, "signed in") || !strings.Contains(log, "a pass was made") {
		t.Fatalf("the log lacks what happened:\n%s", log)
	}
	for _, c := range append(fitter, guest...) {
		if strings.Contains(log, strings.ToLower(c.Value)) {
			t.Errorf("the cookie %s stands in the log", c.Name)
		}
	}
	for what, text := range map[string]string{"a pass phrase": phrase, "a wrong pass phrase": "secret words", "the link": secret[4:]} {
		for line := range strings.Lines(log) {
			if strings.Contains(line, text) {
				t.Errorf("%s stands in the log: %s", what, line)
			}
		}
	}
}

// What isn't a method of an address is refused, TRACE everywhere, and nothing lists
// a folder.
func TestMethodsAndFolders(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	for _, c := range [][2]string{{"TRACE", "/"}, {"TRACE", "/sign-in"}, {"PUT", "/doors"}, {"DELETE", "/jobs"}, {"OPTIONS", "/doors/links"}} {
		if status := y.ask(c[0], c[1], "", fitter).StatusCode; status != 404 && status != 405 {
			t.Errorf("%s %s: %d; expected 404 or 405", c[0], c[1], status)
		}
	}
	for _, path := range []string{"/static/", "/static/../", "/static/..%2f..%2fgo.mod", "/.git/config", "/pages/layout.gohtml"} {
		a := y.ask("GET", path, "", fitter)
		if text := body(t, a); a.StatusCode == 200 || strings.Contains(text, "base.css\n") || strings.Contains(text, "module gaugewright") {
			t.Errorf("%s: %d", path, a.StatusCode)
		}
	}
}

// Nobody can write a line of the log, and who was turned away stands in it.
func TestLogCannotBeForged(t *testing.T) {
	y := newYard(t)
	owner := y.as(doors.Owner)
	y.ask("GET", "/jobs/x%0Atime=2026-01-01T00:00:00Z%20level=INFO%20msg=forged", "", owner)
	log := y.log.String()
	if !strings.Contains(log, "turned away") || !strings.Contains(log, "role=owner") {
		t.Errorf("the log lacks who was turned away:\n%s", log)
	}
	for line := range strings.Lines(log) {
		if strings.Contains(line, "msg=forged") && !strings.Contains(line, `\n`) {
			t.Errorf("a line of the log was forged: %s", line)
		}
	}
}

// Signing out ends the session on this side too, and has the browser forget what it
// kept of the pages.
func TestSignOutClears(t *testing.T) {
	y := newYard(t)
	for _, role := range []doors.Role{doors.Fitter, doors.Owner, doors.Guest} {
		c := y.as(role)
		a := y.ask("POST", "/sign-out", "", c)
		if a.Header.Get("Clear-Site-Data") != `"cache"` || len(a.Cookies()) != 1 || a.Cookies()[0].MaxAge >= 0 {
			t.Errorf("%s: %v", role, a.Header)
		}
		if status := y.ask("GET", "/left", "", c).StatusCode; status != 401 {
			t.Errorf("%s: the session goes on after signing out: %d", role, status)
		}
	}
}

// A guest sees the tanks of the link, and of others not even that they are there.
func TestGuestSeesOwnTanks(t *testing.T) {
	y := newYard(t)
	m := y.site.crossing()
	m.HandleFunc("GET /left/{tank}/test", func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) })
	_, secret := y.link("fresh")
	guest := y.ask("GET", "/see/"+secret, "", nil).Cookies()
	for _, c := range []struct {
		tank    string
		cookies []*http.Cookie
		want    int
	}{{"fresh", guest, 204}, {"gas", guest, 404}, {"nonesuch", guest, 404}, {"gas", y.as(doors.Owner), 204}, {"gas", y.as(doors.Fitter), 204}, {"fresh", nil, 401}} {
		r := httptest.NewRequest("GET", "/left/"+c.tank+"/test", nil)
		for _, cookie := range c.cookies {
			r.AddCookie(cookie)
		}
		w := httptest.NewRecorder()
		if y.site.signedIn(m).ServeHTTP(w, r); w.Code != c.want {
			t.Errorf("%s: %d; expected %d", c.tank, w.Code, c.want)
		}
	}
}

// failing is a store that fails with what nobody outside is to know.
type failing struct{ *memory }

func (failing) Jobs(context.Context, string, int) ([]job.Card, int, error) {
	return nil, 0, errors.New("SELECT secret FROM /var/lib/inner: disk I/O error")
}

// What went wrong inside is told to the log and not to the page.
func TestErrorsTellNothing(t *testing.T) {
	y := newYard(t, func(o *Options) { o.Store = failing{newMemory()} })
	a := y.ask("GET", "/", "", y.as(doors.Fitter))
	text := body(t, a)
	if a.StatusCode != 500 || strings.Contains(text, "SELECT") || strings.Contains(text, "/var/lib") || !strings.Contains(text, "Something went wrong here") {
		t.Errorf("%d\n%s", a.StatusCode, text)
	}
	if !strings.Contains(y.log.String(), "SELECT secret") {
		t.Error("the log lacks the cause")
	}
}
