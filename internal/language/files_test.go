package language_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/language"
	"gaugewright/internal/peer"
)

const pot = "catalogues/messages.pot"

// The template has the messages of the German, for who begins another language.
func TestTemplate(t *testing.T) {
	want, err := language.Template("catalogues/de")
	if err != nil {
		t.Fatal(err)
	}
	if *fill {
		if err := os.WriteFile(pot, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(pot)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s isn't made of what the German has by now; go test ./internal/language -run TestTemplate -fill writes it", pot)
	}
	if bytes.Contains(got, []byte("Größte")) {
		t.Error("the template has translations in it")
	}
}

// GNU gettext reads the files as they are read here.
func TestByGettext(t *testing.T) {
	tool := peer.Tool(t, "msgfmt", "gettext")
	names, err := filepath.Glob("catalogues/de/*.po")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d files, %v", len(names), err)
	}
	for _, name := range append(names, pot) {
		if out, err := exec.Command(tool, "--check-format", "--check-domain", "-o", os.DevNull, name).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
	}
	broken := filepath.Join(t.TempDir(), "broken.po")
	if err := os.WriteFile(broken, []byte("msgid \"a\"\nmsgstr \"b\nmsgid \"c\""), 0o644); err != nil {
		t.Fatal(err)
	}
	if exec.Command(tool, "-o", os.DevNull, broken).Run() == nil {
		t.Error("a broken file is taken by msgfmt, so this test says nothing")
	}
}

// spoken gives every text that may be said: literals of the rooms, what stands in
// templates and in scripts.
func spoken(t *testing.T) string {
	t.Helper()
	var all strings.Builder
	for _, pattern := range []string{"../*/*.go", "../web/pages/*.gohtml", "../record/*.gohtml", "../web/static/*.js", "../feed/*/*.go", "../store/*/*.go"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") || strings.Contains(name, "/language/") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			all.Write(bytes.ToLower(text))
			all.WriteByte('\n')
		}
	}
	return all.String()
}

var aWord = regexp.MustCompile(`\p{L}{3,}`)

// A message with a word that stands nowhere in the program is one that nothing says
// any more.
func TestNoMessageIsObsolete(t *testing.T) {
	words := map[string]bool{}
	for m := time.January; m <= time.December; m++ { // Go's own words for them
		words[strings.ToLower(m.String())] = true
		words[strings.ToLower(m.String()[:3])] = true
	}
	for _, w := range aWord.FindAllString(spoken(t), -1) {
		words[w] = true
	}
	for d := time.Sunday; d <= time.Saturday; d++ {
		words[strings.ToLower(d.String())] = true
	}
	ids, err := language.Messages("catalogues/de")
	if err != nil {
		t.Fatal(err)
	}
	if len(ids) < 500 {
		t.Fatalf("%d messages", len(ids))
	}
	holes := regexp.MustCompile(`\{[^}]*\}|</?[0-9]+>`)
	for _, id := range ids {
		for _, w := range aWord.FindAllString(strings.ToLower(holes.ReplaceAllString(id, " ")), -1) {
			if !words[w] {
				t.Errorf("%q has the word %q, which the program doesn't say", id, w)
			}
		}
	}
}

// A translation has the figures of its message.
func TestTranslationsKeepFigures(t *testing.T) {
	pairs, err := language.Pairs("catalogues/de")
	if err != nil {
		t.Fatal(err)
	}
	holes := regexp.MustCompile(`\{[^}]*\}|</?[0-9]+>`)
	typed := regexp.MustCompile(`[0-9]+[.][0-9]+%`) // as it is typed into a file, with a point
	for id, said := range pairs {
		bare := func(s string) string { return typed.ReplaceAllString(holes.ReplaceAllString(s, ""), "") }
		a, b := language.Figures(bare(id), "en"), language.Figures(bare(said), "de")
		if strings.Join(a, " ") != strings.Join(b, " ") {
			t.Errorf("%q has %v, %q has %v", id, a, said, b)
		}
	}
}

// A third language is a file that is dropped into a folder.
func TestThirdLanguage(t *testing.T) {
	folder := t.TempDir()
	text := "msgid \"\"\nmsgstr \"\"\n\"Language: nl\\n\"\n\"X-Language-Name: Nederlands\\n\"\n\nmsgid \"Customer\"\nmsgstr \"Klant\"\n"
	if err := os.WriteFile(filepath.Join(folder, "dutch.po"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	books, err := language.Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	if len(books) != 2 || books[1].Code() != "nl" || books[1].Name() != "Nederlands" {
		t.Fatalf("%d books", len(books))
	}
	if b := books.Choose("nl-BE, de;q=0.5"); b == nil || b.Code() != "nl" {
		t.Error("Dutch isn't chosen for a browser that asks for it")
	}
	if got, all := books[1].Say("Customer"); got != "Klant" || !all {
		t.Error(got)
	}
	if err := os.WriteFile(filepath.Join(folder, "de.po"), []byte("msgid \"\"\nmsgstr \"Language: de\\n\"\nmsgid \"Customer\"\nmsgstr \"Auftraggeber\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if books, err = language.Open(folder); err != nil || len(books) != 2 {
		t.Fatalf("%d, %v", len(books), err)
	}
	if got, _ := books[0].Say("Customer"); got != "Auftraggeber" {
		t.Errorf("a language of the folder doesn't take the place of the program's own: %s", got)
	}
	if _, err := language.Open(filepath.Join(folder, "none")); err == nil || !strings.Contains(err.Error(), "can't be used") {
		t.Error(err)
	}
	if _, err := books.Find("tlh"); err == nil || !strings.Contains(err.Error(), "expected one of en, de, nl") {
		t.Error(err)
	}
	if b, err := books.Find("en"); b != nil || err != nil {
		t.Error(b, err)
	}
}
