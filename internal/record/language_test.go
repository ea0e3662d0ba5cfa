package record_test

import (
	"bytes"
	"flag"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/language"
	"gaugewright/internal/record"
)

// fillIn is "-fill": what the German lacks is added to its files, to be translated.
var fillIn = flag.Bool("fill", false, "add what the German lacks to ../language/catalogues/de, without a translation")

const germanFiles = "../language/catalogues/de"

func german(t testing.TB) *language.Book {
	t.Helper()
	if *fillIn {
		b, err := language.Draft(germanFiles)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	books, err := language.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// languageJobs are samples, and ones on which less was done.
func languageJobs(t testing.TB) map[string]*job.Job {
	t.Helper()
	pages, err := job.ReadFile("../web/testdata/sample.job.json")
	if err != nil {
		t.Fatal(err)
	}
	jobs := map[string]*job.Job{"whole": sample(), "empty": {Version: job.Version, Tanks: []job.Tank{}}, "begun": sample(), "unset": sample(), "unproved": sample(), "table": sample(), "pages": pages, "served": served(12), "steady": served(0)}
	for _, name := range []string{"hut", "tidewater"} {
		if jobs[name], err = job.ReadFile("../../docs/samples/" + name + ".job.json"); err != nil {
			t.Fatal(err)
		}
	}
	for i := range jobs["begun"].Tanks {
		t := &jobs["begun"].Tanks[i]
		t.Bench.Readings, t.Setting, t.Checks = nil, nil, nil
	}
	for i := range jobs["unset"].Tanks {
		t := &jobs["unset"].Tanks[i]
		t.Setting, t.Checks, t.Loads = nil, nil, nil
	}
	for i := range jobs["unproved"].Tanks {
		jobs["unproved"].Tanks[i].Checks = nil
	}
	for i := range jobs["table"].Tanks {
		s := jobs["table"].Tanks[i].Setting
		if s != nil {
			s.Scale = []string{"mark", "volume", "usable"}[i%3]
		}
	}
	return jobs
}

// figuresOf gives the figures of a page, without those that a person wrote.
func figuresOf(page []byte, code string, own []string) []string {
	text := strings.ReplaceAll(language.TextOf(page), "\u00a0", " ")
	for _, o := range own {
		if len(o) > 5 {
			text = strings.ReplaceAll(text, o, "")
		}
		if cut := []rune(o); len(cut) > 20 { // in the printed code
			text = strings.ReplaceAll(text, string(cut[:20]), "")
		}
	}
	return language.Figures(text, code)
}

// The record in German is German whole, as a page and as a PDF, and has the same
// figures as the English one.
func TestRecordInGerman(t *testing.T) {
	b := german(t)
	missing := map[string]bool{}
	for name, j := range languageJobs(t) {
		d, err := record.New(j, checksum, made)
		if err != nil {
			t.Fatal(err)
		}
		in := d.In(b)
		voice := b.Voice(j.OwnWords())
		in.Unsaid(func(text string) {
			for _, form := range voice.Lacking(text) {
				missing[form] = true
			}
		})
		var english, said, pdf bytes.Buffer
		for _, err := range []error{d.HTML(&english, record.A4), in.HTML(&said, record.A4), in.PDF(&pdf, record.A4)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		if !strings.Contains(said.String(), `<html lang="de"`) || !bytes.Contains(pdf.Bytes(), []byte("/Lang (de)")) && !bytes.Contains(pdf.Bytes(), []byte("/Lang <FEFF00640065>")) {
			t.Errorf("%s: the record doesn't say that it is German", name)
		}
		x, y := figuresOf(english.Bytes(), "en", j.OwnWords()), figuresOf(said.Bytes(), "de", j.OwnWords())
		if !slices.Equal(x, y) {
			t.Errorf("%s: the figures differ: %d and %d", name, len(x), len(y))
		}
		if len(x) < 20 {
			t.Errorf("%s: %d figures were compared", name, len(x))
		}
	}
	lacks(t, missing)
}

// Pocket cards in German are German whole, as a page and as a PDF, with the figures
// of the English ones.
func TestCardsInGerman(t *testing.T) {
	b := german(t)
	missing := map[string]bool{}
	for name, j := range languageJobs(t) {
		if len(j.Tanks) == 0 {
			continue
		}
		c, err := record.NewCards(j, checksum, made)
		if err != nil {
			t.Fatal(err)
		}
		in := c.In(b)
		voice := b.Voice(j.OwnWords())
		in.Unsaid(func(text string) {
			for _, form := range voice.Lacking(text) {
				missing[form] = true
			}
		})
		var english, said, pdf bytes.Buffer
		for _, err := range []error{c.HTML(&english, record.A4), in.HTML(&said, record.A4), in.PDF(&pdf, record.A4)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		if !strings.Contains(said.String(), `<html lang="de"`) || !bytes.Contains(pdf.Bytes(), []byte("/Lang (de)")) && !bytes.Contains(pdf.Bytes(), []byte("/Lang <FEFF00640065>")) {
			t.Errorf("%s: the cards don't say that they are German", name)
		}
		x, y := figuresOf(english.Bytes(), "en", j.OwnWords()), figuresOf(said.Bytes(), "de", j.OwnWords())
		if !slices.Equal(x, y) || len(x) < 5 {
			t.Errorf("%s: the figures differ: %d and %d\n%v\n%v", name, len(x), len(y), x, y)
		}
	}
	lacks(t, missing)
}

// lacks complains of what the German lacks, and adds it to its files where that is
// asked for.
func lacks(t *testing.T, missing map[string]bool) {
	t.Helper()
	list := slices.Sorted(maps.Keys(missing))
	if *fillIn {
		n, err := language.Fill(germanFiles, "record", list)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("record: %d added", n)
	}
	for i, form := range list {
		if i == 40 {
			t.Errorf("and %d more; -fill adds them to %s", len(list)-i, germanFiles)
			break
		}
		t.Errorf("the German lacks %q", form)
	}
}

// A third language is a file in a folder; what it hasn't stays English.
func TestRecordInThirdLanguage(t *testing.T) {
	folder := t.TempDir()
	text := "msgid \"\"\nmsgstr \"Language: nl\\nX-Language-Name: Nederlands\\n\"\n\nmsgid \"Customer\"\nmsgstr \"Klant\"\n\nmsgid \"Vehicle\"\nmsgstr \"Voertuig\"\n"
	if err := os.WriteFile(filepath.Join(folder, "dutch.po"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	books, err := language.Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("nl")
	if err != nil {
		t.Fatal(err)
	}
	d, err := record.New(sample(), checksum, made)
	if err != nil {
		t.Fatal(err)
	}
	var page, pdf bytes.Buffer
	for _, err := range []error{d.In(b).HTML(&page, record.A4), d.In(b).PDF(&pdf, record.A4)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []string{`<html lang="nl"`, "Klant", "Voertuig", "Fitter"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the record in Dutch hasn't %q", want)
		}
	}
}
