package record

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"

	"gaugewright/internal/chart"
	"gaugewright/internal/language"
	"gaugewright/internal/wording"
)

// Margins of the sheet in points: 15 mm, and 18 mm at the foot.
const (
	margin = 15 * 72 / 25.4
	atFoot = 18 * 72 / 25.4
)

// PDF writes the record as a PDF of vector drawings and text, with its fonts in
// it, laid out for the paper. It holds the same as [Document.HTML]. The same
// document gives the same bytes, wherever and whenever it is written.
//
// The file keeps to ISO 19005-2 at level B, as far as the tests of this package
// look, and says so in its metadata.
//
// A character that the fonts lack stands as U+FFFD, and the record says that
// there are such. There is an error for a paper that isn't known, and where w
// takes no more.
func (d *Document) PDF(w io.Writer, paper Paper) error {
	if _, err := ParsePaper(string(paper)); err != nil {
		return err
	}
	p := newPDF(paper)
	p.voice = d.voice
	slabs := p.document(d)
	about := describe(d)
	p.described(about)
	p.newPage()
	f := flow{sheet: p, top: margin, bottom: p.height - atFoot}
	f.put(slabs)
	p.feet(d.Foot)
	return p.write(w, about)
}

// write finishes the file.
func (p *pdf) write(w io.Writer, about description) error {
	var b bytes.Buffer
	if err := p.out.Output(&b); err != nil {
		return fmt.Errorf("the record can't be written as PDF: %w", err)
	}
	data, err := archival(b.Bytes(), about)
	if err != nil {
		return fmt.Errorf("the record can't be written as PDF: %w", err)
	}
	_, err = w.Write(data)
	return err
}

// pdf is a PDF that is being written. Lengths are in points, from the top left.
type pdf struct {
	out           *fpdf.Fpdf
	width, height float64         // of the sheet
	voice         *language.Voice // nil: English
	lacks         bool            // a character couldn't be printed
	links         map[string]int

	font   style // that is set
	stroke stroke
	fill   *chart.Colour
}

// stroke is how a line is drawn.
type stroke struct {
	width  float64
	colour chart.Colour
	dash   string
	round  bool
}

func newPDF(paper Paper) *pdf {
	size := fpdf.SizeType{Wd: 210 * 72 / 25.4, Ht: 297 * 72 / 25.4}
	if paper == Letter {
		size = fpdf.SizeType{Wd: 8.5 * 72, Ht: 11 * 72}
	}
	p := &pdf{out: fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "pt", Size: size}),
		width: size.Wd, height: size.Ht, links: map[string]int{}}
	p.out.SetAutoPageBreak(false, 0)
	p.out.SetMargins(0, 0, 0)
	// Copies, as the writer of fonts puts things into them.
	p.out.AddUTF8FontFromBytes(family, "", slices.Clone(regularTTF))
	p.out.AddUTF8FontFromBytes(family, "B", slices.Clone(boldTTF))
	return p
}

// describe is what the file says of itself.
func describe(d *Document) description {
	about := description{title: basic(said(d.voice, d.Name)), subject: basic(said(d.voice, d.Foot)), made: d.Made, language: d.code()}
	for _, f := range d.Facts {
		if f.Name == "Fitter" && !f.Missing {
			about.author = basic(f.Value)
		}
	}
	var names []string
	for _, s := range d.Sections {
		names = append(names, basic(s.Heading))
	}
	about.keywords = strings.Join(names, ", ")
	return about
}

// described sets what readers of PDF show beside the pages, and what would
// differ from one run to the next.
func (p *pdf) described(about description) {
	o := p.out
	o.SetCatalogSort(true)
	// Any date will do: what is written is put right when the file is finished.
	o.SetCreationDate(time.Unix(0, 0).UTC())
	o.SetModificationDate(time.Unix(0, 0).UTC())
	o.SetLang(about.language)
	o.SetTitle(about.title, true)
	o.SetSubject(about.subject, true)
	o.SetProducer(maker, true)
	o.SetCreator(maker, true)
	o.SetAuthor(about.author, true)
	o.SetKeywords(about.keywords, true)
	o.SetXmpMetadata(about.xmp())
	o.AddOutputIntent(fpdf.OutputIntentType{SubtypeIdent: fpdf.OutputIntent_GTS_PDFA1, OutputConditionIdentifier: "sRGB", Info: "sRGB, IEC 61966-2-1", ICCProfile: srgb()})
}

