package language

import (
	"strings"
	"unicode/utf8"
)

// mostJoined is how many lines of lettering one text is broken into at the most.
const mostJoined = 5

// drawn is the context (msgctxt) of lettering in drawings, where there is little
// room: a shorter wording than elsewhere may stand under it.
const drawn = "drawing"

// Lines says lines of lettering that stand under one another. Where a line says
// nothing by itself but does so with those after it, they are one text that was
// broken for want of room; it is broken anew into as many lines.
func (v *Voice) Lines(lines []string) []string {
	out := make([]string, len(lines))
	for i := 0; i < len(lines); i++ {
		s, all := v.SayIn(drawn, lines[i])
		out[i] = s
		if all {
			continue
		}
		joined := false
		for k := min(len(lines), i+mostJoined); k > i+1 && !joined; k-- {
			whole, ok := v.SayIn(drawn, strings.Join(lines[i:k], " "))
			if joined = ok; ok {
				copy(out[i:k], broken(whole, k-i))
				i = k - 1
			}
		}
		if !joined && v.Missed != nil {
			v.Missed(squeeze(lines[i]))
		}
	}
	return out
}

// broken breaks a text between words into so many lines, the longest as short as
// can be.
func broken(text string, lines int) []string {
	words := strings.Fields(text)
	for width := utf8.RuneCountInString(text) / lines; ; width++ {
		out := []string{}
		for _, w := range words {
			if k := len(out) - 1; k >= 0 && utf8.RuneCountInString(out[k])+1+utf8.RuneCountInString(w) <= width {
				out[k] += " " + w
			} else {
				out = append(out, w)
			}
		}
		if len(out) <= lines {
			return append(out, make([]string, lines-len(out))...)
		}
	}
}
