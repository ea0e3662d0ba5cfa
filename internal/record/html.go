package record

import (
	"bytes"
	_ "embed" // for the page
	"fmt"
	"html/template"
	"io"
	"strings"

	"gaugewright/internal/chart"
	"gaugewright/internal/wording"
)

// Paper is the sheet a record is printed on.
type Paper string

// The sheets.
const (
	A4     Paper = "A4"     // 210 mm by 297 mm, ISO 216
	Letter Paper = "letter" // 8.5 in by 11 in
)

// ParsePaper reads "A4" or "letter", in capitals or not.
func ParsePaper(text string) (Paper, error) {
	for _, p := range []Paper{A4, Letter} {
		if len(text) == len(p) && bytes.EqualFold([]byte(text), []byte(p)) {
			return p, nil
		}
	}
	return "", fmt.Errorf("paper %q is not known; expected A4 or letter", text)
}

//go:embed page.gohtml
var pageText string

//go:embed page.css
var pageCSS string

var page = template.Must(template.New("record").Funcs(template.FuncMap{
	"drawing": drawing,
	"rules":   func() template.CSS { return template.CSS(chart.CSS() + pageCSS) },
	"accent":  chart.Accent.Class,
	"nb":      wording.Together,
}).Parse(pageText))

// drawing writes a drawing into the page. Everything in it is written by chart,
// which escapes what it was given.
func drawing(d chart.Drawing, id string) (template.HTML, error) {
	var b bytes.Buffer
	if err := d.Inline(&b, id); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}

// HTML writes the record as one page of HTML that is well-formed XML as well.
// It asks for nothing from outside and runs no script. On a screen it follows
// the reader's choice of light or dark; on paper it is black on white and
// needs no printed backgrounds.
func (d *Document) HTML(w io.Writer, paper Paper) error {
	if _, err := ParsePaper(string(paper)); err != nil {
		return err
	}
	var b bytes.Buffer
	err := page.Execute(&b, struct {
		*Document
		Paper       Paper
		Origin, End string
		Foot        string
		Count       [2]string // what stands before the number of a page, and before that of all
	}{d, paper, d.origin(), d.ends(), said(d.voice, d.Foot), d.count()})
	if err != nil {
		return fmt.Errorf("the record can't be written: %w", err)
	}
	text := b.Bytes()
	if d.voice != nil {
		text = d.voice.Page(text)
	}
	_, err = w.Write(text)
	return err
}

// count is what the foot of a printed page says around its number and that of all
// pages, "page 1 of 9".
func (d *Document) count() [2]string {
	words := said(d.voice, "page 1 of 9")
	before, rest, _ := strings.Cut(words, "1")
	between, _, _ := strings.Cut(rest, "9")
	return [2]string{ruled(before), ruled(between)}
}
