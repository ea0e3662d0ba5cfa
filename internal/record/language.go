package record

import (
	"slices"
	"strings"
	"unicode"

	"gaugewright/internal/chart"
	"gaugewright/internal/language"
)

// In gives the record in another language: the same figures, with its texts said
// by the book. What a person wrote in the job stays as it is. A nil book is
// English.
func (d *Document) In(b *language.Book) *Document {
	said := *d
	said.voice = nil
	if b != nil {
		said.voice = b.Voice(append(slices.Clone(d.own), d.Checksum))
	}
	return &said
}

// Unsaid tells of every text that the catalogue of the record's language lacks,
// while the record is written.
func (d *Document) Unsaid(tell func(text string)) {
	if d.voice != nil {
		d.voice.Missed = tell
	}
}

// code is the record's language (BCP 47).
func (d *Document) code() string {
	if d.voice == nil {
		return "en"
	}
	return d.voice.Book().Code()
}

// said gives a text in the record's language, with the space around it as it was.
func said(v *language.Voice, text string) string {
	if v == nil {
		return text
	}
	bare := strings.TrimSpace(text)
	if bare == "" {
		return text
	}
	out, all := v.Say(bare)
	if !all && v.Missed != nil {
		v.Missed(bare)
	}
	at := strings.Index(text, bare)
	return text[:at] + out + text[at+len(bare):]
}

// lettered gives a drawing with its lettering in the record's language.
func lettered(v *language.Voice, d chart.Drawing) chart.Drawing {
	if v == nil {
		return d
	}
	shapes := make([]chart.Shape, len(d.Shapes))
	copy(shapes, d.Shapes)
	for i := 0; i < len(shapes); {
		first, ok := shapes[i].(chart.Text)
		if !ok {
			i++
			continue
		}
		var lines []string
		k := i
		for ; k < len(shapes); k++ {
			t, ok := shapes[k].(chart.Text)
			if !ok || t.At.X != first.At.X || t.Anchor != first.Anchor {
				break
			}
			lines = append(lines, t.String)
		}
		for n, text := range v.Lines(lines) {
			t := shapes[i+n].(chart.Text)
			t.String = text
			shapes[i+n] = t
		}
		i = k
	}
	d.Shapes = shapes
	return d
}

// ruled gives a word as it may stand in quotes in a rule of a style sheet.
func ruled(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || strings.ContainsRune(`"\<`, r) {
			return -1
		}
		return r
	}, text)
}
