package record

import (
	"math"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"pgregory.net/rapid"

	"gaugewright/internal/chart"
)

// The widths read here are those that the writer of the file reads for itself.
func TestFontWidths(t *testing.T) {
	out := fpdf.New("P", "pt", "A4", "")
	for i, data := range [][]byte{regularTTF, boldTTF} {
		name := []string{"regular", "bold"}[i]
		out.AddUTF8FontFromBytes(name, "", data)
		out.SetFont(name, "", 10)
		n := 0
		for r := range fontWidths()[0] {
			w := fontWidths()[i][r]
			if want := out.GetStringSymbolWidth(string(r)); w != want {
				t.Errorf("%s %q is %d wide, and %d by the writer", name, r, w, want)
			}
			n++
		}
		if n < 3000 {
			t.Errorf("%s has %d characters", name, n)
		}
	}
}

// The repertoire: all letters of Latin-1, Latin Extended-A, Greek and Cyrillic
// (ISO 8859-1 to 5, -7 and -9), and the signs that records use.
func TestRepertoire(t *testing.T) {
	var want []rune
	for _, span := range [][2]rune{{0x20, 0x7E}, {0xA0, 0x17F}, {0x391, 0x3A1}, {0x3A3, 0x3CE}, {0x400, 0x45F}} {
		for r := span[0]; r <= span[1]; r++ {
			if r != 0xAD { // the soft hyphen is a mark that isn't seen
				want = append(want, r)
			}
		}
	}
	want = append(want, []rune("Ω±−≤≥▲▽†°µ×·…–—‘’“”€²³½\uFFFD\u202F")...)
	for _, r := range want {
		if got, all := settable(string(r)); !all || got != string(r) {
			t.Errorf("%q (%U) can't be printed: %q", r, r, got)
		}
	}
	// Figures are all of one width, in both weights.
	for i := range 2 {
		for r := '0'; r <= '9'; r++ {
			if w := fontWidths()[i]; w[r] != w['0'] {
				t.Errorf("%c is %d wide and 0 is %d", r, w[r], w['0'])
			}
		}
	}
	for _, r := range "漢😀مש\uE000\x07" {
		if got, all := settable(string(r)); all || got != string(lacking) {
			t.Errorf("%q becomes %q", r, got)
		}
	}
}

func TestReadWidthsRefuses(t *testing.T) {
	for _, data := range [][]byte{nil, []byte("no font"), regularTTF[:400], regularTTF[:100_000]} {
		if w, err := readWidths(data); err == nil && len(w) > 0 {
			t.Errorf("%d bytes were read as a font of %d characters", len(data), len(w))
		}
	}
}

// Lines are no wider than they may be, and hold all that they were given, in
// order.
func TestWrapLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var runs []run
		all := ""
		for range rapid.IntRange(0, 4).Draw(t, "runs") {
			text, _ := settable(rapid.StringMatching(`[ a-zWi\x{a0}é漢.]{0,60}`).Draw(t, "text"))
			runs = append(runs, run{text, style{rapid.Float64Range(4, 30).Draw(t, "size"), rapid.Bool().Draw(t, "bold"), chart.Ink()}})
			all += text
		}
		width := rapid.Float64Range(1, 400).Draw(t, "width")
		var got strings.Builder
		for _, line := range wrap(runs, width) {
			x, letters := 0.0, 0
			for _, p := range line.runs {
				if math.Abs(p.x-x) > 1e-6 {
					t.Fatalf("a run stands at %g, want %g", p.x, x)
				}
				x += p.width(p.text)
				letters += len([]rune(p.text))
				got.WriteString(p.text)
			}
			if math.Abs(x-line.width) > 1e-6 || x > width+1e-3 && letters > 1 {
				t.Fatalf("a line of %d letters is %g wide, said to be %g, and may be %g", letters, x, line.width, width)
			}
		}
		plain := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if plain(got.String()) != plain(all) {
			t.Fatalf("%q became %q", all, got.String())
		}
	})
}
