package app

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/store/sqlite"
)

// memoryNotes are notes that are forgotten.
type memoryNotes map[string]string

func (n memoryNotes) Note(_ context.Context, name string) (string, error) { return n[name], nil }
func (n memoryNotes) SetNote(_ context.Context, name, value string) error {
	n[name] = value
	return nil
}

const pythons = "7nOwJZVuHFh7TJ5YP4D3AweD0OOUpuKuBUr6rVuHzBk"

var cheap = doors.Cost{Memory: 64, Passes: 1, Lanes: 1}

// A pass phrase that an earlier version kept opens still, and is kept by Argon2id
// from then on, with nobody signed out. The hash is Python's hashlib.pbkdf2_hmac's.
func TestPhraseIsRenewed(t *testing.T) {
	ctx := t.Context()
	n := memoryNotes{phraseNote: "pbkdf2-sha256$1000$c29tZXNhbHQxNmJ5dGVzIQ$" + pythons}
	p, err := openPhrases(ctx, n, discard())
	if err != nil {
		t.Fatal(err)
	}
	p.cost = cheap
	mark := p.Mark(doors.Fitter)
	if role, err := p.Opens(ctx, "four words of yours"); role != doors.Nobody || err != nil || !strings.HasPrefix(n[phraseNote], "pbkdf2") {
		t.Errorf("a wrong one: %q, %v, %s", role, err, n[phraseNote])
	}
	if role, err := p.Opens(ctx, "four words of ours"); role != doors.Fitter || err != nil {
		t.Errorf("the right one: %q, %v", role, err)
	}
	if !strings.HasPrefix(n[phraseNote], "$argon2id$v=19$") || p.Mark(doors.Fitter) != mark {
		t.Errorf("it is kept as %s with the mark %s; expected Argon2id and %s", n[phraseNote], p.Mark(doors.Fitter), mark)
	}
	again, err := openPhrases(ctx, n, discard())
	if err != nil || again.Mark(doors.Fitter) != mark {
		t.Errorf("after a new start the mark is another, or %v", err)
	}
	if role, _ := again.Opens(ctx, "four words of ours"); role != doors.Fitter {
		t.Error("after a new start it doesn't open")
	}
}

func TestPhrasesOfTwo(t *testing.T) {
	ctx := t.Context()
	n := memoryNotes{}
	p, err := openPhrases(ctx, n, discard())
	if err != nil {
		t.Fatal(err)
	}
	p.cost = cheap
	if p.Mark(doors.Fitter) != "" || p.Mark(doors.Owner) != "" {
		t.Error("there are marks and no pass phrases")
	}
	set := func(role doors.Role, text string) {
		t.Helper()
		if err := p.Set(ctx, role, text); err != nil {
			t.Fatal(err)
		}
	}
	set(doors.Fitter, "copper kettle on the stove")
	set(doors.Owner, "quite another set of words")
	for text, want := range map[string]doors.Role{"copper kettle on the stove": doors.Fitter, "quite another set of words": doors.Owner, "": doors.Nobody, "neither of the two": doors.Nobody} {
		if role, err := p.Opens(ctx, text); role != want || err != nil {
			t.Errorf("%q opens to %q, %v; expected %q", text, role, err, want)
		}
	}
	fitter, owner := p.Mark(doors.Fitter), p.Mark(doors.Owner)
	set(doors.Owner, "a third one for the owner")
	if p.Mark(doors.Fitter) != fitter || p.Mark(doors.Owner) == owner {
		t.Error("with the owner's pass phrase the fitters' mark changed, or the owner's didn't")
	}
	if err := p.EndAll(ctx); err != nil || p.Mark(doors.Fitter) == fitter {
		t.Errorf("everybody signed out: the mark stays, or %v", err)
	}
	if role, _ := p.Opens(ctx, "copper kettle on the stove"); role != doors.Fitter {
		t.Error("after everybody was signed out the pass phrase doesn't open")
	}
	set(doors.Owner, "")
	if role, _ := p.Opens(ctx, "a third one for the owner"); role != doors.Nobody || p.Mark(doors.Owner) != "" {
		t.Error("the owner's opens after it was taken away")
	}
	if err := p.Set(ctx, doors.Fitter, ""); err == nil {
		t.Error("the fitters' can be taken away")
	}
	for name, text := range n {
		if strings.Contains(text, "kettle") || strings.Contains(text, "words") {
			t.Errorf("the note %s has a pass phrase: %s", name, text)
		}
	}
}

// What a file says that can't be read shuts the program, and opens nothing.
func TestPhraseNoteDamaged(t *testing.T) {
	_, err := openPhrases(t.Context(), memoryNotes{phraseNote: "$argon2id$v=19$m=64"}, discard())
	if err == nil || !strings.Contains(err.Error(), "--new-pass-phrase") {
		t.Errorf("%v; expected an error that tells what to do", err)
	}
}

