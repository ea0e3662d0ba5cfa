package browser

import (
	"bytes"
	"context"
	"fmt"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/peer"

	"github.com/chromedp/chromedp"
)

func read(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// A good page passes everything, in both colours and on a phone.
func TestGoodPage(t *testing.T) {
	ctx := Open(t)
	address := Serve(t, read(t, "good.html"))
	Go(t, ctx, address)
	for _, width := range []int{320, 390, 768, 1280} {
		NoSidewaysScroll(t, ctx, width)
	}
	for _, dark := range []bool{false, true} {
		View(t, ctx, 390, 844, dark)
		for _, v := range Axe(t, ctx) {
			t.Errorf("dark %v: %v", dark, v)
		}
	}
	if got := Requests(ctx); !slices.Equal(got, []string{address}) {
		t.Errorf("the page asked for %q; expected itself alone", got)
	}
	if got := Asked(t, address); !slices.Equal(got, []string{"/"}) {
		t.Errorf("the server was asked for %q; expected / alone", got)
	}
	if got := Blocked(ctx); len(got) != 0 {
		t.Errorf("blocked %q; expected nothing", got)
	}
}

// A bad page is caught: a rule of each set of rules that Axe asks for, the
// width, and the picture that isn't there.
func TestBadPage(t *testing.T) {
	ctx := Open(t)
	address := Serve(t, read(t, "bad.html"))
	Go(t, ctx, address)
	View(t, ctx, 1280, 800, false)
	got := make(map[string]Violation)
	for _, v := range Axe(t, ctx) {
		got[v.ID] = v
	}
	for id, tag := range map[string]string{
		"image-alt":         "wcag2a",
		"html-has-lang":     "wcag2a",
		"color-contrast":    "wcag2aa",
		"target-size":       "wcag22aa",
		"landmark-one-main": "best-practice",
	} {
		v, ok := got[id]
		if !ok || !slices.Contains(v.Tags, tag) {
			t.Errorf("%s (%s) not found on a page that breaks it", id, tag)
			continue
		}
		if v.Impact == "" || v.Help == "" || len(v.Nodes) == 0 || v.Nodes[0].Target == "" {
			t.Errorf("%s says too little: %+v", id, v)
		}
	}
	if said := got["image-alt"].String(); !strings.Contains(said, `<img src="/level.png">`) {
		t.Errorf("the message %q doesn't show the picture", said)
	}
	if paths := Asked(t, address); !slices.Contains(paths, "/level.png") {
		t.Errorf("the server was asked for %q; expected /level.png too", paths)
	}
	for _, width := range []int{390, 1280} {
		watch(t, func(t testing.TB) { NoSidewaysScroll(t, ctx, width) }).
			expect(t, "error", `<div id=strip class="paper"> ends at 15`)
	}
}

// Without a viewport element a phone lays the page out wide, even if nothing
// on it is.
func TestNoViewportElement(t *testing.T) {
	ctx := Open(t)
	page := bytes.ReplaceAll(read(t, "good.html"), []byte(`<meta name="viewport"`), []byte(`<meta name="nothing"`))
	Go(t, ctx, Serve(t, page))
	watch(t, func(t testing.TB) { NoSidewaysScroll(t, ctx, 320) }).expect(t, "error", "980 pixels wide in a window of 320")
}

// Pictures have the width asked for and the page's whole height, and dark is
// dark.
func TestScreenshot(t *testing.T) {
	ctx := Open(t)
	Go(t, ctx, Serve(t, []byte(`<!DOCTYPE html><html lang="en"><meta name="viewport" content="width=device-width">
		<title>Tall</title><style>:root { background: #ffffff } body { margin: 0; height: 2000px }
		@media (prefers-color-scheme: dark) { :root { background: #102030 } }</style><body>`)))
	for _, c := range []struct {
		width int
		dark  bool
		want  color.RGBA
	}{
		{390, false, color.RGBA{0xff, 0xff, 0xff, 0xff}},
		{390, true, color.RGBA{0x10, 0x20, 0x30, 0xff}},
		{1280, false, color.RGBA{0xff, 0xff, 0xff, 0xff}},
	} {
		path := filepath.Join(t.TempDir(), "pictures", "page.png")
		Screenshot(t, ctx, c.width, 600, c.dark, path)
		file, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		picture, err := png.Decode(file)
		file.Close()
		if err != nil {
			t.Fatal(err)
		}
		if size := picture.Bounds().Size(); size.X != c.width || size.Y != 2000 {
			t.Errorf("width %d: the picture is %v; expected %d by 2000", c.width, size, c.width)
		}
		for _, y := range []int{5, 1990} {
			if got := color.RGBAModel.Convert(picture.At(5, y)); got != c.want {
				t.Errorf("width %d, dark %v, at height %d: colour %v; expected %v", c.width, c.dark, y, got, c.want)
			}
		}
	}
}

// The sheet's size is read by another program, from the file.
func TestPDF(t *testing.T) {
	pdfinfo := peer.Tool(t, "pdfinfo", "poppler-utils")
	pdftotext := peer.Tool(t, "pdftotext", "poppler-utils")
	ctx := Open(t)
	// The page asks for another paper, which must not be what it gets.
	Go(t, ctx, Serve(t, []byte(`<!DOCTYPE html><title>Paper</title><style>@page { size: A3 }</style><p>Twelve litres left`)))
	for paper, want := range map[string][2]float64{"A4": {595.28, 841.89}, "Letter": {612, 792}} {
		path := filepath.Join(t.TempDir(), "page.pdf")
		if err := os.WriteFile(path, PDF(t, ctx, paper), 0o644); err != nil {
			t.Fatal(err)
		}
		info, err := exec.Command(pdfinfo, path).Output()
		if err != nil {
			t.Fatal(err)
		}
		size := regexp.MustCompile(`Page size: +([0-9.]+) x ([0-9.]+) pts`).FindSubmatch(info)
		if size == nil {
			t.Fatalf("no page size in %s", info)
		}
		for i := range want {
			// Chromium rounds to whole points.
			if got, _ := strconv.ParseFloat(string(size[i+1]), 64); got < want[i]-1 || got > want[i]+1 {
				t.Errorf("%s: side %d is %v points; expected %v", paper, i, got, want[i])
			}
		}
		text, err := exec.Command(pdftotext, path, "-").Output()
		if err != nil || !bytes.Contains(text, []byte("Twelve litres left")) {
			t.Errorf("%s: the text is %q, error %v", paper, text, err)
		}
	}
	watch(t, func(t testing.TB) { PDF(t, ctx, "Foolscap") }).expect(t, "fatal", "Foolscap")
}

// Each browser starts with nothing of the one before, and is gone afterwards.
func TestOpenIsAlone(t *testing.T) {
	address := Serve(t, []byte(`<!DOCTYPE html><title>Memory</title><body>`))
	var contexts []context.Context
	for i := range 2 {
		t.Run(strconv.Itoa(i), func(t *testing.T) {
			ctx := Open(t)
			contexts = append(contexts, ctx)
			Go(t, ctx, address)
			got, err := chromedp.Run(ctx, chromedp.Evaluate[string](
				`(() => { const was = localStorage.was || 'nothing'; localStorage.was = 'here'; return was })()`))
			if err != nil || got != "nothing" {
				t.Errorf("the profile held %q, error %v; expected nothing", got, err)
			}
		})
	}
	for i, ctx := range contexts {
		if ctx.Err() == nil {
			t.Errorf("browser %d is still there after its test", i)
		}
		if process := chromedp.FromContext(ctx).Browser.Process(); alive(process) {
			t.Errorf("process %d is still there after its test", process.Pid)
		}
	}
}

func alive(p *os.Process) bool {
	_, err := os.Stat(fmt.Sprintf("/proc/%d", p.Pid))
	return err == nil
}

// What is missing skips a test, or fails it with CI=true.
func TestMissing(t *testing.T) {
	ctx := Open(t)
	Go(t, ctx, Serve(t, read(t, "good.html")))
	for ci, ended := range map[string]string{"": "skip", "true": "fatal"} {
		t.Setenv("CI", ci)
		t.Setenv(AxeVariable, filepath.Join(t.TempDir(), "axe.min.js"))
		watch(t, func(t testing.TB) { Axe(t, ctx) }).expect(t, ended, AxeVariable)
	}
	t.Setenv(ChromiumVariable, "")
	t.Setenv("PATH", t.TempDir())
	for ci, ended := range map[string]string{"": "skip", "true": "fatal"} {
		t.Setenv("CI", ci)
		watch(t, func(t testing.TB) { Open(t) }).expect(t, ended, "apt-get install chromium")
	}
}

// Checks of a page that isn't there fail rather than find nothing wrong.
func TestEmptyPage(t *testing.T) {
	ctx := Open(t)
	watch(t, func(t testing.TB) { Go(t, ctx, "http://127.0.0.1:1/") }).expect(t, "fatal", "didn't open")
	watch(t, func(t testing.TB) { Asked(t, "http://127.0.0.1:1/") }).expect(t, "fatal", "no page is served")
	defer func() {
		if recover() == nil {
			t.Error("Requests of another context: expected a panic")
		}
	}()
	Requests(context.Background())
}
