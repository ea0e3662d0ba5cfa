package readings

import (
	"bytes"
	"unicode"
	"unicode/utf8"
)

// maxFields is far above the columns there are. It keeps a file of nothing but
// separators from being taken apart into millions of fields.
const maxFields = 64

// stripped is a text with only its rows left, each on the line where it stood.
type stripped struct {
	text      []byte // comments and blank lines are empty lines here
	separator byte   // ',' ';' or '\t'; 0 where there is no header row
	openQuote int    // offset of a quote that is never closed, or -1
	wide      int    // offset of a row of more than maxFields, or -1
}

// strip empties the lines that are comments or blank and finds the separator
// in the header row, the first that is neither. It works in place. Quotes are
// heeded, so that a note of several lines keeps a line that starts with #.
func strip(text []byte) stripped {
	s := stripped{openQuote: -1, wide: -1}
	head := headerStart(text)
	s.text = text[:0]
	for range bytes.Count(text[:head], []byte{'\n'}) {
		s.text = append(s.text, '\n')
	}
	if head == len(text) {
		return s
	}
	s.separator = Separator(text[head:lineEnd(text, head)])
	for i := head; i < len(text) && s.wide < 0; {
		end := lineEnd(text, i)
		line := bytes.TrimSpace(text[i:end])
		if len(line) == 0 || line[0] == '#' {
			s.text = append(s.text, '\n')
			i = end + 1
			continue
		}
		row := measure(text, i, s.separator)
		if row.open >= 0 {
			s.openQuote = len(s.text) + row.open - i
		}
		if row.fields > maxFields {
			s.wide = len(s.text)
		}
		s.text = append(s.text, text[i:row.end]...)
		i = row.end
	}
	return s
}

// headerStart gives the offset of the first line that is neither blank nor a
// comment, or len(text). A comment that a spreadsheet has put in quotes is
// passed over as well: no column name starts with #.
func headerStart(text []byte) int {
	for i := 0; i < len(text); {
		end := lineEnd(text, i)
		line := bytes.TrimSpace(text[i:end])
		switch {
		case len(line) == 0 || line[0] == '#':
		case line[0] == '"' && bytes.HasPrefix(bytes.TrimSpace(line[1:]), []byte{'#'}):
			start := i + bytes.IndexByte(text[i:end], '"')
			closing := closeQuote(text, start)
			if closing < 0 {
				return i
			}
			end = lineEnd(text, closing)
		default:
			return i
		}
		i = end + 1
	}
	return len(text)
}

// Separator gives the one of comma, semicolon and tab that the header row has
// most of, outside quotes. In doubt it is the one that can't be part of a
// number.
func Separator(header []byte) byte {
	counts := map[byte]int{}
	quoted := false
	for _, c := range header {
		if c == '"' {
			quoted = !quoted
		} else if !quoted {
			counts[c]++
		}
	}
	best := byte(',')
	for _, c := range []byte{';', '\t'} {
		if counts[c] > 0 && counts[c] >= counts[best] {
			best = c
		}
	}
	return best
}

// extent is where a row of a table ends and how many fields it has.
type extent struct {
	end    int // offset after its line end
	fields int
	open   int // offset of a quote that is never closed, or -1
}

// measure finds the end of the row that starts at offset i, by the same rules
// by which encoding/csv takes it apart.
func measure(text []byte, i int, separator byte) extent {
	row := extent{fields: 1, open: -1}
	atStart := true
	for i < len(text) {
		c := text[i]
		switch {
		case c == '\n':
			row.end = i + 1
			return row
		case c == separator:
			row.fields++
			atStart = true
			i++
		case c == '"' && atStart:
			closing := closeQuote(text, i)
			if closing < 0 {
				row.open, row.end = i, len(text)
				return row
			}
			i = closing + 1
			atStart = false
		default:
			r, size := utf8.DecodeRune(text[i:])
			atStart = atStart && trims(separator) && unicode.IsSpace(r)
			i += size
		}
	}
	row.end = len(text)
	return row
}

// trims says whether blanks before a field are passed over. Not with tabs,
// where they can't be told from the separator.
func trims(separator byte) bool { return separator != '\t' }

// closeQuote gives the offset of the quote that closes the one at offset i, or
// -1. A doubled quote stands for one and closes nothing (RFC 4180, section 2,
// rule 7).
func closeQuote(text []byte, i int) int {
	for i++; ; i += 2 {
		k := bytes.IndexByte(text[i:], '"')
		if k < 0 {
			return -1
		}
		i += k
		if i+1 >= len(text) || text[i+1] != '"' {
			return i
		}
	}
}

// lineEnd gives the offset of the LF that ends the line with offset i, or
// len(text).
func lineEnd(text []byte, i int) int {
	if k := bytes.IndexByte(text[i:], '\n'); k >= 0 {
		return i + k
	}
	return len(text)
}

// place turns an offset into a line and a column in characters, from 1.
func place(text []byte, offset int) (line, column int) {
	before := text[:offset]
	start := bytes.LastIndexByte(before, '\n') + 1
	return bytes.Count(before, []byte{'\n'}) + 1, utf8.RuneCount(before[start:]) + 1
}

// offsetOf turns a line and a column in bytes, as encoding/csv counts them,
// into an offset.
func offsetOf(text []byte, line, column int) int {
	at := 0
	for ; line > 1; line-- {
		at = min(lineEnd(text, at)+1, len(text))
	}
	return min(at+column-1, len(text))
}
