package language

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
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

// tries is how many forms one text is laid against at the most, with everything
// that its holes hold: what isn't said by then isn't said.
const tries = 1500

// deep is how many holes may stand inside one another.
const deep = 6

// turn is the saying of one text.
type turn struct {
	v    *Voice
	left int
	memo map[string]saying
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

func (t *turn) say(context, text string, depth int) saying {
	if text == "" {
		return saying{"", true}
	}
	// A plain figure in a sentence is a figure, whoever else typed the same.
	if t.v.own[text] && numberAt(text) < len(text) {
		return saying{text, true}
	}
	k := exactKey(context, text)
	if s, ok := t.memo[k]; ok {
		return s
	}
	s := t.anew(context, text, depth)
	if t.memo == nil {
		t.memo = map[string]saying{}
	}
	t.memo[k] = s
	return s
}

// anew tries, in this order: the text itself, a text of figures, a form, the
// same with a small first letter, what its parts are by themselves.
func (t *turn) anew(context, text string, depth int) saying {
	if s, ok := t.exact(context, text); ok {
		return saying{s, true}
	}
	if onlyFigures(text) {
		return saying{t.v.b.local(text), true}
	}
	if strings.Contains(text, ", ") && dateAt(text) == len(text) {
		return t.date(text, depth)
	}
	if t.left <= 0 || depth > deep {
		return saying{text, false}
	}
	best := t.formed(context, text, depth)
	if best.all {
		return best
	}
	if low, ok := lowered(text); ok {
		s, said := t.exact(context, low)
		if !said {
			f := t.formed(context, low, depth)
			s, said = f.text, f.all
		}
		if said {
			return saying{capital(s), true}
		}
	}
	for _, split := range []func(string) ([]string, string){between(" · "), sentences, between(" – "), ended, bracketed} {
		list, join := split(text)
		if list == nil {
			continue
		}
		s := t.joined(context, list, join, depth)
		if s.all {
			return s
		}
		if best.text == text {
			best = s
		}
	}
	return best
}

func (t *turn) exact(context, text string) (string, bool) {
	if context != "" {
		if s, ok := t.v.b.exact[exactKey(context, text)]; ok {
			return s, true
		}
	}
	s, ok := t.v.b.exact[exactKey("", text)]
	return s, ok
}

// formed says a text by the form that says most of it and leaves nothing out;
// where none does, by the one that says most.
func (t *turn) formed(context, text string, depth int) saying {
	b := t.v.b
	var list []int
	for _, w := range wordsOf(text) {
		list = append(list, b.words[w]...)
	}
	slices.Sort(list)
	list = slices.Compact(list)
	best := saying{text, false}
	var guess *saying // what is said if a hole for a person's words holds such
	try := func(i int, alone bool) bool {
		f := b.forms[i]
		if f.e.context != "" && f.e.context != context {
			return false
		}
		if t.left--; t.left <= 0 {
			return false
		}
		got, ok := f.match(text)
		if !ok {
			return false
		}
		s := t.fill(f, got, depth)
		if s.all && !t.theirs(f, got) {
			if guess == nil {
				guess = &s
			}
			return false
		}
		if s.all || alone && best.text == text {
			best = s
		}
		return s.all
	}
	for _, i := range list {
		if try(i, true) {
			return best
		}
	}
	for _, i := range b.always {
		if try(i, false) {
			return best
		}
	}
	if guess != nil {
		return saying{guess.text, false}
	}
	return best
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

// fill says a form with what stands in its holes.
func (t *turn) fill(f *form, got []string, depth int) saying {
	all := true
	said := make([]string, len(got))
	for _, p := range f.blocks {
		for _, q := range p {
			if q.n > 0 {
				if q.kind == dated {
					s := t.date(got[q.n], depth)
					said[q.n], all = s.text, all && s.all
				} else {
					said[q.n] = t.v.b.local(got[q.n])
				}
			}
		}
	}
	for _, w := range f.wild {
		text := got[w.n]
		switch {
		case w.kind == own:
			said[w.n] = text
		case !strings.ContainsFunc(text, unicode.IsLetter) && strings.ContainsFunc(text, private):
			said[w.n] = t.v.b.local(text) // an own text stands there
		default:
			if list, _ := sentences(text); list != nil {
				said[w.n], all = text, false
				continue
			}
			s := t.say(w.kind, text, depth+1)
			said[w.n], all = s.text, all && s.all
		}
	}
	var out strings.Builder
	for _, p := range f.said {
		if p.n == 0 {
			out.WriteString(p.text)
		} else {
			out.WriteString(said[p.n])
		}
	}
	return saying{out.String(), all}
}

// date says a date, and leaves the time of day after it as it is.
func (t *turn) date(text string, depth int) saying {
	day, time, ok := strings.Cut(text, ", ")
	s := t.say("", day, depth+1)
	if ok {
		s.text += ", " + time
	}
	return s
}

// joined says parts one by one. Sentences are said together where the catalogue
// has them together.
func (t *turn) joined(context string, list []string, join string, depth int) saying {
	var out []string
	all := true
	for i := 0; i < len(list); {
		s, took := saying{}, 0
		for k := min(len(list), i+4); k > i; k-- {
			if k-i == len(list) && k-i > 1 {
				continue // that was tried
			}
			one := strings.Join(list[i:k], join)
			if k-i > 1 {
				if text, ok := t.exact(context, one); ok {
					s, took = saying{text, true}, k-i
				} else if f := t.formed(context, one, depth+1); f.all {
					s, took = f, k-i
				}
			} else {
				s, took = t.say(context, one, depth+1), 1
			}
			if took > 0 {
				break
			}
		}
		out = append(out, s.text)
		all = all && s.all
		i += took
	}
	return saying{strings.Join(out, join), all}
}
