package job

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/strict"
)

// The example of the docs is a job, and is laid out as the program does it.
func TestDocsExample(t *testing.T) {
	page, err := os.ReadFile("../../docs/job-file.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```json\n(.*?)```").FindAllStringSubmatch(string(page), -1)
	if len(blocks) != 1 {
		t.Fatalf("found %d examples, expected 1", len(blocks))
	}
	j, err := Read(strings.NewReader(blocks[0][1]), "docs/job-file.md")
	if err != nil {
		t.Fatal(err)
	}
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if string(text) != blocks[0][1] {
		t.Errorf("the program writes it as\n%s", text)
	}
}

// Every field of the schema stands in the docs.
func TestDocsNameEveryField(t *testing.T) {
	page, err := os.ReadFile("../../docs/job-file.md")
	if err != nil {
		t.Fatal(err)
	}
	for name, part := range parts(t) {
		for _, field := range strict.Fields(part) {
			if !strings.Contains(string(page), "`"+field+"`") {
				t.Errorf("%s of %q isn't in docs/job-file.md", field, name)
			}
		}
	}
}

// The message that the docs show is the one that is given.
func TestDocsMessage(t *testing.T) {
	page, err := os.ReadFile("../../docs/job-file.md")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(page), `"mark_pct": 80, "ohm": 80.2`, `"mark_pct": 80, "ohms": 80.2`, 1)
	example := regexp.MustCompile("(?s)```json\n(.*?)```").FindStringSubmatch(text)[1]
	_, err = Read(strings.NewReader(example), "sample.job.json")
	shown := regexp.MustCompile("(?s)```text\n(.*?)\n```").FindStringSubmatch(text)[1]
	if err == nil || err.Error() != shown {
		t.Errorf("found %v, the docs show %s", err, shown)
	}
}
