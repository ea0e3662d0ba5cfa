package record_test

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"
)

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
