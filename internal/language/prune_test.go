package language_test

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/language"
)

// With -prune messages without a translation are taken out where more general ones
// say the same.
var prune = flag.Bool("prune", false, "take messages without a translation out of catalogues/de where others say the same")

func TestPrune(t *testing.T) {
	if !*prune {
		return
	}
	books, err := language.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob("catalogues/de/*.po")
	if err != nil {
		t.Fatal(err)
	}
	empty := regexp.MustCompile(`\nmsgid ("(?:[^"\\]|\\.)+")\nmsgstr ""\n(?:\n|$)`)
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		blocks := strings.Split(string(text), "\n\n")
		var out []string
		for _, block := range blocks {
			m := empty.FindStringSubmatch("\n" + strings.TrimSuffix(block, "\n") + "\n")
			if m != nil {
				if id, err := strconv.Unquote(m[1]); err == nil && b.Covers("", id) {
					n++
					continue
				}
			}
			out = append(out, block)
		}
		if n == 0 {
			continue
		}
		if err := os.WriteFile(name, []byte(strings.TrimSuffix(strings.Join(out, "\n\n"), "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %d taken out", name, n)
	}
}
