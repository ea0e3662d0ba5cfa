package record_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"

	"github.com/chromedp/chromedp"
)

// within says that every word of a PDF stands within the margins of its page, the
// foot within them as well. Large figures stand a little to the left, so that their
// ink is in line with the text.
func within(t *testing.T, name string, data []byte) (pages int) {
	t.Helper()
	words, width, height, pages := laid(t, data)
	if len(words) < 30 {
		t.Errorf("%s: %d words", name, len(words))
	}
	for _, w := range words {
		if w.left < 40 || w.right > width-42 || w.top < 40 || w.down > height-20 {
			t.Errorf("%s: %.30q on page %d stands at %.0f to %.0f, %.0f to %.0f of %.0f by %.0f: in the margin", name, w.text, w.page, w.left, w.right, w.top, w.down, width, height)
			break
		}
	}
	return pages
}

// A customer's name of 300 characters stands whole within the margins, in one
// word or in many, and nothing else is pushed out.
func TestLongNames(t *testing.T) {
	for name, text := range map[string]string{
		"one word":   strings.Repeat("Tidewater", 34)[:300],
		"many words": strings.Repeat("Tidewater Kitchen ", 17)[:300],
		"wide":       strings.Repeat("W", 300),
		"emoji":      strings.Repeat("🚐", 300),
	} {
		j := sample()
		j.Customer, j.Vehicle, j.Fitter, j.Number = text, text, text, text
		j.Tanks = j.Tanks[1:2]
		j.Tanks[0].Name, j.Tanks[0].Sender.Description, j.Tanks[0].Bench.Meter = text, text, text
		for _, paper := range []record.Paper{record.A4, record.Letter} {
			data := pdf(t, j, paper)
			within(t, name, data)
			read := regexp.MustCompile(`\s`).ReplaceAllString(told(t, peer.Tool(t, "pdftotext", "poppler-utils"), "-raw", saved(t, data), "-"), "")
			want := strings.ReplaceAll(text, " ", "")
			if name == "emoji" {
				want = strings.Repeat("\uFFFD", 300)
			}
			if !strings.Contains(read, want) {
				t.Errorf("%s: the name isn't whole on paper", name)
			}
		}
	}
}

// A job with nothing in it, and one with every field empty, make records.
func TestEmptyFields(t *testing.T) {
	for name, j := range map[string]*job.Job{
		"nothing":      {},
		"a tank":       {Tanks: []job.Tank{{}}},
		"tanks":        {Tanks: make([]job.Tank, 3)},
		"empty things": {Tanks: []job.Tank{{Setting: &job.Setting{}, Checks: []job.Check{{}}, Bench: job.Bench{Readings: []job.Reading{{}}, Struck: []job.Struck{{}}, Doubts: &job.Doubts{}}, Services: []job.Service{{}}}}, History: []job.Revision{{}}, Signature: &job.Signature{}},
	} {
		within(t, name, pdf(t, j, record.A4))
		if text := readPage(t, html(t, j, record.A4)).text; !strings.Contains(text, "not stated") {
			t.Errorf("%s: what is missing isn't said: %s", name, text)
		}
	}
}

// 500 readings and 100 tanks, as many as a job may have.
func TestMany(t *testing.T) {
	within(t, "500 readings", pdf(t, busy(t), record.Letter))
	j := &job.Job{Number: "100"}
	for i := range job.MaxTanks {
		tank := water()
		tank.Name = fmt.Sprintf("Tank number %d", i+1)
		j.Tanks = append(j.Tanks, tank)
	}
	data := pdf(t, j, record.A4)
	if pages := within(t, "100 tanks", data); pages < 200 || pages > 600 {
		t.Errorf("100 tanks take %d pages", pages)
	}
	text := told(t, peer.Tool(t, "pdftotext", "poppler-utils"), "-raw", saved(t, data), "-")
	for i := range job.MaxTanks {
		if !strings.Contains(text, fmt.Sprintf("Tank %d of 100: fresh water\nTank number %d\n", i+1, i+1)) {
			t.Fatalf("tank %d isn't on paper", i+1)
		}
	}
	if len(cardPDF(t, j, record.A4)) == 0 {
		t.Error("no cards")
	}
}

// Names that run from the right stand so on the page, whose other words stay as
// they are: asked of a browser. On paper, whose fonts can't, they are seen to be
// missing, never turned round.
func TestRightToLeft(t *testing.T) {
	j := sample()
	j.Tanks = j.Tanks[1:2]
	j.Customer, j.Vehicle, j.Tanks[0].Name = "מטבח גאות ושפל", "عربة طعام 5.2", "מים"
	page := string(html(t, j, record.A4))
	for _, want := range []string{`<dd dir="auto">מטבח גאות ושפל</dd>`, `<dd dir="auto">عربة طعام 5.2</dd>`, `<h2 id="tank-1" dir="auto">מים</h2>`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page doesn't have %s", want)
		}
	}
	ctx := opened(t, []byte(page))
	got, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("dd, h2, h1, dt, p, li")].map(e => e.textContent.trim().slice(0, 12) + "|" + getComputedStyle(e).direction)`))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"מטבח גאות וש|rtl", "عربة طعام 5.|rtl", "מים|rtl", "Level sender|ltr", "Customer|ltr", "R. Moor|ltr"} {
		if !slices.Contains(got, want) {
			t.Errorf("the browser doesn't have %s: %q", want, got)
		}
	}
	text := plainly(told(t, peer.Tool(t, "pdftotext", "poppler-utils"), "-raw", saved(t, pdf(t, j, record.A4)), "-"))
	contains(t, text, "Some characters can't be printed here and stand as \uFFFD. The record as a page for a browser shows them.", "\uFFFD\uFFFD\uFFFD\uFFFD \uFFFD\uFFFD\uFFFD\uFFFD \uFFFD\uFFFD\uFFFD\uFFFD")
	for _, r := range text {
		if r >= 0x590 && r <= 0x6FF {
			t.Fatalf("%c is on paper", r)
		}
	}
}

// The blocks of Latin, Greek and Cyrillic letters are in the fonts of the paper,
// but for the few that are named; and what is in them is read back from paper.
func TestLetters(t *testing.T) {
	tool := peer.Tool(t, "pdftotext", "poppler-utils")
	unassigned := []rune{0x378, 0x379, 0x380, 0x381, 0x382, 0x383, 0x38B, 0x38D, 0x3A2} // no characters (Unicode 15)
	missing := map[string][]rune{"Greek": unassigned}
	for name, block := range map[string][2]rune{"Latin": {0xA1, 0x24F}, "Greek": {0x370, 0x3FF}, "Cyrillic": {0x400, 0x4FF}} {
		var letters, want []rune
		for r := block[0]; r <= block[1]; r++ {
			if r == 0xAD { // the soft hyphen isn't seen
				continue
			}
			if !slices.Contains(missing[name], r) {
				want = append(want, r)
			}
			letters = append(letters, r, ' ')
		}
		read := told(t, tool, "-raw", saved(t, pdf(t, &job.Job{Note: string(letters)}, record.A4)), "-")
		lacking := 0
		for _, r := range want {
			// Some marks are read joined to the letter before, or taken apart.
			if !strings.ContainsRune(read, r) {
				t.Logf("%s: %U %c", name, r, r)
				lacking++
			}
		}
		if lacking > 0 {
			t.Errorf("%s: %d characters aren't on paper", name, lacking)
		}
	}
}
