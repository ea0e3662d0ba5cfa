package web

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
)

// At the pump the form is sent with its picture without leaving the page half done:
// the verdict stands on top of a page whose form is empty again, and it was kept once.
// The field of another time stands there where that is chosen.
func TestDocketAtThePump(t *testing.T) {
	t.Parallel()
	w, book := atPump(t)
	f := fitter{t, browser.Open(t), open(t, w.options), ""}
	browser.View(t, f.ctx, 390, 844, false)
	browser.Go(t, f.ctx, f.b.url+"/left/gas/docket")
	path := filepath.Join(t.TempDir(), "receipt.jpg")
	if err := os.WriteFile(path, picture(t, 300, 200), 0o600); err != nil {
		t.Fatal(err)
	}
	const there = `document.querySelector("#at").checkVisibility()`
	f.waits("!" + there)
	f.click(`[name=when][value="is-at"]`)
	f.waits(there)
	f.click(`[name=when]`)
	f.click("#receipt summary")
	if err := chromedp.Do(f.ctx, chromedp.SetUploadFiles("#photo", []string{path})); err != nil {
		t.Fatal(err)
	}
	f.click("#amount")
	f.press("31.4")
	f.click("#receipt .do")
	f.waits(`location.pathname.startsWith("/left/gas/docket/") && document.querySelector("#came .came")`)
	f.reads("#came", "they agree")
	f.waits(`document.querySelector("#amount").value === "" && document.querySelector("#came").getBoundingClientRect().top < innerHeight`)
	book.mu.Lock()
	defer book.mu.Unlock()
	if len(book.kept) != 1 || book.kept[0].Litres != 31.4 || len(book.photos[book.kept[0].ID]) == 0 || !strings.HasPrefix(book.kept[0].Time.String(), "2025-11-02 09:28") {
		t.Errorf("%+v", book.kept)
	}
}

func BenchmarkFollowedPages(b *testing.B) {
	w := taught(b).withPast(keptDay(dayBefore))
	s, err := New(Options{Store: newMemory(), Watch: w, Now: func() time.Time { return sunday }})
	if err != nil {
		b.Fatal(err)
	}
	for _, path := range []string{"/left", "/left/gas", "/left/gas/docket"} {
		b.Run(path[1:], func(b *testing.B) { benchmarkGet(b, s, path) })
	}
}

// BenchmarkPhoto is a picture of twelve million points, as a telephone takes it.
func BenchmarkPhoto(b *testing.B) {
	data := picture(b, 4000, 3000)
	for b.Loop() {
		if _, err := plainPhoto(data); err != nil {
			b.Fatal(err)
		}
	}
}
