package record_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"

	"github.com/chromedp/chromedp"
)

// opened shows a page in a browser of its own.
func opened(t *testing.T, page []byte) context.Context {
	t.Helper()
	ctx := browser.Open(t)
	browser.Go(t, ctx, browser.Serve(t, page))
	return ctx
}

// long is a job whose names are as long as people ever write them, with and
// without blanks.
func long() *job.Job {
	j := hostile(strings.Repeat("Donaudampfschiff", 19)) // 304 letters without a blank
	j.Vehicle = strings.Repeat("food trailer ", 25)
	return j
}

// On every screen the record needs no sideways scrolling, breaks no rule of
// axe-core, and asks for nothing but itself.
func TestOnScreen(t *testing.T) {
	for name, j := range map[string]*job.Job{"sample": sample(), "long names": long(), "empty": {}} {
		t.Run(name, func(t *testing.T) {
			ctx := opened(t, html(t, j, record.A4))
			for _, width := range []int{320, 390, 820, 1440} {
				browser.NoSidewaysScroll(t, ctx, width)
				lettering(t, ctx, width)
			}
			for _, dark := range []bool{false, true} {
				for _, width := range []int{390, 1100} {
					browser.View(t, ctx, width, 900, dark)
					for _, v := range browser.Axe(t, ctx) {
						t.Errorf("dark %v, %d wide: %s", dark, width, v)
					}
				}
			}
			if asked := browser.Requests(ctx); len(asked) != 1 {
				t.Errorf("the page asked for %q; expected itself and nothing else", asked)
			}
		})
	}
}

// crossed lists pieces of lettering in drawings that can be seen and that
// leave their drawing or run into one another, by the boxes the browser gives
// them; text stands 1 to 2 pixels inside its box.
const crossed = `(() => {
	const found = [];
	for (const svg of document.querySelectorAll('svg')) {
		const frame = svg.getBoundingClientRect();
		if (frame.width === 0) continue;
		const texts = [...svg.querySelectorAll('text')].map(e => ({words: e.textContent, box: e.getBoundingClientRect()}));
		texts.forEach((a, i) => {
			if (a.box.left < frame.left - 0.5 || a.box.right > frame.right + 0.5 || a.box.top < frame.top - 2 || a.box.bottom > frame.bottom + 2)
				found.push('"' + a.words + '" leaves its drawing');
			for (const b of texts.slice(i + 1))
				if (Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left) > 1 &&
					Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top) > 4)
					found.push('"' + a.words + '" runs into "' + b.words + '"');
		});
	}
	return found;
})()`

// lettering fails where labels of a drawing overlap as the browser sets them.
func lettering(t *testing.T, ctx context.Context, width int) {
	t.Helper()
	found, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](crossed))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		t.Errorf("%d wide: %s", width, f)
	}
}

// word is one word on a page of paper, with its box in points.
type word struct {
	text                   string
	page                   int
	left, top, right, down float64
}

var (
	pageTag = regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)"`)
	wordTag = regexp.MustCompile(`<word xMin="([-0-9.]+)" yMin="([-0-9.]+)" xMax="([-0-9.]+)" yMax="([-0-9.]+)">(.*?)</word>`)
)

