package record

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/language"
	"gaugewright/internal/span"
)

// Cards is the pocket cards of a job: one for each tank, of the size of A6, to be
// cut out and glued inside a cupboard door.
type Cards struct {
	Title string
	Name  string // the title with the job's number
	List  []Card
	about *Document // what the record says of itself
}

// Card is one tank on a card: what to key in, what 100 % means, what is shown at
// which mark, and what to beware of.
type Card struct {
	ID      string // its own within the document
	Over    string // what is in it
	Heading string
	Accent  chart.Accent
	Aside   string // the job and its date

	Numbers  string     // two end values, or why there are none
	Entries  []string   // of a table: "62 → 24 %"
	Words    []Sentence // under them: what they are, what 100 % means, how it was proved
	Column   *Figure    // the scale as a sight column; nil where it isn't known
	Row      *Table     // marks, and what is shown at them: two rows of figures; nil without
	Cautions []string
	Code     *Code // nil: none
	Foot     string
}

// Most of what a card has the room for.
const (
	cardEntries = 30
	cardMarks   = 11
)

// Sizes of drawings on a card, in pixels.
const (
	cardColumnWide, cardColumnHigh = 230.0, 250.0
	cardCode                       = 40 * 96 / 25.4 // 40 mm
)

// NewCards makes the pocket cards of a job; checksum and made are as for [New].
func NewCards(j *job.Job, checksum string, made time.Time) (*Cards, error) {
	if j == nil {
		return nil, errors.New("no job to make cards of")
	}
	about := &Document{Checksum: orNot(checksum), Made: made, AsOf: made.IsZero(), Facts: []Fact{fact("Fitter", j.Fitter)}, Foot: foot(j), own: j.OwnWords()}
	if about.AsOf {
		about.Made = AsOf(j)
	}
	c := &Cards{Title: "Cards for the tanks", about: about}
	c.Name = c.Title
	if number := clean(j.Number); number != "" {
		c.Name += ", job " + number
	}
	about.Name = c.Name
	c.List = sideBySide(len(j.Tanks), func(i int) Card { return cardOf(j, i, about.Checksum) })
	for _, card := range c.List {
		about.Sections = append(about.Sections, Section{Heading: card.Heading})
	}
	return c, nil
}

// In gives the cards in another language, as [Document.In] does a record.
func (c *Cards) In(b *language.Book) *Cards {
	said := *c
	said.about = c.about.In(b)
	return &said
}

// cardOf is the card of one tank.
// Unsaid tells of every text that the catalogue of the cards' language lacks, while
// they are written.
func (c *Cards) Unsaid(tell func(text string)) { c.about.Unsaid(tell) }

func cardOf(j *job.Job, index int, checksum string) Card {
	t := j.Tanks[index]
	words, accent := contents(t.Contents)
	b := build(t, fmt.Sprintf("card-%d", index+1), accent)
	b.units = j.Shown()
	c := Card{
		ID: b.id, Over: capital(words), Heading: orElse(clean(t.Name), "Tank without a name"), Accent: accent,
		Aside:    "Job " + orNot(j.Number),
		Cautions: cleaned(b.Cautions()),
		Foot:     clean(j.Vehicle),
	}
	if len(checksum) == 64 { // enough of it to find the file by
		c.Foot = strings.TrimPrefix(c.Foot+" · job file SHA-256 "+checksum[:12]+"…", " · ")
	}
	if date := day(j.Date); date != "" {
		c.Aside += ", " + date
	}
	b.cardKeyIn(&c)
	if b.scaleErr == nil {
		figure := b.columnOf(cardColumnWide, cardColumnHigh)
		c.Column = &figure
	}
	if b.trial.Rows != nil {
		c.Row = b.cardRow()
	}
	if code, ok := codeOf(j, index, b.id, cardCode); ok {
		c.Code = &code
	}
	return c
}

// cardKeyIn is what to key in, and what it means, in few words.
func (b tank) cardKeyIn(c *Card) {
	if b.keyed == nil {
		c.Numbers = "Nothing yet"
		c.Words = []Sentence{plain("Nothing is keyed in yet, or nothing that may be: see the record.")}
		return
	}
	switch s := b.keyed.(type) {
	case span.Ends:
		c.Numbers = s.String()
		c.Words = append(c.Words, plain(capital(b.Signal().Figures())+": the first for 0 %, the second for 100 %."))
	case span.EndsThenTable:
		c.Numbers = s.Ends.String()
		c.Words = append(c.Words, plain(capital(b.Signal().Figures())+": the first for 0 %, the second for 100 %; then the table."))
		in, out := s.Texts()
		if len(in) > cardEntries/2 {
			c.Words = append(c.Words, plain(fmt.Sprintf("Its %d entries stand in the record.", len(in))))
			break
		}
		for i := range in {
			c.Entries = append(c.Entries, in[i]+" → "+out[i]+" %")
		}
	case span.Table:
		values, percents := s.TextsOf(b.Signal())
		if len(s) > cardEntries {
			c.Numbers = "A table"
			c.Words = append(c.Words, plain(fmt.Sprintf("Its %d entries stand in the record.", len(s))))
			break
		}
		for i := range s {
			c.Entries = append(c.Entries, values[i]+" "+b.Signal().Unit()+" → "+percents[i]+" %")
		}
	}
	c.Words = append(c.Words, plain(clean(b.scale.Sentence())))
	if low := b.atFull(); low.Text != "" {
		c.Words = append(c.Words, low)
	}
	c.Words = append(c.Words, Sentence{Weight: finding.Note.String(), Word: "Check", Text: b.glance().Proof})
}

// cardRow is what is shown at some of the marks, evenly taken, the lowest and the
// highest among them; none above the permitted fill.
func (b tank) cardRow() *Table {
	var rows []shown
	for _, r := range b.shown() {
		if !r.beyond {
			rows = append(rows, r)
		}
	}
	if len(rows) < 2 {
		return nil
	}
	n := min(len(rows), cardMarks)
	marks, displays := []string{markHead(b.unit)}, []string{"Display, %"}
	for k := range n {
		r := rows[k*(len(rows)-1)/(n-1)]
		marks, displays = append(marks, b.unit.Figure(r.mark)), append(displays, points(r.shown))
	}
	return &Table{ID: b.id + "-row", Heading: "What will be shown", Rows: []Row{{Cells: marks}, {Cells: displays, Strong: true}}}
}
