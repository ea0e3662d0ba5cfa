package main

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A test goes by each way, and says how that went.
func TestNotifyVerb(t *testing.T) {
	var got []string
	code := http.StatusNoContent
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var p struct{ Kind, Title string }
		_ = json.NewDecoder(r.Body).Decode(&p)
		got = append(got, p.Kind+": "+p.Title)
		w.WriteHeader(code)
	}))
	defer server.Close()
	folder := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	write("secret", "an old tin kettle on the hob\n")
	tank := "[tank.fresh]\nlower = 10\nupper = 180\n"
	config := write("watch.toml", tank+"[hook.house]\nurl = \""+server.URL+"\"\nsecret_file = \"secret\"\n[hook.hut]\nurl = \"http://127.0.0.1:1/\"\nsecret_file = \"secret\"\nlanguage = \"de\"\n")
	run := func(want int, args ...string) (string, string) {
		t.Helper()
		status, out, messages := command("", append([]string{"notify"}, args...)...)
		if status != want {
			t.Fatalf("%v: status %d, %s; expected %d", args, status, messages, want)
		}
		return out, messages
	}
	out, _ := run(exitDone, "--config", config, "--way", "hook/house", "--test")
	if want := "hook/house, to " + strings.TrimPrefix(server.URL, "http://") + ": sent, and taken.\n"; out != want || len(got) != 1 || got[0] != "test: A test of the watch" {
		t.Errorf("it says %q, and the server has %q", out, got)
	}
	out, _ = run(exitBad, "--config", config, "--test")
	if lines := strings.Split(out, "\n"); len(lines) != 3 || !strings.HasPrefix(lines[1], "hook/hut, to 127.0.0.1:1: not delivered: 127.0.0.1:1 isn't reached: ") {
		t.Errorf("it says %q", out)
	}
	out, _ = run(exitBad, "--config", config, "--test", "--json")
	var all struct {
		Tried []struct {
			Way string
			OK  bool
			Why *string
		}
	}
	if err := json.Unmarshal([]byte(out), &all); err != nil || len(all.Tried) != 2 || !all.Tried[0].OK || all.Tried[0].Why != nil || all.Tried[1].OK || all.Tried[1].Why == nil {
		t.Errorf("%v: %s", err, out)
	}
	code = http.StatusForbidden
	if out, _ := run(exitBad, "--config", config, "--way", "hook/house", "--test"); !strings.Contains(out, "answers 403 Forbidden") {
		t.Errorf("it says %q", out)
	}
	for say, args := range map[string][]string{
		"there is no such way": {"--config", config, "--way", "mail/owner", "--test"},
		"expected --test":      {"--config", config},
		"nobody is told":       {"--config", write("none.toml", tank), "--test"},
		"url is":               {"--config", write("bad.toml", tank+"[hook.x]\n"), "--test"},
	} {
		if _, messages := run(exitInput, args...); !strings.Contains(messages, say) {
			t.Errorf("%v: it says %q, expected %q", args, messages, say)
		}
	}
}
