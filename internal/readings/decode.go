package readings

import (
	"bytes"
	"fmt"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// encoding is how the characters of a file were stored.
type encoding int

const (
	plain       encoding = iota // UTF-8, with or without a byte order mark
	wide                        // UTF-16 with a byte order mark
	windows1252                 // anything that is not valid UTF-8
)

// Byte order marks: the character U+FEFF in each encoding (The Unicode
// Standard, "Byte Order Mark").
var (
	mark8    = []byte{0xEF, 0xBB, 0xBF}
	mark16LE = []byte{0xFF, 0xFE}
	mark16BE = []byte{0xFE, 0xFF}
)

// decode turns the bytes of a file into UTF-8 without a byte order mark and
// with LF as the only line end. Control characters are refused: what has them
// is no text. The bytes passed in stay as they are.
func decode(name string, raw []byte) ([]byte, encoding, error) {
	switch {
	case bytes.HasPrefix(raw, mark8):
		text, err := normalise(name, raw[len(mark8):], plain)
		return text, plain, err
	case bytes.HasPrefix(raw, mark16LE), bytes.HasPrefix(raw, mark16BE):
		if len(raw)%2 != 0 {
			return nil, wide, &Error{Name: name, Msg: fmt.Sprintf("UTF-16 text of %d bytes, an odd number, so its end is missing; save the file again as CSV in UTF-8", len(raw))}
		}
		text, err := normalise(name, fromUTF16(raw[2:], raw[0] == 0xFE), wide)
		return text, wide, err
	case utf8.Valid(raw):
		text, err := normalise(name, raw, plain)
		return text, plain, err
	}
	text, err := normalise(name, fromWindows1252(raw), windows1252)
	return text, windows1252, err
}

// normalise copies text with LF as its only line end. It stops at the first
// character that can't stand in a text file and says where that is.
func normalise(name string, text []byte, from encoding) ([]byte, error) {
	out := make([]byte, 0, len(text))
	line, column := 1, 1
	for i := 0; i < len(text); column++ {
		c := text[i]
		if c >= ' ' && c < 0x7F || c == '\t' {
			out = append(out, c)
			i++
			continue
		}
		if c == '\r' || c == '\n' {
			if c == '\r' && i+1 < len(text) && text[i+1] == '\n' {
				i++
			}
			i++
			out = append(out, '\n')
			line, column = line+1, 0
			continue
		}
		r, size := utf8.DecodeRune(text[i:])
		switch {
		case r == utf8.RuneError && size == 1 && from == wide:
			return nil, &Error{name, line, column, "half of a UTF-16 surrogate pair; save the file again as CSV in UTF-8"}
		case r == utf8.RuneError && size == 1:
			return nil, &Error{name, line, column, fmt.Sprintf("byte 0x%02X is not UTF-8, which the byte order mark at the start promises; save the file again as CSV in UTF-8", c)}
		case unicode.IsControl(r):
			return nil, &Error{name, line, column, fmt.Sprintf("control character U+%04X, so this is not a text file; expected CSV; export a spreadsheet as CSV first", r)}
		}
		out = append(out, text[i:i+size]...)
		i += size
	}
	return out, nil
}

// fromUTF16 turns UTF-16 into UTF-8. Half a surrogate pair becomes the byte
// 0xFF, which is never part of UTF-8, so that normalise can say where it stood.
func fromUTF16(raw []byte, bigEndian bool) []byte {
	low, high := 0, 1
	if bigEndian {
		low, high = 1, 0
	}
	at := func(i int) rune { return rune(raw[i+low]) | rune(raw[i+high])<<8 }
	out := make([]byte, 0, len(raw))
	for i := 0; i < len(raw); i += 2 {
		r := at(i)
		if utf16.IsSurrogate(r) {
			pair := rune(unicode.ReplacementChar)
			if i+2 < len(raw) {
				pair = utf16.DecodeRune(r, at(i+2))
			}
			if pair == unicode.ReplacementChar {
				out = append(out, 0xFF)
				continue
			}
			r = pair
			i += 2
		}
		out = utf8.AppendRune(out, r)
	}
	return out
}

// upper1252 is what Windows-1252 has at 0x80 to 0x9F; everywhere else it is
// Latin-1. The five places it leaves free stay control characters, as the
// WHATWG Encoding Standard has them, and are refused as such.
var upper1252 = [32]rune{
	'€', 0x81, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', 0x8D, 'Ž', 0x8F,
	0x90, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', 0x9D, 'ž', 'Ÿ',
}

func fromWindows1252(raw []byte) []byte {
	out := make([]byte, 0, len(raw)+len(raw)/8)
	for _, c := range raw {
		r := rune(c)
		if c >= 0x80 && c <= 0x9F {
			r = upper1252[c-0x80]
		}
		out = utf8.AppendRune(out, r)
	}
	return out
}
