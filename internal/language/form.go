package language

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/wording"
)

func clip(s string) string { return wording.Clip(s, 60) }

// What a hole may hold.
const (
	phrase = ""
	number = "number"
	dated  = "date"
	own    = "own"
	listed = "list" // phrases with semicolons or commas between them
)

// part of a form: literal text, or a hole where n > 0.
type part struct {
	text string
	n    int
	kind string // of the hole; a context where it is none of the kinds above
}

func (p part) wild() bool { return p.n > 0 && p.kind != number && p.kind != dated }

var holes = regexp.MustCompile(`\{([1-9][0-9]?)(?::([a-z][a-z0-9 -]*))?\}|<(/?)([1-9][0-9]?)>`)

// Mark-up inside a sentence is one character of a private area while the
// sentence is matched, as are pieces that stay as they are.
const (
	tagBase  = 0xE100 // and 2n for <n>, 2n+1 for </n>
	keepBase = 0xF000 // kept pieces, numbered
	keepMost = 0x300
)

func private(r rune) bool { return r >= 0xE000 && r <= 0xF8FF }

// parts takes a form apart.
func parts(text string) []part {
	var out []part
	lit := ""
	flush := func() {
		if lit != "" {
			out = append(out, part{text: lit})
			lit = ""
		}
	}
	at := 0
	for _, m := range holes.FindAllStringSubmatchIndex(text, -1) {
		lit += text[at:m[0]]
		at = m[1]
		if m[2] < 0 { // a tag
			n, _ := strconv.Atoi(text[m[8]:m[9]])
			lit += string(rune(tagBase + 2*n + (m[7] - m[6])))
			continue
		}
		flush()
		n, _ := strconv.Atoi(text[m[2]:m[3]])
		p := part{n: n}
		if m[4] >= 0 {
			p.kind = text[m[4]:m[5]]
		}
		out = append(out, p)
	}
	lit += text[at:]
	flush()
	return out
}

// form is a sentence with holes and how it is said.
type form struct {
	e       entry
	blocks  [][]part // between holes that hold phrases
	wild    []part   // the holes between the blocks
	said    []part
	letters int    // in its literal text: how much it says by itself
	holes   int    // the highest number of a hole
	anchor  string // a word that each text of this form has; "" where there is none
}

// compile checks a message and makes it a form.
func compile(e entry) (*form, error) {
	f := &form{e: e, said: parts(e.str)}
	block := []part{}
	kinds := map[int]string{}
	wildBefore, holeBefore := false, false
	for _, p := range parts(e.id) {
		if p.n == 0 {
			block = append(block, p)
			f.letters += letters(p.text)
			wildBefore, holeBefore = false, false
			continue
		}
		if _, ok := kinds[p.n]; ok {
			return nil, fmt.Errorf("the hole {%d} stands twice in %q", p.n, clip(e.id))
		}
		kinds[p.n] = p.kind
		f.holes = max(f.holes, p.n)
		if wildBefore || p.wild() && holeBefore {
			return nil, fmt.Errorf("nothing stands between two holes in %q; expected a text that divides them", clip(e.id))
		}
		holeBefore = true
		if !p.wild() {
			block = append(block, p)
			continue
		}
		wildBefore = true
		f.blocks, f.wild = append(f.blocks, block), append(f.wild, p)
		block = []part{}
	}
	f.blocks = append(f.blocks, block)
	used := map[int]bool{}
	for _, p := range f.said {
		if p.n == 0 {
			continue
		}
		if _, ok := kinds[p.n]; !ok {
			return nil, fmt.Errorf("the translation has {%d}, and %q doesn't", p.n, clip(e.id))
		}
		if used[p.n] {
			return nil, fmt.Errorf("{%d} stands twice in the translation of %q", p.n, clip(e.id))
		}
		used[p.n] = true
	}
	if len(used) != len(kinds) {
		return nil, fmt.Errorf("the translation of %q has %d of its %d holes; expected each once", clip(e.id), len(used), len(kinds))
	}
	if a, b := tagsOf(e.id), tagsOf(e.str); a != b {
		return nil, fmt.Errorf("the translation of %q has the mark-up %q; expected %q, each once", clip(e.id), b, a)
	}
	if !nested(marked(e.id)) || !nested(marked(e.str)) {
		return nil, fmt.Errorf("the mark-up of %q or of its translation isn't closed in the order in which it was opened", clip(e.id))
	}
	return f, nil
}

// nested says whether mark-up is closed in the order in which it was opened.
func nested(text string) bool {
	var open []rune
	for _, r := range text {
		switch n := r - tagBase; {
		case n < 2 || n >= 200:
		case n%2 == 0:
			open = append(open, n)
		case len(open) == 0 || open[len(open)-1] != n-1:
			return false
		default:
			open = open[:len(open)-1]
		}
	}
	return len(open) == 0
}

// tagsOf lists the mark-up of a form, in the order of its numbers.
func tagsOf(text string) string {
	var count [200]int
	for _, m := range holes.FindAllStringSubmatch(text, -1) {
		if m[1] == "" {
			n, _ := strconv.Atoi(m[4])
			count[2*n+len(m[3])]++
		}
	}
	var b strings.Builder
	for i, n := range count {
		for range n {
			fmt.Fprintf(&b, "<%s%d>", [...]string{"", "/"}[i%2], i/2)
		}
	}
	return b.String()
}

// anchors gives the words that every text of the form has whole.
func (f *form) anchors() []string {
	var out []string
	all := parts(f.e.id)
	for i, p := range all {
		if p.n > 0 {
			continue
		}
		words := wordsOf(p.text)
		if first, _ := utf8.DecodeRuneInString(p.text); i > 0 && wordRune(first) && len(words) > 0 {
			words = words[1:]
		}
		if last, _ := utf8.DecodeLastRuneInString(p.text); i < len(all)-1 && wordRune(last) && len(words) > 0 {
			words = words[:len(words)-1]
		}
		out = append(out, words...)
	}
	return out
}

func wordRune(r rune) bool { return unicode.IsLetter(r) || r == '’' || r == '\'' }

func wordsOf(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return !wordRune(r) })
}

func letters(text string) int {
	n := 0
	for _, r := range text {
		if unicode.IsLetter(r) && !private(r) {
			n++
		}
	}
	return n
}
