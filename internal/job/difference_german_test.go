package job_test

import (
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/language"
)

// What differs between two jobs is said in German whole, whichever of the two jobs
// it comes from and both ways round. What a person wrote stays as it is.
func TestDiffInGerman(t *testing.T) {
	books, err := language.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	tried, said := 0, map[string]string{}
	job.EveryChange(t, func(was, is *job.Job, path string) {
		if _, err := is.Encode(); err != nil || strings.HasSuffix(path, "/known/from") {
			return // a word that no file may have, or that the program doesn't write there
		}
		tried++
		own := append(was.OwnWords(), is.OwnWords()...)
		v := b.Voice(own)
		for _, d := range append(job.Diff(was, is), job.Diff(is, was)...) {
			if said[d.Text] != "" {
				continue
			}
			german, all := v.Say(d.Text)
			said[d.Text] = german
			bare := german
			for _, words := range own {
				bare = strings.ReplaceAll(bare, words, "")
			}
			if !all || english.MatchString(bare) {
				t.Errorf("%s\nis said as\n%s", d.Text, german)
			}
		}
	})
	if tried < 400 || len(said) < 800 {
		t.Errorf("%d changes and %d sentences were said", tried, len(said))
	}
	t.Logf("%d changes, %d sentences", tried, len(said))
	for text, want := range map[string]string{
		"Gas: water capacity is 54 L, was 55 L.":    "Gas, Wasserinhalt: jetzt 54 L, vorher 55 L.",
		"Gas: now keyed in 0 and 81, was 0 and 82.": "Gas: jetzt eingegeben: 0 und 81; vorher 0 und 82.",
	} {
		if said[text] != want {
			t.Errorf("%q is said as %q; expected %q", text, said[text], want)
		}
	}
}

// english are words that no German sentence has in it.
var english = regexp.MustCompile(`\b(is|the|of|and|not|stated|keyed|taken|put|on|at|by|reading|readings)\b`)
