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
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"

	"pgregory.net/rapid"
)

// Any text at all makes a PDF that poppler reads without a complaint.
func TestPDFOfAnyText(t *testing.T) {
	tool := peer.Tool(t, "pdfinfo", "poppler-utils")
	peer.Draws(t, 25)
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
	peer.Draws(t, 25)
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

// Records are written side by side, as a server does.
func TestPDFSideBySide(t *testing.T) {
	want := pdf(t, sample(), record.A4)
	for i := range 4 {
		t.Run(strconv.Itoa(i), func(t *testing.T) {
			t.Parallel()
			if !bytes.Equal(pdf(t, sample(), record.A4), want) {
				t.Error("another record's writing changed this one")
			}
		})
	}
}

func TestPDFRefuses(t *testing.T) {
	if err := document(t, sample()).PDF(&bytes.Buffer{}, "A5"); err == nil {
		t.Error("a paper that isn't one was taken")
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

// From the job to the finished file: curves, budgets, contents, codes and pages.
func BenchmarkPDFOfJob(b *testing.B) {
	for b.Loop() {
		d, err := record.New(sample(), checksum, made)
		if err != nil {
			b.Fatal(err)
		}
		var file bytes.Buffer
		if err := d.PDF(&file, record.A4); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(file.Len()), "bytes/file")
	}
}

// The same for pocket cards.
func BenchmarkCards(b *testing.B) {
	for b.Loop() {
		c, err := record.NewCards(sample(), checksum, made)
		if err != nil {
			b.Fatal(err)
		}
		var file bytes.Buffer
		if err := c.PDF(&file, record.A4); err != nil {
			b.Fatal(err)
		}
	}
}
