package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "gaugewright/internal/golden" // for -update
)

// The sample records in docs are those that the program makes of the jobs beside
// them, byte for byte. With -update they are made anew; look at them then.
func TestSamples(t *testing.T) {
	const folder = "../../docs/samples"
	anew := flag.Lookup("update").Value.String() == "true"
	for name, args := range map[string][]string{
		"tidewater.A4.pdf":     {"--paper", "A4"},
		"tidewater.Letter.pdf": {"--paper", "Letter"},
		"tidewater.card.pdf":   {"--card"},
		"hut.A4.pdf":           {},
		"hut.card.Letter.pdf":  {"--card", "--paper", "Letter"},
		"hut.de.A4.pdf":        {"--language", "de"},
		"hut.de.card.pdf":      {"--card", "--language", "de"},
	} {
		job, _, _ := strings.Cut(name, ".")
		out := filepath.Join(t.TempDir(), name)
		status, _, messages := command("", append([]string{"record", filepath.Join(folder, job+".job.json"), "--out", out}, args...)...)
		if status != exitDone {
			t.Fatalf("%s: exit status %d, %s", name, status, messages)
		}
		made, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		if len(made) > 200_000 {
			t.Errorf("%s takes %d bytes", name, len(made))
		}
		kept := filepath.Join(folder, name)
		if anew {
			if err := os.WriteFile(kept, made, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if was, err := os.ReadFile(kept); err != nil || !bytes.Equal(was, made) {
			t.Errorf("%s isn't what the program makes (%v); with go test -run TestSamples ./cmd/gaugewright -update it is made anew", name, err)
		}
	}
}
