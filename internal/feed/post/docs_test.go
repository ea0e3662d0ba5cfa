package post

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/peer"
	"gaugewright/internal/watch"
)

const page = "../../../docs/feeds-post.md"

// blocks gives the blocks of code on the page, with their kinds.
func blocks(t *testing.T) [][]string {
	t.Helper()
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	list := regexp.MustCompile("(?s)```([a-z]+)\n(.*?)```").FindAllStringSubmatch(string(text), -1)
	if len(list) < 10 {
		t.Fatalf("%d blocks in %s", len(list), page)
	}
	return list
}

// Every example of the page, run by curl as it stands there but for the port, is
// answered with what stands below it.
func TestExamplesByCurl(t *testing.T) {
	peer.Tool(t, "curl", "curl")
	s := &sink{}
	_, url := running(t, s, Config{})
	list, ran := blocks(t), 0
	for i, b := range list {
		if b[1] != "sh" {
			continue
		}
		if i+1 >= len(list) || list[i+1][1] != "json" {
			t.Fatalf("no answer stands below\n%s", b[2])
		}
		script := strings.ReplaceAll(b[2], "http://127.0.0.1:8766", url)
		out, err := exec.Command("sh", "-ec", script).CombinedOutput()
		if err != nil || string(out) != list[i+1][2] {
			t.Errorf("%s\ngives %v, %s\nexpected %s", script, err, out, list[i+1][2])
		}
		ran += strings.Count(b[2], "curl ")
	}
	if got := s.taken(); ran != 7 || len(got) != 8 {
		t.Errorf("%d examples ran, %d readings came: %+v", ran, len(got), got)
	} else if at := got[1]; at.Clock != watch.SourceClock || !at.Time.Equal(time.Date(2026, 11, 3, 14, 2, 0, 0, time.UTC)) && !at.Time.Equal(at.Arrived) || at.Tilt == nil {
		t.Errorf("the second: %+v", at)
	}
}

// What curl does by itself: a form is refused, 10 MB are, and 1,000 readings aren't.
func TestCurlAlone(t *testing.T) {
	curl := peer.Tool(t, "curl", "curl")
	s := &sink{}
	_, url := running(t, s, Config{})
	folder := t.TempDir()
	files := map[string]string{"big": strings.Repeat("1", 10<<20), "most": "[" + strings.Repeat("118.4,", 999) + "118.4]"}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	ask := func(args ...string) string {
		args = append([]string{"-sS", "-m", "20", "-o", filepath.Join(folder, "answer"), "-w", "%{http_code} %{content_type}", url + "/readings/fresh"}, args...)
		out, err := exec.Command(curl, args...).CombinedOutput()
		if err != nil {
			t.Errorf("%v: %v %s", args, err, out)
		}
		return string(out)
	}
	json := []string{"-H", "Content-Type: application/json"}
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"a form":             {[]string{"-d", "118.4"}, "415 application/problem+json"},
		"10 MB":              {append(json, "--data-binary", "@"+filepath.Join(folder, "big")), "413 application/problem+json"},
		"10 MB unasked":      {append(json, "-H", "Expect:", "--data-binary", "@"+filepath.Join(folder, "big")), "413 application/problem+json"},
		"10 MB in pieces":    {append(json, "-H", "Transfer-Encoding: chunked", "--data-binary", "@"+filepath.Join(folder, "big")), "413 application/problem+json"},
		"the most":           {append(json, "--data-binary", "@"+filepath.Join(folder, "most")), "200 application/json"},
		"asked for its head": {[]string{"-I"}, "405 application/problem+json"},
	} {
		if got := ask(c.args...); got != c.want {
			t.Errorf("%s: %q; expected %q", name, got, c.want)
		}
	}
	if n := len(s.taken()); n != 1000 {
		t.Errorf("%d readings came; expected 1000", n)
	}
}

// The program of the page, and a problem as urllib has it.
func TestByPython(t *testing.T) {
	s := &sink{}
	_, url := running(t, s, Config{})
	program := ""
	for _, b := range blocks(t) {
		if b[1] == "python" {
			program = strings.ReplaceAll(b[2], "http://127.0.0.1:8766", url)
		}
	}
	python := peer.Tool(t, "python3", "python3")
	run := func(program string) string {
		out, err := exec.Command(python, "-I", "-c", program).CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s\n%s", err, out, program)
		}
		return string(out)
	}
	if got := run(program); got != "2\n" {
		t.Errorf("the program of the page prints %q; expected 2", got)
	}
	problem := run(`
import json, urllib.error, urllib.request
request = urllib.request.Request("` + url + `/readings/nowhere", b"1", {"Content-Type": "application/json"})
try:
    urllib.request.urlopen(request, timeout=30)
except urllib.error.HTTPError as e:
    print(e.code, e.headers.get_content_type(), json.load(e)["why"])
`)
	if want := "404 application/problem+json " + feed.NoSuchTank + "\n"; problem != want {
		t.Errorf("a problem: %q; expected %q", problem, want)
	}
	if got := s.taken(); len(got) != 2 || got[0].Tank != "fresh" || got[1].Signal != watch.Volt {
		t.Errorf("%+v", got)
	}
}

// The page names every status that the handler answers with.
func TestPageNamesStatuses(t *testing.T) {
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sources {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		source, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for status := 100; status < 600; status++ {
			word := strings.NewReplacer(" ", "", "-", "").Replace(http.StatusText(status))
			if word != "" && regexp.MustCompile(`\bhttp\.Status`+word+`\b`).Match(source) && !strings.Contains(string(text), fmt.Sprintf("\n| %d |", status)) {
				t.Errorf("%s answers %d %s, which isn't in %s", name, status, http.StatusText(status), page)
			}
		}
	}
}
