package language

import "strings"

// match gives what a text has in the holes of the form, by their numbers. Its
// work grows with the text times the form's parts, whatever stands in either:
// each block between two phrases is taken where it fits first.
func (f *form) match(text string) ([]string, bool) {
	got := make([]string, f.holes+1)
	at, ok := fit(f.blocks[0], text, 0, got)
	if !ok {
		return nil, false
	}
	if len(f.wild) == 0 {
		return got, at == len(text)
	}
	for i, w := range f.wild {
		block := f.blocks[i+1]
		begin, end := at, -1
		last := i == len(f.wild)-1
		if last && len(block) == 0 {
			begin, end = len(text), len(text)
		} else if last && len(block) == 1 && block[0].n == 0 {
			begin = len(text) - len(block[0].text)
			if begin <= at || text[begin:] != block[0].text {
				return nil, false
			}
			end = len(text)
		} else {
			for begin = at + 1; begin <= len(text); begin++ {
				if len(block) > 0 && block[0].n == 0 {
					k := strings.Index(text[begin:], block[0].text)
					if k < 0 {
						return nil, false
					}
					begin += k
				}
				if inFigure(text, begin) {
					continue
				}
				if e, ok := fit(block, text, begin, got); ok && (!last || e == len(text)) {
					end = e
					break
				}
			}
		}
		if end < 0 || begin <= at {
			return nil, false
		}
		got[w.n] = text[at:begin]
		at = end
	}
	return got, true
}

// inFigure says whether the point at a place in a text stands between the digits of
// a figure, and so ends no sentence.
func inFigure(text string, at int) bool {
	return at > 0 && at+1 < len(text) && text[at] == '.' && digit(text[at-1]) && digit(text[at+1])
}

// fit lays parts without phrases onto a text from a place on, and gives where
// they end.
func fit(block []part, text string, at int, got []string) (int, bool) {
	for _, p := range block {
		if p.n == 0 {
			if !strings.HasPrefix(text[at:], p.text) {
				return 0, false
			}
			at += len(p.text)
			continue
		}
		n := 0
		if p.kind == dated {
			n = dateAt(text[at:])
		} else {
			n = numberAt(text[at:])
		}
		if n == 0 {
			return 0, false
		}
		got[p.n] = text[at : at+n]
		at += n
	}
	return at, true
}
