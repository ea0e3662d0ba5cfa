package readings

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"
)

// testdata/cp1252.txt was made with the cp1252 codec of Python 3, which has the
// same mapping as the Unicode consortium's table for the code page.
func TestWindows1252(t *testing.T) {
	f, err := os.Open("testdata/cp1252.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	known := map[byte]rune{}
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var b byte
		var r rune
		if _, err := fmt.Sscanf(lines.Text(), "%X %X", &b, &r); err == nil {
			known[b] = r
		}
	}
	if len(known) != 123 { // 128 less the five that are free
		t.Fatalf("%d bytes in the table", len(known))
	}
	for b := 0x80; b <= 0xFF; b++ {
		text, from, err := decode("x", []byte{'a', byte(b)})
		want, ok := known[byte(b)]
		switch {
		case !ok && err == nil:
			t.Errorf("%02X is free, but was read as %q", b, text)
		case ok && want >= 0x80 && want <= 0x9F:
			t.Errorf("%02X: control character in the table", b)
		case ok && (err != nil || string(text) != "a"+string(want) || from != windows1252):
			t.Errorf("%02X: %q, %v, want %q", b, text, err, want)
		}
	}
}

// UTF-16 is checked against unicode/utf16 of the standard library, which goes
// the other way.
func TestUTF16(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("ab;\t\n€é😀𝛀\uFEFF\uFFFD"))).Draw(t, "text")
		big := rapid.Bool().Draw(t, "big")
		raw := []byte{0xFF, 0xFE}
		if big {
			raw = []byte{0xFE, 0xFF}
		}
		for _, u := range utf16.Encode([]rune(text)) {
			if big {
				raw = append(raw, byte(u>>8), byte(u))
			} else {
				raw = append(raw, byte(u), byte(u>>8))
			}
		}
		got, from, err := decode("x", raw)
		if err != nil || string(got) != text || from != wide {
			t.Fatalf("%q, %v, want %q", got, err, text)
		}
	})
}

func TestDecodeLeavesItsInputAlone(t *testing.T) {
	raw := []byte("\uFEFF# a\r\nmark_pct,ohm\r50,95\r\n")
	before := bytes.Clone(raw)
	if _, err := Read(bytes.NewReader(raw), "x"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := readSheet("x", raw, false); err != nil || !bytes.Equal(raw, before) {
		t.Errorf("%v, %q became %q", err, before, raw)
	}
}

// Whatever the quoting, taking out comments must leave each row on its line,
// and must never reach into a field.
func TestStripKeepsRowsOnTheirLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		text.WriteString("mark_pct,ohm,note\n")
		line := 2
		type place struct {
			line int
			note string
		}
		var want []place
		for range rapid.IntRange(1, 12).Draw(t, "parts") {
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 0:
				text.WriteString(rapid.SampledFrom([]string{"#\n", " # \"\n", "\n", "\t \n", "# a,\"b\n"}).Draw(t, "comment"))
				line++
			default:
				note := rapid.StringOf(rapid.RuneFrom([]rune("a#\",\n é"))).Draw(t, "note")
				want = append(want, place{line, note})
				text.WriteString(rapid.SampledFrom([]string{"", " ", "\u00a0"}).Draw(t, "blank"))
				text.WriteString("1,2, \"" + strings.ReplaceAll(note, `"`, `""`) + "\"\n")
				line += 1 + strings.Count(note, "\n")
			}
		}
		s, err := Read(strings.NewReader(text.String()), "x")
		if len(want) == 0 {
			if err == nil {
				t.Fatal("accepted without rows")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Readings) != len(want) {
			t.Fatalf("%d readings, want %d", len(s.Readings), len(want))
		}
		for i, r := range s.Readings {
			if r.Line != want[i].line || r.Note != want[i].note {
				t.Errorf("reading %d: line %d, note %q; want %v", i, r.Line, r.Note, want[i])
			}
		}
	})
}
