package main

import (
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
	if err := os.WriteFile(config, []byte("[tank.fresh]\nlower = 10\nupper = 180\n"), 0o600); err != nil {
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
	p := begin(t, "watch", config, "--set", "mqtt.listen=127.0.0.1:0", "--set", "http.listen=127.0.0.1:0")
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
	list, _ := run(exitDone, "list", config)
	if strings.Contains(list, strings.TrimSpace(secret)) || !strings.Contains(list, "revoked 20") || !strings.Contains(list, "Tidewater Kitchen") {
		t.Errorf("the list is\n%s", list)
	}
	if err := p.interrupt(); err != nil {
		t.Fatal(err)
	}
}
