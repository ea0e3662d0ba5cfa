package chart

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"

	"gaugewright/internal/quantity"
)

var prefixRule = regexp.MustCompile(`^[a-z][a-z0-9-]*$`)

// SVG writes the drawing as a file of its own, on paper, its colours in the
// shapes themselves. The prefix begins the ids; it starts with a small letter
// and goes on with small letters, digits and hyphens.
func (d Drawing) SVG(w io.Writer, prefix string) error {
	return d.write(w, prefix, true)
}

// Inline writes the drawing for the inside of a page that has the rules of
// [CSS], which give it the page's colours. The prefix begins the ids and must
// be the drawing's own within the page; it is written as for [Drawing.SVG].
func (d Drawing) Inline(w io.Writer, prefix string) error {
	return d.write(w, prefix, false)
}

func (d Drawing) write(w io.Writer, prefix string, alone bool) error {
	if !prefixRule.MatchString(prefix) {
		return fmt.Errorf("the id prefix %q can't be used; expected a small letter, then small letters, digits and hyphens", prefix)
	}
	var b bytes.Buffer
	if alone {
		b.WriteString(xml.Header)
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="gw-drawing %s" viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-labelledby="%s-title %s-desc" font-family="%s">`,
		d.Accent.Class(), number(d.Width), number(d.Height), number(d.Width), number(d.Height), prefix, prefix, lettering)
	fmt.Fprintf(&b, "\n<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", prefix, escaped(d.Title), prefix, escaped(d.Desc))
	if alone {
		fmt.Fprintf(&b, "<path d=\"M0 0H%sV%sH0Z\" fill=\"%s\"/>\n", number(d.Width), number(d.Height), light("sheet", d.Accent))
	}
	var open Role
	for i, s := range d.Shapes {
		if r := s.role(); i == 0 || r != open {
			if i > 0 {
				b.WriteString("</g>\n")
			}
			fmt.Fprintf(&b, `<g class="gw-%s"%s>`, r, r.attributes(d.Accent))
			open = r
		}
		switch s := s.(type) {
		case Path:
			b.WriteString(`<path d="`)
			s.data(&b)
			b.WriteString(`"/>`)
		case Text:
			anchor := [...]string{"", ` text-anchor="middle"`, ` text-anchor="end"`}[s.Anchor]
			fmt.Fprintf(&b, `<text x="%s" y="%s"%s>%s</text>`, number(s.At.X), number(s.At.Y), anchor, escaped(s.String))
		}
	}
	if len(d.Shapes) > 0 {
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
	_, err := b.WriteTo(w)
	return err
}

func (p Path) data(b *bytes.Buffer) {
	for _, s := range p.Steps {
		switch s.Kind {
		case Move:
			fmt.Fprintf(b, "M%s %s", number(s.To.X), number(s.To.Y))
		case Line:
			fmt.Fprintf(b, "L%s %s", number(s.To.X), number(s.To.Y))
		case Cubic:
			fmt.Fprintf(b, "C%s %s %s %s %s %s", number(s.C1.X), number(s.C1.Y), number(s.C2.X), number(s.C2.Y), number(s.To.X), number(s.To.Y))
		case Close:
			b.WriteString("Z")
		}
	}
}

// number rounds to a hundredth of a pixel, finer than any printer.
func number(v float64) string { return quantity.Short(v, 2) }

// escaped makes text safe inside XML; what XML can't hold becomes U+FFFD.
func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a buffer takes everything
	return b.String()
}