// basic gives the text with U+FFFD for what isn't in the first plane of Unicode,
// which is all that the descriptions of the file can be written in.
func basic(s string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF {
			return lacking
		}
		return r
	}, strings.ToValidUTF8(s, string(utf8.RuneError)))
}

// column is the width that text and drawings have.
func (p *pdf) column() float64 { return p.width - 2*margin }

func (p *pdf) newPage() {
	p.out.AddPage()
	p.out.RawWriteStr("4 M") // corners are as pointed as in SVG
}

// feet writes the foot of every page, when it is known how many there are.
func (p *pdf) feet(words string) {
	words, _ = settable(wording.Together(said(p.voice, words)))
	n := p.out.PageCount()
	s := style{7.6, false, chart.Ink()}
	y := p.height - atFoot + 22
	for i := 1; i <= n; i++ {
		p.out.SetPage(i)
		p.font, p.fill = style{}, nil // what is set is that of the last page
		p.text(margin, y, words, s)
		count := said(p.voice, fmt.Sprintf("page %d of %d", i, n))
		p.text(p.width-margin-s.width(count), y, count, s)
	}
}

// text writes one line, its baseline at y.
func (p *pdf) text(x, y float64, words string, s style) {
	if s.size != p.font.size || s.bold != p.font.bold {
		weight := ""
		if s.bold {
			weight = "B"
		}
		p.out.SetFont(family, weight, s.size)
		p.font = s
	}
	p.filled(s.colour)
	p.out.Text(x, y, words)
}

func (p *pdf) filled(c chart.Colour) {
	if p.fill == nil || *p.fill != c {
		// Text has a colour of its own only where it isn't that of areas.
		p.out.SetFillColor(int(c.R), int(c.G), int(c.B))
		p.out.SetTextColor(int(c.R), int(c.G), int(c.B))
		p.fill = &c
	}
}

// pen sets how lines are drawn; the dashes are lengths of line and gap.
func (p *pdf) pen(s stroke, dash ...float64) {
	s.dash = fmt.Sprint(dash)
	if s == p.stroke {
		return
	}
	p.out.SetLineWidth(s.width)
	p.out.SetDrawColor(int(s.colour.R), int(s.colour.G), int(s.colour.B))
	if s.dash != p.stroke.dash {
		p.out.SetDashPattern(dash, 0)
	}
	if s.round != p.stroke.round {
		end, corner := "butt", "miter"
		if s.round {
			end, corner = "round", "round"
		}
		p.out.SetLineCapStyle(end)
		p.out.SetLineJoinStyle(corner)
	}
	p.stroke = s
}

// line draws a straight line.
func (p *pdf) line(x1, y1, x2, y2, width float64, c chart.Colour) {
	p.pen(stroke{width: width, colour: c})
	p.out.Line(x1, y1, x2, y2)
}

// bar fills a rectangle.
func (p *pdf) bar(x, y, width, height float64, c chart.Colour) {
	p.filled(c)
	p.out.Rect(x, y, width, height, "F")
}

// rows writes lines of text from a top downwards; align 0 puts them to the left
// of the width, 1 to the right.
func (p *pdf) rows(rows []row, x, top, width, align float64) {
	for _, r := range rows {
		at := x + align*(width-r.width)
		for _, piece := range r.runs {
			p.text(at+piece.x, top+baseline(r.size), piece.text, piece.style)
		}
		top += leading(r.size)
	}
}

// lines breaks a text into lines, as it can be printed.
func (p *pdf) lines(text string, s style, width float64) []row {
	return wrap([]run{p.run(text, s)}, width)
}

// run is a text as it can be printed.
func (p *pdf) run(text string, s style) run {
	text, all := settable(wording.Together(said(p.voice, text)))
	p.lacks = p.lacks || !all
	return run{text, s}
}
