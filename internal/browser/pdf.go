package browser

import (
	"bytes"
	"context"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// papers are the sheet sizes in inches, width and height: A4 is 210 mm by
// 297 mm (ISO 216), Letter 8.5 in by 11 in (ANSI/ASME Y14.1, size A).
var papers = map[string][2]float64{
	"A4":     {210 / 25.4, 297 / 25.4},
	"Letter": {8.5, 11},
}

// PDF prints the page as a person would who presses Print and changes nothing:
// on "A4" or "Letter", whatever size the page asks for (a page that asks for
// landscape still has the sheet turned), and without backgrounds. What it
// shows is what a page has to survive.
func PDF(t testing.TB, ctx context.Context, paper string) []byte {
	t.Helper()
	size, ok := papers[paper]
	if !ok {
		t.Fatalf("paper %q is not known; expected A4 or Letter", paper)
	}
	no := false
	got, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{
		PaperWidth: size[0], PaperHeight: size[1], PreferCSSPageSize: &no, PrintBackground: &no,
	})
	if err != nil {
		t.Fatalf("the page can't be printed: %v", err)
	}
	if !bytes.HasPrefix(got.Data, []byte("%PDF-")) {
		t.Fatalf("the browser printed %d bytes that don't begin as a PDF does", len(got.Data))
	}
	return got.Data
}
