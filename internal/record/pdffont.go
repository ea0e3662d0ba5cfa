package record

import (
	_ "embed" // for the fonts
	"encoding/binary"
	"fmt"
	"sync"
	"unicode"
)

// The fonts of the PDF: narrow, as the lettering of a drawing is, with figures
// of one width, Latin, Greek and Cyrillic, and the signs a record needs. Their
// licence stands beside them and in the fonts themselves.
var (
	//go:embed fonts/DejaVuSansCondensed.ttf
	regularTTF []byte
	//go:embed fonts/DejaVuSansCondensed-Bold.ttf
	boldTTF []byte
)

// family is what the fonts are called in the file.
const family = "DejaVuSansCondensed"

// lacking stands for a character that can't be printed.
const lacking = '\uFFFD'

// widths are how far characters move on, in thousandths of the size; a
// character that can't be printed has none.
type widths map[rune]int

// fontWidths reads the two fonts once.
var fontWidths = sync.OnceValue(func() [2]widths {
	var w [2]widths
	for i, data := range [][]byte{regularTTF, boldTTF} {
		read, err := readWidths(data)
		if err != nil {
			panic(fmt.Sprintf("an embedded font can't be read: %v", err)) // a fault of the build; a test reads them
		}
		w[i] = read
	}
	// Both must have a character, or it would come and go with the weight.
	for r := range w[0] {
		if _, ok := w[1][r]; !ok || !printable(r) {
			delete(w[0], r)
		}
	}
	return w
})

// printable says whether a character can be set one after the other from left
// to right, which is all that is done here: letters that run from the right or
// change their form by their neighbours would come out wrong, and that is worse
// than not at all.
func printable(r rune) bool {
	switch {
	case r >= 0xE000 && r <= 0xF8FF: // private use: whatever the font likes
		return false
	case unicode.In(r, unicode.Arabic, unicode.Hebrew, unicode.Nko, unicode.Syriac, unicode.Thaana, unicode.Mandaic):
		return false
	}
	return r >= ' ' && !unicode.IsControl(r)
}

// invisible says whether a character is none that is seen: marks for joining,
// for direction and for the form of the sign before.
func invisible(r rune) bool {
	return unicode.Is(unicode.Cf, r) || r >= 0xFE00 && r <= 0xFE0F || r >= 0xE0100 && r <= 0xE01EF
}

// settable gives the text as it can be printed: what isn't seen is left out, and
// what the fonts lack becomes [lacking], once for each character.
func settable(s string) (out string, all bool) {
	w := fontWidths()[0]
	all = true
	plain := true
	for _, r := range s {
		if _, ok := w[r]; !ok {
			plain = false
			break
		}
	}
	if plain {
		return s, true
	}
	runes := make([]rune, 0, len(s))
	for _, r := range s {
		switch _, ok := w[r]; {
		case r == '\t' || r == '\n' || r == '\r':
			runes = append(runes, ' ')
		case invisible(r):
		case ok:
			runes = append(runes, r)
		default:
			runes, all = append(runes, lacking), false
		}
	}
	return string(runes), all
}

// readWidths reads the width of each character of a TrueType font from its
// tables head, hhea, hmtx and cmap, the last in format 4 (ISO/IEC 14496-22).
func readWidths(data []byte) (w widths, err error) {
	defer func() {
		if recover() != nil { // an index beyond the end
			w, err = nil, fmt.Errorf("the font of %d bytes is cut short or no TrueType font", len(data))
		}
	}()
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(data[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(data[at:])) }
	table := map[string]int{}
	for i := range u16(4) {
		entry := 12 + 16*i
		table[string(data[entry:entry+4])] = u32(entry + 8)
	}
	perEm, metrics := u16(table["head"]+18), u16(table["hhea"]+34)
	cmap := 0
	for i := range u16(table["cmap"] + 2) {
		entry := table["cmap"] + 4 + 8*i
		if at := table["cmap"] + u32(entry+4); u16(entry) == 3 && u16(entry+2) == 1 && u16(at) == 4 {
			cmap = at
		}
	}
	if cmap == 0 || perEm == 0 {
		return nil, fmt.Errorf("the font has no table of Unicode characters in format 4, or no size")
	}
	w = widths{}
	n := u16(cmap+6) / 2
	ends, starts := cmap+14, cmap+16+2*n
	deltas, offsets := starts+2*n, starts+4*n
	for i := range n {
		offset := u16(offsets + 2*i)
		for c := u16(starts + 2*i); c <= u16(ends+2*i) && c != 0xFFFF; c++ {
			glyph := c
			if offset != 0 {
				glyph = u16(offsets + 2*i + offset + 2*(c-u16(starts+2*i)))
			}
			if offset == 0 || glyph != 0 {
				glyph = (glyph + u16(deltas+2*i)) & 0xFFFF
			}
			// The few glyphs that have no width of their own are left alone.
			if glyph != 0 && glyph < metrics {
				w[rune(c)] = (1000*u16(table["hmtx"]+4*glyph) + perEm/2) / perEm
			}
		}
	}
	return w, nil
}
