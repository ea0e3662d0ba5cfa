package record_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"
)

func pdf(t fatal, j *job.Job, paper record.Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := document(t, j).PDF(&b, paper); err != nil {
		t.Fatalf("no PDF: %v", err)
	}
	return b.Bytes()
}

// saved puts a file where the tools of poppler and qpdf find it.
func saved(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "record.pdf")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// told runs a tool and gives what it says; it fails where the tool complains.
func told(t fatal, tool string, args ...string) string {
	t.Helper()
	var out, complaints bytes.Buffer
	cmd := exec.Command(tool, args...)
	cmd.Stdout, cmd.Stderr = &out, &complaints
	cmd.Env = append(os.Environ(), "TZ=UTC", "LC_ALL=C.UTF-8") // dates and text come in the reader's
	if err := cmd.Run(); err != nil || complaints.Len() > 0 {
		t.Fatalf("%s: %v %s", filepath.Base(tool), err, complaints.String())
	}
	return out.String()
}

// busy is a record with one of everything: three tanks, one of them with a shape,
// and more readings than a page holds.
func busy(t *testing.T) *job.Job {
	j := sample()
	j.Tanks = append(j.Tanks, lying(t))
	for i := range 500 {
		r := job.Reading{MarkMM: at(20 + float64(i%14)*20), Ohm: 4 + float64(i%14)*17 + float64(i%3)}
		if i%17 == 0 {
			r.Note = fmt.Sprintf("taken again after %d", i)
		}
		j.Tanks[1].Bench.Readings = append(j.Tanks[1].Bench.Readings, r)
	}
	return j
}

var (
	narrowDrawing = regexp.MustCompile(`(?s)<div class="only-narrow">.*?</svg>\s*</div>`)
	notSeen       = regexp.MustCompile(`(?s)<title[ >].*?</title>|<desc[ >].*?</desc>`)
)

// Every word and every figure of the page stands in the PDF at least as often,
// as pdftotext reads it: nothing is lost between the two.
func TestPDFSaysWhatThePageSays(t *testing.T) {
	tool := peer.Tool(t, "pdftotext", "poppler-utils")
	for name, j := range map[string]*job.Job{"sample": sample(), "busy": busy(t), "empty": {}, "nothing": {Tanks: []job.Tank{{}}}} {
		t.Run(name, func(t *testing.T) {
			page := notSeen.ReplaceAll(narrowDrawing.ReplaceAll(html(t, j, record.A4), nil), nil)
			want := map[string]int{}
			for _, w := range strings.Fields(readPage(t, page).text) {
				want[w]++
			}
			if len(want) < 30 {
				t.Fatalf("the page has %d words", len(want))
			}
			text := told(t, tool, "-raw", saved(t, pdf(t, j, record.A4)), "-")
			got := map[string]int{}
			for _, w := range strings.Fields(text) {
				got[w]++
			}
			for w, n := range want {
				if got[w] < n {
					t.Errorf("%q stands %d times on the page and %d times in the PDF", w, n, got[w])
				}
			}
			if strings.ContainsRune(text, '\uFFFD') {
				t.Error("a character couldn't be printed")
			}
		})
	}
}

// The sheets are ISO 216 A4 and 8.5 in by 11 in, and poppler reads the names, the
// date and the pages.
func TestPDFInfo(t *testing.T) {
	tool := peer.Tool(t, "pdfinfo", "poppler-utils")
	for paper, size := range map[record.Paper]string{record.A4: "595.28 x 841.89 pts (A4)", record.Letter: "612 x 792 pts (letter)"} {
		said := plainly(told(t, tool, saved(t, pdf(t, sample(), paper))))
		for _, want := range []string{"Page size: " + size, "Title: Level sender record, job 2025-118", "Author: R. Moor", "Keywords: Propane, Fresh water, Heater diesel",
			"Subject: Job 2025-118", "Creator: Gaugewright", "CreationDate: Tue Nov 4 16:20:00 2025"} {
			if !strings.Contains(said, want) {
				t.Errorf("%s: pdfinfo doesn't say %q: %s", paper, want, said)
			}
		}
		m := regexp.MustCompile(`Pages: (\d+)`).FindStringSubmatch(said)
		if n, _ := strconv.Atoi(m[1]); n < 8 || n > 18 {
			t.Errorf("%s: three tanks take %d pages", paper, n)
		}
	}
}

