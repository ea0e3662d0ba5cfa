package record

import (
	"bytes"
	_ "embed" // for the page
	"fmt"
	"html/template"
	"io"
	"regexp"

	"gaugewright/internal/chart"
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
	"nb":      together,
}).Parse(pageText))

var beforeUnit = regexp.MustCompile(`([0-9]) (%|Ω|°C|°F|mm\b|m\b|L\b|US gal\b|imp gal\b|kg\b|lb\b|kWh\b|MJ\b|bar\b|points\b)`)

// together keeps a figure and its unit on one line.
func together(s string) string { return beforeUnit.ReplaceAllString(s, "$1\u00a0$2") }

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
	}{d, paper, d.origin(), d.ends()})
	if err != nil {
		return fmt.Errorf("the record can't be written: %w", err)
	}
	_, err = b.WriteTo(w)
	return err
}
