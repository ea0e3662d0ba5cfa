package web

import (
	"bytes"
	"context"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
	"gaugewright/internal/peer"
)

// Printed, a page is its contents in dark on white, from a dark screen as well: no
// head, nothing to press or to fill in, and nothing cut off at the edge of an A4
// sheet. That a sheet comes out and says what the page says is read from the PDF
// that the browser prints, by another program.
func TestEveryPagePrinted(t *testing.T) {
	pdftotext := peer.Tool(t, "pdftotext", "poppler-utils")
	g := everyLook(t)
	var looks []look
	for _, l := range g.looks {
		if l.status == http.StatusOK && (l.job == "sample" || l.job == "" || l.name == "hostile" || l.name == "hostile-1-set") {
			looks = append(looks, l)
		}
	}
	inTurn(t, looks, func(context.Context) error { return nil }, func(t *testing.T, ctx context.Context, l look) {
		const a4 = 794 // CSS pixels across 210 mm
		browser.View(t, ctx, a4, 1123, false)
		browser.Go(t, ctx, l.url)
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Media: "print", Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}},
		}); err != nil {
			t.Fatal(err)
		}
		finds(t, ctx, "on paper", printed)
		head := scriptText(t, ctx, `document.querySelector("h1").innerText`)
		path := filepath.Join(t.TempDir(), "page.pdf")
		if err := os.WriteFile(path, browser.PDF(t, ctx, "A4"), 0o600); err != nil {
			t.Fatal(err)
		}
		text, err := exec.Command(pdftotext, path, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		word, _, _ := strings.Cut(strings.TrimSpace(head), " ")
		if word, _, _ = strings.Cut(word, "\n"); len(word) > 20 {
			word = word[:20]
		}
		if !bytes.Contains(text, []byte(word)) {
			t.Errorf("%q isn't on the paper, which says %.200q", word, text)
		}
	})
}
