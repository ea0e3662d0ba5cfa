package chart

import (
	"strings"
	"unicode"
)

// textWidth estimates how wide a line of lettering is, in pixels. It takes the
// widest face of [Lettering] (parts of the size, from memory and rounded up),
// so that what fits by this measure fits in all of them.
func textWidth(s string, size float64) float64 {
	sum := 0.0
	for _, r := range s {
		sum += runeWidth(r)
	}
	return sum * size
}

func runeWidth(r rune) float64 {
	switch {
	case strings.ContainsRune("il|'!I.,:;jf-/()[]t r", r):
		return 0.38
	case strings.ContainsRune("mwMW%—Ω±→", r):
		return 0.9
	case r >= '0' && r <= '9':
		return 0.58
	case unicode.Is(unicode.Mn, r):
		return 0
	case r >= 0x1100 && r < 0x2000, r >= 0x2e80: // CJK, emoji
		return 1.3
	case unicode.IsUpper(r):
		return 0.7
	case r < 0x250:
		return 0.58
	}
	return 1
}

// fitted cuts text to a width and marks the cut.
func fitted(s string, size, width float64) string {
	s = strings.Join(strings.Fields(s), " ")
	if textWidth(s, size) <= width {
		return s
	}
	room := width - textWidth("…", size)
	for i, r := range s {
		if room -= runeWidth(r) * size; room < 0 {
			if i == 0 {
				return ""
			}
			return strings.TrimRight(s[:i], " ") + "…"
		}
	}
	return s
}

// wrapped breaks text between words into lines of a width, at most so many;
// the last is cut where there is more.
func wrapped(s string, size, width float64, most int) []string {
	var lines []string
	words := strings.Fields(s)
	for len(words) > 0 {
		n := 1
		for n < len(words) && textWidth(strings.Join(words[:n+1], " "), size) <= width {
			n++
		}
		if len(lines) == most-1 {
			n = len(words)
		}
		if line := fitted(strings.Join(words[:n], " "), size, width); line != "" {
			lines = append(lines, line)
		}
		words = words[n:]
	}
	return lines
}

// widest gives the width of the widest of some lines.
func widest(lines []string, size float64) float64 {
	w := 0.0
	for _, l := range lines {
		w = max(w, textWidth(l, size))
	}
	return w
}
