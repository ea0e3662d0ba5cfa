package language

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/language"

	"gaugewright/internal/wording"
)

// Book is the catalogue of one language. It doesn't change and may be used from
// several goroutines.
type Book struct {
	tag     language.Tag
	name    string
	decimal string

	exact  map[string]string // by context, a mark, and the whole text
	forms  []*form           // what says most by itself first
	words  map[string][]int  // forms by their anchors
	always []int             // forms without an anchor
	tagged bool              // some messages have mark-up in them
	keep   *regexp.Regexp    // a figure with its unit, as the language has it

	plain *Voice

	memo *memo

	// The messages of a language in the program are read when it is first spoken:
	// most who start the program don't speak it.
	later func() (*Book, error)
	once  sync.Once
}

// ready reads the messages.
func (b *Book) ready() {
	if b.later == nil {
		return
	}
	b.once.Do(func() {
		full, err := b.later()
		if err != nil {
			panic("language: the catalogue of " + b.Code() + " in the program: " + err.Error()) // a test reads them all
		}
		b.exact, b.forms, b.words, b.always, b.tagged, b.keep = full.exact, full.forms, full.words, full.always, full.tagged, full.keep
		b.plain = b.voice(nil)
	})
}

func exactKey(context, id string) string { return context + "\x04" + id }

// newBook makes a book of the messages of a language. Messages without a
// translation, and those marked fuzzy, are as good as missing.
func newBook(entries []entry) (*Book, error) {
	b := &Book{exact: map[string]string{}, words: map[string][]int{}, memo: newMemo()}
	var errs []error
	seen := map[string]entry{}
	for _, e := range entries {
		if e.id == "" && e.context == "" {
			h := header(e.str)
			code := h["Language"]
			tag, err := language.Parse(code)
			if err != nil || code == "" {
				errs = append(errs, fmt.Errorf("%s:%d: the header's Language is %q; expected a code such as de or pt-BR", e.file, e.line, code))
				continue
			}
			if b.tag != (language.Tag{}) && b.tag != tag {
				errs = append(errs, fmt.Errorf("%s:%d: the header's Language is %s, and that of another file of this language %s", e.file, e.line, tag, b.tag))
			}
			b.tag = tag
			if name := h["X-Language-Name"]; name != "" {
				b.name = name
			}
			continue
		}
		if e.str == "" || e.fuzzy {
			continue
		}
		k := exactKey(e.context, e.id)
		if was, ok := seen[k]; ok {
			if was.str != e.str {
				errs = append(errs, fmt.Errorf("%s:%d: %q is said as %q, and in %s:%d as %q; expected one of the two", e.file, e.line, clip(e.id), clip(e.str), was.file, was.line, clip(was.str)))
			}
			continue
		}
		seen[k] = e
		b.tagged = b.tagged || tagsOf(e.id) != ""
		f, err := compile(e)
		if err != nil {
			errs = append(errs, fmt.Errorf("%s:%d: %w", e.file, e.line, err))
			continue
		}
		if f.holes == 0 {
			b.exact[exactKey(e.context, marked(e.id))] = marked(e.str)
			continue
		}
		b.forms = append(b.forms, f)
	}
	if b.tag == (language.Tag{}) {
		errs = append(errs, errors.New("no file of the language has a header with Language: in it"))
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	if b.name == "" {
		b.name = b.tag.String()
	}
	b.decimal = decimalOf(b.tag)
	b.index()
	b.plain = b.voice(nil)
	b.keep = b.keeping()
	return b, nil
}

// marked gives a text with its mark-up as it is matched.
func marked(text string) string {
	var out strings.Builder
	for _, p := range parts(text) {
		out.WriteString(p.text)
	}
	return out.String()
}

// index puts each form under the rarest of its words. Of two that say the same, that
// of a context goes first.
func (b *Book) index() {
	slices.SortStableFunc(b.forms, func(x, y *form) int {
		return cmp.Or(cmp.Compare(y.letters, x.letters), cmp.Compare(len(x.wild), len(y.wild)), cmp.Compare(len(y.e.id), len(x.e.id)), cmp.Compare(y.e.context, x.e.context), cmp.Compare(x.e.id, y.e.id))
	})
	often := map[string]int{}
	for _, f := range b.forms {
		for _, w := range f.anchors() {
			often[w]++
		}
	}
	for i, f := range b.forms {
		for _, w := range f.anchors() {
			if f.anchor == "" || often[w] < often[f.anchor] {
				f.anchor = w
			}
		}
		if f.anchor == "" {
			b.always = append(b.always, i)
		} else {
			b.words[f.anchor] = append(b.words[f.anchor], i)
		}
	}
}

// keeping finds figures with their units, in English or in the language.
func (b *Book) keeping() *regexp.Regexp {
	var list []string
	for _, u := range wording.Units {
		for _, form := range []string{u, b.exact[exactKey("", u)]} {
			if form != "" {
				list = append(list, form)
			}
		}
	}
	return wording.AfterFigure(list)
}

// Code is the language's code, "de" (BCP 47).
func (b *Book) Code() string { return b.tag.String() }

// Name is what the language calls itself, "Deutsch".
func (b *Book) Name() string { return b.name }

// Say gives an English text in the language; false where some of it isn't in
// the catalogue, and then as much as is.
func (b *Book) Say(english string) (string, bool) {
	b.ready()
	return b.plain.Say(english)
}
