package main

import (
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A watch without pages has its tokens and links by the verb.
func TestTokenVerb(t *testing.T) {
	folder := t.TempDir()
	config := filepath.Join(folder, "watch.toml")
	if err := os.WriteFile(config, []byte("[tank.fresh]\nlower = 10\nupper = 180\n[mqtt]\nlisten = \"127.0.0.1:0\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	run := func(want int, args ...string) (string, string) {
		t.Helper()
		status, out, messages := command("", append([]string{"token"}, args...)...)
		if status != want {
			t.Fatalf("%v: status %d, %s; expected %d", args, status, messages, want)
		}
		return out, messages
	}
	if _, messages := run(exitInput, "list", config); !strings.Contains(messages, "start the watch once") {
		t.Errorf("without a file: %s", messages)
	}
	phrase := filepath.Join(folder, "phrase")
	if err := os.WriteFile(phrase, []byte("copper kettle on the stove\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	p := begin(t, "serve", "--data", filepath.Join(folder, "w.db"), "--listen", "127.0.0.1:0", "--ask-always", "--pass-phrase-file", phrase, "--watch", config)
	secret, messages := run(exitDone, "add", config, "--name", "hut", "--publish", "--tank", "fresh", "--until", "2099-05-31")
	if !regexp.MustCompile(`^gwt-[a-z2-7]{52}\n$`).MatchString(secret) {
		t.Errorf("the token is printed as %q", secret)
	}
	id := regexp.MustCompile(`ID is ([a-z2-7]{8})\.`).FindStringSubmatch(messages)
	if id == nil {
		t.Fatalf("the ID isn't told: %s", messages)
	}
	link, _ := run(exitDone, "add", config, "--name", "Tidewater Kitchen", "--link")
	if !strings.HasPrefix(link, "/see/gwl-") {
		t.Errorf("the link is printed as %q", link)
	}
	run(exitInput, "add", config, "--name", "x", "--publish", "--tank", "nonesuch")
	run(exitInput, "add", config, "--name", "x", "--link", "--publish")
	run(exitInput, "add", config, "--name", "x")
	run(exitInput, "add", config, "--name", "x", "--read", "--until", "tomorrow")
	run(exitInput, "remove", config, "nonesuch")
	if out, _ := run(exitDone, "remove", config, id[1]); out != "Revoked.\n" {
		t.Errorf("it says %q", out)
	}
	// The link works in the program that runs, and ends there when it is revoked here.
	jar, _ := cookiejar.New(nil)
	c := &http.Client{Jar: jar}
	visit := func(path string) (int, string) {
		t.Helper()
		r, _ := http.NewRequest("GET", strings.TrimSuffix(p.url, "/")+path, nil)
		r.Header.Set("Accept", "text/html")
		answer, err := c.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		return answer.StatusCode, answer.Request.URL.Path
	}
	if _, at := visit(strings.TrimSpace(link)); at != "/left" {
		t.Errorf("the link leads to %s", at)
	}
	if status, at := visit("/watched"); status != 403 || at != "/watched" {
		t.Errorf("a guest at the fitters' levels: %d at %s; expected 403", status, at)
	}
	list, _ := run(exitDone, "list", config)
	theirs := regexp.MustCompile(`(?m)^([a-z2-7]{8})  link `).FindStringSubmatch(list)
	if theirs == nil {
		t.Fatalf("the list lacks the link:\n%s", list)
	}
	run(exitDone, "remove", config, theirs[1])
	if _, at := visit("/left"); at != "/sign-in" {
		t.Errorf("after the link was revoked /left leads to %s; expected /sign-in", at)
	}
	if status, _ := visit(strings.TrimSpace(link)); status != 404 {
		t.Errorf("the revoked link: %d; expected 404", status)
	}
	if said := p.said.String(); strings.Contains(said, "gwl-") || strings.Contains(said, "gwt-") || strings.Contains(said, "kettle") {
		t.Errorf("a secret stands in the log:\n%s", said)
	}
	if strings.Contains(list, strings.TrimSpace(secret)) || !strings.Contains(list, "revoked 20") || !strings.Contains(list, "Tidewater Kitchen") {
		t.Errorf("the list is\n%s", list)
	}
	if err := p.interrupt(); err != nil {
		t.Fatal(err)
	}
}
