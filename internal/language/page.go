package language

import (
	"bytes"
	"strings"

	"golang.org/x/net/html"
)

// inline are the elements that stand inside sentences; any other ends one.
var inline = setOf("a abbr b bdi cite del dfn em i ins mark output q s small span strong sub sup time u var code kbd samp")

// silent are the elements whose text isn't for people, or is somebody's own.
var silent = setOf("script style textarea pre template")

// kept are the elements that stay as they are, and may stand in a sentence.
var kept = setOf("code kbd samp")

// void are the elements without an end (WHATWG HTML, 13.1.2).
var void = setOf("area base br col embed hr img input link meta source track wbr")

func setOf(names string) map[string]bool {
	set := map[string]bool{}
	for _, n := range strings.Fields(names) {
		set[n] = true
	}
	return set
}

// keptBase numbers the elements of a sentence that stay as they are.
const keptBase = 0xE800

// Page says a finished page of HTML, or a piece of one: its texts, the attributes
// that people read or hear, and the language that it names. Elements with
// translate="no", scripts, rules, code and what stands in fields stay as they are.
// Everything else is the same, byte for byte.
func (v *Voice) Page(page []byte) []byte {
	p := pager{v: v, out: make([]byte, 0, len(page)+len(page)/4)}
	z := html.NewTokenizer(bytes.NewReader(page))
	z.SetMaxBuf(0)
	skip, depth := "", 0 // an element that is left alone, and how often it is open
	for {
		kind := z.Next()
		if kind == html.ErrorToken {
			p.flush()
			p.flushLines()
			return append(p.out, z.Raw()...)
		}
		raw := z.Raw()
		switch kind {
		case html.TextToken:
			if p.lettering {
				p.lines[len(p.lines)-1].text += html.UnescapeString(string(raw))
				continue
			}
			p.flushLines()
			if skip != "" {
				p.add(node{raw: string(raw)})
				continue
			}
			p.add(node{raw: string(raw), text: html.UnescapeString(string(raw)), isText: true})
		case html.StartTagToken, html.SelfClosingTagToken:
			b, _ := z.TagName()
			name := string(b)
			if name == "noscript" { // a browser without scripts reads what is in it as a page
				z.NextIsNotRawText()
			}
			if skip != "" {
				if name == skip && kind == html.StartTagToken {
					depth++
				}
				p.add(node{raw: string(raw)})
				continue
			}
			tag, no := v.tag(string(raw), name)
			if name == "text" && kind == html.StartTagToken {
				p.flush()
				p.letter(tag)
				continue
			}
			p.flushLines()
			alone := kind == html.SelfClosingTagToken || void[name]
			if !alone && (no || silent[name] || kept[name]) {
				skip, depth = name, 1
				p.keepFrom(inline[name])
				p.add(node{raw: tag})
				continue
			}
			if inline[name] && !alone {
				p.add(node{raw: tag, opens: name})
				continue
			}
			p.flush()
			p.out = append(p.out, tag...)
		case html.EndTagToken:
			b, _ := z.TagName()
			name := string(b)
			if p.lettering && name == "text" {
				p.lines[len(p.lines)-1].end = string(raw)
				p.lettering = false
				continue
			}
			p.flushLines()
			if skip != "" {
				p.add(node{raw: string(raw)})
				if name == skip {
					if depth--; depth == 0 {
						skip = ""
						p.keepTo()
					}
				}
				continue
			}
			if inline[name] {
				p.add(node{raw: string(raw), closes: name})
				continue
			}
			p.flush()
			p.out = append(p.out, raw...)
		default:
			if skip != "" {
				p.add(node{raw: string(raw)})
				continue
			}
			p.flush()
			p.flushLines()
			p.out = append(p.out, raw...)
		}
	}
}