// Both fonts are in the file, each with its way back to Unicode.
func TestPDFFonts(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(told(t, peer.Tool(t, "pdffonts", "poppler-utils"), saved(t, pdf(t, sample(), record.A4)))), "\n")
	if len(lines) != 4 {
		t.Fatalf("pdffonts lists %q; expected a head of two lines and two fonts", lines)
	}
	for _, l := range lines[2:] {
		f := strings.Fields(l)
		// name, CID, TrueType, Identity-H, embedded, subset by name, Unicode, object
		if len(f) < 7 || f[4] != "yes" || f[6] != "yes" {
			t.Errorf("a font isn't in the file or can't be read back: %q", l)
		}
	}
}

func TestPDFIsSound(t *testing.T) {
	tool := peer.Tool(t, "qpdf", "qpdf")
	for name, j := range map[string]*job.Job{"sample": sample(), "busy": busy(t), "long": long(), "empty": {}} {
		if said := told(t, tool, "--check", saved(t, pdf(t, j, record.Letter))); !strings.Contains(said, "No syntax or stream encoding errors found") {
			t.Errorf("%s: %s", name, said)
		}
	}
	// The bookmarks, as qpdf lists them.
	listed := told(t, tool, "--json", "--json-key=outlines", saved(t, pdf(t, sample(), record.A4)))
	for _, want := range []string{`"title": "Propane"`, `"title": "Fresh water"`, `"title": "Heater diesel"`, `"destpageposfrom1": 1,`} {
		if !strings.Contains(listed, want) {
			t.Errorf("the bookmarks don't have %s: %s", want, listed)
		}
	}
}

// Every page, painted at 40 dots to the inch, has ink on it, and none in the
// margins. A grey of the PGM is a byte, 255 for white.
func TestPDFPaints(t *testing.T) {
	tool := peer.Tool(t, "pdftoppm", "poppler-utils")
	dir := t.TempDir()
	path := filepath.Join(dir, "r.pdf")
	if err := os.WriteFile(path, pdf(t, busy(t), record.A4), 0o644); err != nil {
		t.Fatal(err)
	}
	told(t, tool, "-r", "40", "-gray", path, filepath.Join(dir, "page"))
	pages, err := filepath.Glob(filepath.Join(dir, "page*.pgm"))
	if err != nil || len(pages) < 10 {
		t.Fatalf("%d pages painted: %v", len(pages), err)
	}
	for _, p := range pages {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		var width, height, top int
		if _, err := fmt.Sscanf(string(data[:20]), "P5\n%d %d\n%d\n", &width, &height, &top); err != nil || top != 255 {
			t.Fatalf("%s isn't a PGM of bytes: %v", p, err)
		}
		dots := data[len(data)-width*height:]
		ink := 0
		for i, d := range dots {
			if d < 200 {
				ink++
				if x := i % width; x < 20 || x > width-20 { // half an inch
					t.Fatalf("%s: ink at dot %d of %d, in the margin", filepath.Base(p), x, width)
				}
			}
		}
		if ink < 300 {
			t.Errorf("%s has %d dots of ink", filepath.Base(p), ink)
		}
	}
}

// What the fonts don't have is seen to be missing, and said.
func TestPDFLacksCharacters(t *testing.T) {
	j := sample()
	j.Customer, j.Note = "Αλφα Šťastný Дизель ŷ 漢字 😀", "مرحبا שלום a\u200bb"
	data := pdf(t, j, record.A4)
	text := plainly(told(t, peer.Tool(t, "pdftotext", "poppler-utils"), saved(t, data), "-"))
	contains(t, text, "Αλφα Šťastný Дизель ŷ \uFFFD\uFFFD \uFFFD", "\uFFFD\uFFFD\uFFFD\uFFFD\uFFFD \uFFFD\uFFFD\uFFFD\uFFFD ab", "Some characters can't be printed here")
	if text := told(t, peer.Tool(t, "pdftotext", "poppler-utils"), saved(t, pdf(t, sample(), record.A4)), "-"); strings.Contains(text, "Some characters") {
		t.Error("the sample is said to have characters that can't be printed")
	}
}
