package web

import (
	"bytes"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

func TestRecordPage(t *testing.T) {
	j := sample(t)
	j.Customer = `<script>alert("1")</script>`
	b := open(t)
	id := b.start(j)
	path := fmt.Sprintf("/jobs/%s/record", id)
	_, text := b.get(path)
	if strings.Contains(text, "<script>alert") || !strings.Contains(text, "Not handed over yet.") {
		t.Errorf("the page:\n%s", text)
	}
	b.post(path)
	if _, text := b.get(path); !strings.Contains(text, "Made 2 Nov.") {
		t.Errorf("after printing:\n%s", text)
	}
	b.post(fmt.Sprintf("/jobs/%s/1/prove", id), "tank", "Gas", "mark", "40", "shown", "50", "tolerance", "2", "when", "as left")
	if _, text := b.get(path); !strings.Contains(text, "Made 2 Nov; the job has changed since.") || !strings.Contains(text, "check the display at three marks") {
		t.Errorf("after the job has changed:\n%s", text)
	}
}

// The paper is what the command line writes of the job's file as it goes out, with
// the history of what was changed here, to the byte.
func TestRecordPaper(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	b.post(fmt.Sprintf("/jobs/%s/1/prove", id), "tank", "Gas", "mark", "40", "shown", "50", "tolerance", "2", "when", "as left")
	answer, err := http.Get(fmt.Sprintf("%s/jobs/%s/record/paper?paper=Letter", b.url, id))
	_, text := b.answer(answer, err)
	file, err := http.Get(fmt.Sprintf("%s/jobs/%s/file", b.url, id))
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(file.Body)
	file.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Read(bytes.NewReader(data), "the job's file")
	if err != nil || len(j.History) < 2 {
		t.Fatalf("the job's file has a history of %d: %v", len(j.History), err)
	}
	d, err := record.New(j, job.Checksum(data), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := d.HTML(&want, record.Letter); err != nil {
		t.Fatal(err)
	}
	if text != strings.ReplaceAll(want.String(), "\u00a0", " ") {
		t.Error("the paper differs from the record")
	}
	if csp := answer.Header.Get("Content-Security-Policy"); strings.Contains(csp, "unsafe") || !strings.Contains(csp, "style-src 'sha256-") {
		t.Errorf("its policy is %s", csp)
	}
}

func TestRecordPDF(t *testing.T) {
	j := sample(t)
	j.Number, j.Customer = "7/8 \"x\"", "Bäcker & Söhne; X: y"
	b := open(t)
	id := b.start(j)
	answer, err := http.Get(fmt.Sprintf("%s/jobs/%s/record/pdf", b.url, id))
	_, text := b.answer(answer, err)
	if !strings.HasPrefix(text, "%PDF-") || answer.Header.Get("Content-Type") != "application/pdf" {
		t.Errorf("found %q, %s", text[:min(20, len(text))], answer.Header.Get("Content-Type"))
	}
	_, parts, err := mime.ParseMediaType(answer.Header.Get("Content-Disposition"))
	if err != nil || parts["filename"] != "Bäcker-&-Söhne-X-y-7-8-x.record.pdf" {
		t.Errorf("its name is %q, %v", parts["filename"], err)
	}
	if _, text := b.get(fmt.Sprintf("/jobs/%s/record", id)); !strings.Contains(text, "Made 2 Nov.") {
		t.Error("a PDF isn't noted as made")
	}
}

func TestRecordInBrowser(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.Go(t, ctx, fmt.Sprintf("%s/jobs/%s/record", b.url, id))
	// The policy lets the paper's own rules through.
	family, err := chromedp.Run(ctx, chromedp.Evaluate[string](`getComputedStyle(document.querySelector("iframe").contentDocument.querySelector("h1")).fontFamily`))
	if err != nil || !strings.Contains(family, "Bahnschrift") {
		t.Errorf("the paper's heading is set in %q, %v", family, err)
	}
}
