package kin

import (
	"os"
	"strings"
	"testing"

	"gaugewright/internal/strict"
)

// Every field of the schema stands in the docs.
func TestDocsNameEveryField(t *testing.T) {
	page, err := os.ReadFile("../../docs/sender-types.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, location := range []string{"#", "#/$defs/unit", "#/$defs/knot"} {
		part, err := form.Part(location)
		if err != nil {
			t.Fatal(err)
		}
		for _, field := range strict.Fields(part) {
			if !strings.Contains(string(page), "`"+field+"`") {
				t.Errorf("%s of %s isn't in docs/sender-types.md", field, location)
			}
		}
	}
}
