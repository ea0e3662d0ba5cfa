package language

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// tries is how many forms one text is laid against at the most, with everything
// that its holes hold: what isn't said by then isn't said.
const tries = 6000

// deep is how many holes may stand inside one another.
const deep = 6

// aList is the context of lists: what stands between their commas is said by itself.
const aList = "list"

// chance is "97 in 100", which is no length in inches.
var chance = regexp.MustCompile(`[0-9] in [0-9]`)

// turn is the saying of one text.
type turn struct {
	v    *Voice
	left int
	memo map[string]saying
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
// same with a small first letter, what its parts are by themselves: those between
// commas only in a list.
func (t *turn) anew(context, text string, depth int) saying {
	if s, ok := t.exact(context, text); ok {
		return saying{s, true}
	}
	if onlyFigures(text) && !chance.MatchString(text) {
		return saying{t.v.b.local(text), true}
	}
	if strings.Contains(text, ", ") && dateAt(text) == len(text) {
		return t.date(text, depth)
	}
	if t.left <= 0 || depth > deep {
		return saying{text, false}
	}
	if context == aList {
		for _, mark := range []string{"; ", ", "} {
			if list, join := between(mark)(text); list != nil {
				if s := t.listed(list, join, depth); s.all {
					return s
				}
			}
		}
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
	for _, split := range []func(string) ([]string, string){between(" · "), sentences, between(" – "), ended, bracketed, between("; ")} {
		list, join := split(text)
		if join == "; " && depth > 0 {
			continue // facts of one thing, which stand by themselves
		}
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
		// In the place of a text that can't be said whole stands the form that says
		// most of it, if that is half of it or more.
		if s.all || alone && best.text == text && 2*f.letters >= letters(text) {
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
		case w.kind == own && (t.v.own[text] || strings.ContainsFunc(text, unicode.IsLetter)):
			said[w.n] = text
		case w.kind == own: // figures, or a mark for somebody's words
			said[w.n] = t.v.b.local(text)
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

// listed says the parts of a list one by one.
func (t *turn) listed(list []string, join string, depth int) saying {
	all := true
	for i := range list {
		s := t.say(aList, list[i], depth+1)
		list[i], all = s.text, all && s.all
	}
	return saying{strings.Join(list, join), all}
}

// joined says parts one by one. Sentences are said together where the catalogue
// has them together.
func (t *turn) joined(context string, list []string, join string, depth int) saying {
	var out []string
	all := true
	for i := 0; i < len(list); {
		if depth == 0 {
			t.left = tries // what was tried on the whole is not taken off its parts
		}
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