// A token reads and posts what it is for, over HTTP, and guessing is slow. What is
// signed in as owner reads too.
func TestTokensByHTTP(t *testing.T) {
	store, err := sqlite.OpenReadings(t.Context(), filepath.Join(t.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	g := doors.NewRegister(store)
	a := started(t, Options{NewPhrase: "copper kettle on the stove", NewOwnerPhrase: "quite another set of words", Guarded: true, Passes: g})
	token := func(p doors.Pass) (doors.Pass, string) {
		p.Kind, p.Name = doors.Token, "hut"
		p, secret, err := g.Make(t.Context(), p, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		return p, secret
	}
	ask := func(method, path, secret string) (int, http.Header) {
		r, _ := http.NewRequest(method, a.URL()+path, strings.NewReader("95"))
		r.Header.Set("Content-Type", "application/json")
		if secret != "" {
			r.Header.Set("Authorization", "Bearer "+secret)
		}
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, answer.Body)
		answer.Body.Close()
		return answer.StatusCode, answer.Header
	}
	all, reads := token(doors.Pass{Read: true})
	_, some := token(doors.Pass{Read: true, Tanks: []string{"fresh"}})
	_, sends := token(doors.Pass{Publish: true})
	for _, c := range []struct {
		method, path, secret string
		want                 int
	}{
		{"GET", "api/v1/tanks", "", 401}, {"GET", "metrics", "", 401}, {"POST", "api/v1/tanks/fresh/readings", "", 401},
		{"GET", "api/v1/tanks", reads, 200}, {"GET", "metrics", reads, 200}, {"POST", "api/v1/tanks/fresh/readings", reads, 403},
		{"GET", "api/v1/tanks", some, 200}, {"GET", "metrics", some, 403},
		{"GET", "api/v1/tanks", sends, 403}, {"GET", "metrics", sends, 403}, {"POST", "api/v1/tanks/fresh/readings", sends, 404}, // nothing is watched here
		{"GET", "healthz", "", 200},
	} {
		if got, _ := ask(c.method, c.path, c.secret); got != c.want {
			t.Errorf("%s %s with %.6q: %d; expected %d", c.method, c.path, c.secret, got, c.want)
		}
	}
	if err := g.RevokePass(t.Context(), all.ID, time.Now()); err != nil {
		t.Fatal(err)
	}
	if got, _ := ask("GET", "api/v1/tanks", reads); got != 401 {
		t.Errorf("after it was revoked: %d; expected 401", got)
	}
	for range doors.FreeTries + 1 {
		ask("GET", "api/v1/tanks", "gwt-"+strings.Repeat("a", 52))
	}
	if got, head := ask("GET", "api/v1/tanks", some); got != 429 || head.Get("Retry-After") == "" {
		t.Errorf("among guesses: %d, Retry-After %q; expected 429", got, head.Get("Retry-After"))
	}
	jar, _ := cookiejar.New(nil)
	c := &http.Client{Jar: jar}
	answer, err := c.PostForm(a.URL()+"sign-in", url.Values{"phrase": {"quite another set of words"}})
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if status, text := get(t, c, a.URL()+"api/v1/tanks"); status != 200 {
		t.Errorf("the owner's page: %d %s", status, text)
	}
	if status, _ := get(t, c, a.URL()+"metrics"); status != 403 {
		t.Errorf("the owner at the figures of the program: %d; expected 403", status)
	}
}

// Pages over TLS with a certificate made here: checked against the file alone, and
// the same after a new start.
func TestSelfSignedPages(t *testing.T) {
	data := filepath.Join(t.TempDir(), "w.db")
	a := started(t, Options{Data: data, Listen: "127.0.0.1:0", SelfSigned: true})
	mark := a.Fingerprint()
	if !strings.HasPrefix(a.URL(), "https://") || len(mark) != 32*3-1 {
		t.Errorf("%s, %q", a.URL(), mark)
	}
	c := trusting(t, strings.TrimSuffix(data, ".db")+".tls.pem")
	answer, err := c.Get(strings.Replace(a.URL(), "127.0.0.1", "localhost", 1))
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.Proto != "HTTP/2.0" || answer.Header.Get("Strict-Transport-Security") != "" {
		t.Errorf("%s, %q", answer.Proto, answer.Header.Get("Strict-Transport-Security"))
	}
	if err := a.Stop(); err != nil {
		t.Fatal(err)
	}
	if again := started(t, Options{Data: data, Listen: "127.0.0.1:0", SelfSigned: true}).Fingerprint(); again != mark {
		t.Errorf("after a new start it is %s; expected %s", again, mark)
	}
}

func discard() *slog.Logger { return slog.New(slog.DiscardHandler) }

// trusting is a browser that trusts the certificate in a file and no other.
func trusting(t *testing.T, pem string) *http.Client {
	t.Helper()
	text, err := os.ReadFile(pem)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		t.Fatalf("there is no certificate in %s", pem)
	}
	return &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}}
}