// printed prints a page and reads it back: its text, its words and the size of
// its sheets in points.
func printed(t *testing.T, page []byte, paper string) (text string, words []word, width, height float64, pages int) {
	t.Helper()
	tool := peer.Tool(t, "pdftotext", "poppler-utils")
	path := filepath.Join(t.TempDir(), "record.pdf")
	if err := os.WriteFile(path, browser.PDF(t, opened(t, page), paper), 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(options ...string) string {
		out, err := exec.Command(tool, append(options, path, "-")...).Output()
		if err != nil {
			t.Fatalf("pdftotext: %v", err)
		}
		return string(out)
	}
	text = plainly(run())
	for _, line := range strings.Split(run("-bbox"), "\n") {
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
	return text, words, width, height, pages
}

func TestOnPaper(t *testing.T) {
	for paper, size := range map[string][2]float64{"A4": {595, 842}, "Letter": {612, 792}} {
		t.Run(paper, func(t *testing.T) {
			kind, err := record.ParsePaper(paper)
			if err != nil {
				t.Fatal(err)
			}
			text, words, width, height, pages := printed(t, html(t, sample(), kind), paper)
			if width < size[0]-2 || width > size[0]+2 || height < size[1]-2 || height > size[1]+2 {
				t.Errorf("the sheet is %g by %g points, want %v", width, height, size)
			}
			if pages < 8 || pages > 18 {
				t.Errorf("three tanks take %d pages", pages)
			}
			contains(t, text, "Level sender record", "Tidewater Kitchen (invented)", "0 and 81", "241 and 30", "permitted fill",
				"Never fill beyond the permitted fill", "What will be shown", "should show, %", "10 to 180 Ω", "Check as left: conditional pass, 3 of 3 within 2 points",
				"set aside", "Made by Gaugewright on 4 November 2025, 16:20 UTC.", checksum, "Job 2025-118 · Food trailer",
				"page 1 of "+strconv.Itoa(pages), "page "+strconv.Itoa(pages)+" of "+strconv.Itoa(pages))
			for _, w := range words {
				// The margins are 15 mm: 42.5 points.
				if w.left < 42 || w.right > width-42 || w.top < 25 || w.down > height-20 {
					t.Errorf("%q on page %d stands at %.0f to %.0f, %.0f to %.0f; that is in the margin", w.text, w.page, w.left, w.right, w.top, w.down)
				}
			}
			together(t, words)
		})
	}
}

// together fails where a drawing or a table that fits on one page is torn over
// two, by words at its top and its foot, or the numbers to key in stand on
// another page than their heading.
func together(t *testing.T, words []word) {
	t.Helper()
	next := func(from int, phrase ...string) int {
		for i := from; i+len(phrase) <= len(words); i++ {
			if slices.EqualFunc(words[i:i+len(phrase)], phrase, func(w word, s string) bool { return w.text == s }) {
				return i
			}
		}
		t.Fatalf("no %q on paper after word %d", phrase, from)
		return 0
	}
	i := 0
	for _, key := range [][]string{{"0", "and", "81"}, {"Entries", "to", "key", "in"}, {"241", "and", "30"}} {
		head := next(i, "Key", "in")
		numbers := next(head, key...)
		curve := next(numbers, "Curve")
		foot := next(curve, "Hatched,")
		if words[head].page != words[numbers].page {
			t.Errorf("%q stands on page %d and its heading on page %d", key, words[numbers].page, words[head].page)
		}
		if words[curve].page != words[foot].page {
			t.Errorf("the curve of %q is torn over pages %d and %d", key, words[curve].page, words[foot].page)
		}
		table := next(foot, "What", "will", "be", "shown")
		end := next(table, "Bold:")
		if words[table].page != words[end].page {
			t.Errorf("the table of %q is torn over pages %d and %d, and would fit on one", key, words[table].page, words[end].page)
		}
		i = end
	}
}

// Wherever on the page the blocks come to stand, none is torn.
func TestNothingIsTorn(t *testing.T) {
	for _, lines := range []int{3, 14, 30} {
		j := sample()
		j.Note = strings.Repeat("A line of the fitter's own words, as long as a line of the page is wide, or about that. ", lines)
		_, words, _, _, _ := printed(t, html(t, j, record.Letter), "Letter")
		together(t, words)
	}
}

// Names of any length stay on the sheet.
func TestLongNamesOnPaper(t *testing.T) {
	_, words, width, _, pages := printed(t, html(t, long(), record.A4), "A4")
	for _, w := range words {
		if w.left < 42 || w.right > width-42 {
			t.Errorf("%.30q on page %d stands at %.0f to %.0f of %.0f", w.text, w.page, w.left, w.right, width)
		}
	}
	if pages > 40 {
		t.Errorf("%d pages", pages)
	}
}
