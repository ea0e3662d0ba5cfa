package language

import (
	"cmp"
	"slices"
	"strings"
)

// Voice says texts from a book and leaves alone what is a user's own. It may be
// used from several goroutines.
type Voice struct {
	b    *Book
	own  map[string]bool
	from map[string][]string // own texts by their first word
	memo *memo

	// Missed is told of every text of a page that isn't in the catalogue; may be nil.
	Missed func(text string)
}

// Voice gives the book's voice for those who wrote the given texts: names, notes
// and whatever else came from a person. They are never translated where they
// stand as a whole, or in a sentence.
func (b *Book) Voice(own []string) *Voice {
	b.ready()
	return b.voice(own)
}

func (b *Book) voice(own []string) *Voice {
	v := &Voice{b: b, own: map[string]bool{}, from: map[string][]string{}, memo: newMemo()}
	for _, text := range own {
		text = squeeze(text)
		if text == "" || v.own[text] {
			continue
		}
		v.own[text] = true
		if words := wordsOf(text); len(words) > 0 {
			v.from[words[0]] = append(v.from[words[0]], text)
		}
	}
	for w, list := range v.from {
		slices.SortFunc(list, func(a, b string) int { return cmp.Or(cmp.Compare(len(b), len(a)), cmp.Compare(a, b)) })
		v.from[w] = list
	}
	return v
}

// Book is the one that the voice reads from.
func (v *Voice) Book() *Book { return v.b }

// squeeze writes runs of white space, and the spaces that don't break a line, as
// one space.
func squeeze(s string) string {
	plain := true
	for i := 0; i < len(s) && plain; i++ {
		c := s[i]
		plain = c < 0x80 && c != '\n' && c != '\t' && c != '\r' && !(c == ' ' && (i == 0 || i == len(s)-1 || s[i+1] == ' ')) ||
			c >= 0x80 && c != 0xC2 && c != 0xE2 && c != 0xE1 && c != 0xE3
	}
	if plain {
		return s
	}
	return strings.Join(strings.Fields(s), " ")
}

// Say gives an English text in the language. It is false where some of it isn't
// in the catalogue; then as much of it is said as there is. A space that keeps a
// figure and its unit on one line does so afterwards, too.
func (v *Voice) Say(english string) (string, bool) { return v.SayIn("", english) }

// SayIn is Say for a text that is looked up in a context first.
func (v *Voice) SayIn(context, english string) (string, bool) {
	text := squeeze(english)
	if text == "" || v.own[text] {
		return english, true
	}
	s := v.whole(context, text)
	if strings.Contains(english, "\u00a0") {
		s.text = v.b.keep.ReplaceAllString(s.text, "$1\u00a0$2")
	}
	return s.text, s.all
}

// whole says a text from what was said before, or anew. With a mark in the place of
// each own text it is the same for everybody; only where it can't be said so is it
// tried with those in it, which may be words of the program as well.
func (v *Voice) whole(context, text string) saying {
	inside := v.inside(text)
	if len(inside) == 0 {
		return v.b.memo.get(exactKey(context, text), func() saying {
			t := turn{v: v, left: tries}
			return t.say(context, text, 0)
		})
	}
	return v.memo.get(exactKey(context, text), func() saying {
		masked, back := mask(text, inside)
		if back != nil {
			s := v.b.memo.get(exactKey(context, masked), func() saying {
				t := turn{v: v.b.plain, left: tries}
				return t.say(context, masked, 0)
			})
			if s.all {
				return saying{strings.NewReplacer(back...).Replace(s.text), true}
			}
		}
		t := turn{v: v, left: tries}
		return t.say(context, text, 0)
	})
}
