package record_test

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"

	"pgregory.net/rapid"
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
		if n, _ := strconv.Atoi(m[1]); n < 8 || n > 14 {
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

// laid reads the words of a PDF with their places.
func laid(t *testing.T, data []byte) (words []word, width, height float64, pages int) {
	t.Helper()
	for _, line := range strings.Split(told(t, peer.Tool(t, "pdftotext", "poppler-utils"), "-bbox", saved(t, data), "-"), "\n") {
		number := func(s string) float64 {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		if m := pageTag.FindStringSubmatch(line); m != nil {
			width, height = number(m[1]), number(m[2])
			pages++
		}
		if m := wordTag.FindStringSubmatch(line); m != nil {
			words = append(words, word{m[5], pages, number(m[1]), number(m[2]), number(m[3]), number(m[4])})
		}
	}
	return words, width, height, pages
}

// Wherever the blocks come to stand, none is torn, and nothing leaves the
// sheet's margins.
func TestPDFTearsNothing(t *testing.T) {
	for _, lines := range []int{0, 3, 9, 14, 22, 30} {
		j := sample()
		j.Note = strings.Repeat("A line of the fitter's own words, as long as a line of the page is wide, or about that. ", lines)
		words, _, _, _ := laid(t, pdf(t, j, record.Letter))
		together(t, words)
	}
	for name, j := range map[string]*job.Job{"sample": sample(), "long": long(), "busy": busy(t)} {
		words, width, height, pages := laid(t, pdf(t, j, record.A4))
		for _, w := range words {
			if w.left < 40 || w.right > width-40 || w.top < 40 || w.down > height-15 {
				t.Errorf("%s: %.30q on page %d stands at %.0f to %.0f, %.0f to %.0f; that is in the margin", name, w.text, w.page, w.left, w.right, w.top, w.down)
			}
		}
		if i := slices.IndexFunc(words, func(w word) bool { return w.page == 2 && w.text == "page" }); words[i+1].text != "2" || words[i+3].text != strconv.Itoa(pages) {
			t.Errorf("%s: the foot of page 2 of %d says %v", name, pages, words[i:i+4])
		}
	}
}

// A table that is longer than a page goes on under its head.
func TestPDFRepeatsHeads(t *testing.T) {
	d := document(t, &job.Job{Tanks: []job.Tank{{}}})
	table := record.Table{ID: "t", Heading: "Rows", Columns: []record.Column{{Name: "Number", Numeric: true}, {Name: "Word"}}}
	for i := range 150 {
		table.Rows = append(table.Rows, record.Row{Cells: []string{strconv.Itoa(1000 + i), "word"}})
	}
	d.Sections[0].Blocks = []record.Block{table}
	var b bytes.Buffer
	if err := d.PDF(&b, record.A4); err != nil {
		t.Fatal(err)
	}
	words, _, _, _ := laid(t, b.Bytes())
	heads, rows, next := map[int]int{}, map[int]int{}, 1000
	for _, w := range words {
		if w.text == "Number" {
			heads[w.page]++
		}
		if w.text == strconv.Itoa(next) {
			next++
			rows[w.page]++
			if heads[w.page] != 1 {
				t.Errorf("row %s on page %d has %d heads over it", w.text, w.page, heads[w.page])
			}
		}
	}
	if next != 1150 || len(rows) < 3 {
		t.Errorf("%d rows in order on %d pages; expected 150 on 3 or more", next-1000, len(rows))
	}
	if rows[1] < 20 {
		t.Errorf("the first page has %d rows and room for more", rows[1])
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

// Any text at all makes a PDF that poppler reads without a complaint.
func TestPDFOfAnyText(t *testing.T) {
	tool := peer.Tool(t, "pdfinfo", "poppler-utils")
	dir := t.TempDir()
	text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[()\\<>{}%/\r\n]*`), rapid.SampledFrom([]string{"\xff\xfe", "\x00", "\\", "(", strings.Repeat("W", 2000), strings.Repeat("w ", 2000), "a\rb\nc"}))
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		j := hostile(text.Draw(t, "text"))
		j.Note, j.Customer = text.Draw(t, "note"), text.Draw(t, "customer")
		j.Tanks = j.Tanks[1:2] // the others take long to reckon
		j.Tanks[0].Name, j.Tanks[0].Bench.Readings[3].Note = text.Draw(t, "tank"), text.Draw(t, "of a reading")
		data := pdf(t, j, record.A4)
		if n++; n > 12 { // asking takes longer than writing
			return
		}
		path := filepath.Join(dir, "any.pdf")
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		told(t, tool, path)
	})
}

// Any job whatever is written without a panic.
func TestPDFOfAnyJob(t *testing.T) {
	number := rapid.OneOf(rapid.Float64Range(-5, 120), rapid.SampledFrom([]float64{0, 80, 100, 1e300, -1e300, 1e-300}))
	text := rapid.SampledFrom([]string{"", "2025-11-03", strings.Repeat("long ", 60), strings.Repeat("x", 300)})
	rapid.Check(t, func(t *rapid.T) {
		j := &job.Job{Number: text.Draw(t, "number")}
		for range rapid.IntRange(0, 3).Draw(t, "tanks") {
			j.Tanks = append(j.Tanks, anyTank(t, number, text))
		}
		for _, page := range contents(t, pdf(t, j, record.Letter)) {
			if notANumber.Match(page) {
				t.Fatalf("a page is drawn with %q", notANumber.Find(page))
			}
		}
	})
}

// contents gives what the pages are drawn with: the streams that begin, as all
// pages do, with the ends of lines. Text in them is UTF-16.
func contents(t fatal, data []byte) (pages [][]byte) {
	t.Helper()
	for {
		_, rest, ok := bytes.Cut(data, []byte("\nstream\n"))
		if !ok {
			break
		}
		data = rest
		r, err := zlib.NewReader(bytes.NewReader(data))
		if err != nil {
			continue // the few that aren't compressed
		}
		content, err := io.ReadAll(r)
		if err != nil {
			t.Fatalf("a stream can't be read: %v", err)
		}
		if bytes.HasPrefix(content, []byte("0 J\n")) {
			pages = append(pages, content)
		}
	}
	if len(pages) == 0 {
		t.Fatalf("no page found")
	}
	return pages
}

// The same document gives the same bytes, in this process and in another.
func TestPDFSameBytes(t *testing.T) {
	const ask = "GAUGEWRIGHT_RECORD_SUM"
	first, second := pdf(t, sample(), record.A4), pdf(t, sample(), record.A4)
	if !bytes.Equal(first, second) {
		t.Error("the same job gave different bytes")
	}
	sum := fmt.Sprintf("sum %x", sha256.Sum256(first))
	if os.Getenv(ask) != "" {
		fmt.Println(sum)
		return
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestPDFSameBytes$")
	cmd.Env = append(os.Environ(), ask+"=yes")
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), sum) {
		t.Errorf("another process gives other bytes: want %s, %v, %s", sum, err, out)
	}
}

func TestPDFRefuses(t *testing.T) {
	if err := document(t, sample()).PDF(&bytes.Buffer{}, "A5"); err == nil {
		t.Error("a paper that isn't one was taken")
	}
	d := document(t, sample())
	d.Made = time.Time{}
	if err := d.PDF(&bytes.Buffer{}, record.A4); err == nil {
		t.Error("a document without a time was taken")
	}
}

// A record of three tanks is small enough to be sent by any means.
func TestPDFSize(t *testing.T) {
	if n := len(pdf(t, sample(), record.A4)); n > 120_000 {
		t.Errorf("three tanks take %d bytes", n)
	}
}

func BenchmarkPDF(b *testing.B) {
	d, err := record.New(sample(), checksum, made)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		var file bytes.Buffer
		if err := d.PDF(&file, record.A4); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(file.Len()), "bytes/file")
	}
}
