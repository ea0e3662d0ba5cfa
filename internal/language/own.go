package language

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// mask puts a mark in the place of each own text, and gives what puts those back;
// nil where the text has such marks already.
func mask(text string, own []string) (string, []string) {
	if strings.ContainsFunc(text, func(r rune) bool { return r >= keepBase && r < keepBase+keepMost }) {
		return "", nil
	}
	var back []string
	for i, o := range own {
		if i == keepMost {
			break
		}
		mark := string(rune(keepBase + i))
		text = replaceWhole(text, o, mark)
		back = append(back, mark, o)
	}
	return text, back
}

// inside gives the own texts that stand in a text as whole words, the longest
// first.
func (v *Voice) inside(text string) []string {
	if len(v.from) == 0 {
		return nil
	}
	var out []string
	for at := 0; at < len(text); {
		r, n := utf8.DecodeRuneInString(text[at:])
		if !wordRune(r) {
			at += n
			continue
		}
		end := at
		for end < len(text) {
			r, n := utf8.DecodeRuneInString(text[end:])
			if !wordRune(r) {
				break
			}
			end += n
		}
		for _, o := range v.from[text[at:end]] {
			if !slices.Contains(out, o) && strings.Contains(text, o) {
				out = append(out, o)
			}
		}
		at = end
	}
	slices.SortStableFunc(out, func(a, b string) int { return cmp.Compare(len(b), len(a)) })
	return out
}

// replaceWhole replaces a text where no letter touches it.
func replaceWhole(text, old, with string) string {
	var out strings.Builder
	for {
		i := strings.Index(text, old)
		if i < 0 {
			out.WriteString(text)
			return out.String()
		}
		end := i + len(old)
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		after, _ := utf8.DecodeRuneInString(text[end:])
		first, _ := utf8.DecodeRuneInString(old)
		last, _ := utf8.DecodeLastRuneInString(old)
		if i > 0 && wordRune(before) && wordRune(first) || end < len(text) && unicode.IsLetter(after) && wordRune(last) {
			out.WriteString(text[:end])
		} else {
			out.WriteString(text[:i])
			out.WriteString(with)
		}
		text = text[end:]
	}
}

// theirs says whether what stands in the holes for a person's words is known to be
// a person's.
func (t *turn) theirs(f *form, got []string) bool {
	for i, w := range f.wild {
		if w.kind == own && !t.v.persons(got[w.n]) && !quotes(f.blocks[i]) {
			return false
		}
	}
	return true
}

// quotes says whether a block ends where a quotation begins; what stands in quotes
// is somebody's words, or the name of a field.
func quotes(block []part) bool {
	if len(block) == 0 {
		return false
	}
	r, _ := utf8.DecodeLastRuneInString(block[len(block)-1].text)
	return strings.ContainsRune("\"“‘`", r)
}

// persons says whether a text is a person's: it is known as such, it is the
// beginning of such a text and cut there, or it has no words.
func (v *Voice) persons(text string) bool {
	if v.own[text] || !strings.ContainsFunc(text, unicode.IsLetter) {
		return true
	}
	begin, cut := strings.CutSuffix(text, "…")
	if !cut {
		return false
	}
	for o := range v.own {
		if strings.HasPrefix(o, begin) {
			return true
		}
	}
	return false
}
