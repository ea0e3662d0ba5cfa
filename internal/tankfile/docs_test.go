package tankfile_test

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/tankfile"
)

// The handbook's example is a tank file, and every field of one stands in the
// handbook.
func TestDocs(t *testing.T) {
	page, err := os.ReadFile("../../docs/tank.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```json\n(.*?)```").FindAllStringSubmatch(string(page), -1)
	if len(blocks) == 0 {
		t.Fatal("no example")
	}
	for _, b := range blocks {
		f, err := tankfile.Read(strings.NewReader(b[1]), "docs/tank.md")
		if err != nil {
			t.Error(err)
			continue
		}
		if _, _, err := f.Tank(nil); err != nil {
			t.Error(err)
		}
	}
	var schema struct {
		Properties map[string]any
		Defs       map[string]struct {
			Properties map[string]any
		} `json:"$defs"`
	}
	if err := json.Unmarshal(tankfile.Schema, &schema); err != nil {
		t.Fatal(err)
	}
	fields := map[string]bool{}
	for name := range schema.Properties {
		fields[name] = true
	}
	for _, d := range schema.Defs {
		for name := range d.Properties {
			fields[name] = true
		}
	}
	if len(fields) < 30 {
		t.Fatalf("found only %d fields in the schema", len(fields))
	}
	for name := range fields {
		if !strings.Contains(string(page), "`"+name+"`") && !strings.Contains(string(page), `"`+name+`"`) {
			t.Errorf("%s isn't in docs/tank.md", name)
		}
	}
}
