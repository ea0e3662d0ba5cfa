package record

import (
	"bytes"
	_ "embed" // for the page
	"fmt"
	"html/template"
	"io"

	"gaugewright/internal/chart"
	"gaugewright/internal/wording"
)

//go:embed card.gohtml
var cardText string

//go:embed card.css
var cardCSS string

var cardPage = template.Must(template.New("cards").Funcs(template.FuncMap{
	"drawing": drawing,
	"rules":   func() template.CSS { return template.CSS(chart.CSS() + cardCSS) },
	"accent":  chart.Accent.Class,
	"nb":      wording.Together,
}).Parse(cardText))

// HTML writes the cards as one page, as [Document.HTML] does the record.
func (c *Cards) HTML(w io.Writer, paper Paper) error {
	if _, err := ParsePaper(string(paper)); err != nil {
		return err
	}
	var b bytes.Buffer
	err := cardPage.Execute(&b, struct {
		*Cards
		Paper            Paper
		Checksum, Origin string
	}{c, paper, c.about.Checksum, c.about.origin()})
	if err != nil {
		return fmt.Errorf("the cards can't be written: %w", err)
	}
	text := b.Bytes()
	if c.about.voice != nil {
		text = c.about.voice.Page(text)
	}
	_, err = w.Write(text)
	return err
}
