package record

import (
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/language"
)

// Document is a record, ready to be written.
type Document struct {
	Title      string
	Name       string     // the title with the job's number, for a list of files
	Facts      []Fact     // who, what, when
	Note       string     // the fitter's own words; may be empty
	Findings   []Sentence // what is to be known of the job file as a whole, before all else
	Sections   []Section
	States     Table    // what it states and what doesn't apply
	Terms      []string // what the record is and what it isn't
	Signatures []Signature
	Checksum   string    // of the job file
	Made       time.Time // zero: not known
	AsOf       bool      // Made is the last time that the job tells, not when the record was made
	Foot       string    // short, for the foot of every printed page

	own   []string        // what a person wrote in the job
	voice *language.Voice // nil: English
}

// Section is one part under a heading of its own: one tank.
type Section struct {
	ID      string // its own within the document: "tank-1"
	Over    string // a line over the heading: "Tank 1 of 3: LPG"
	Heading string
	Accent  chart.Accent
	Glance  Glance
	Blocks  []Block
}

// Glance is a tank in one line, for the list at the start.
type Glance struct{ KeyIn, Proof string }

// Block is one of [Facts], [Cautions], [Todo], [KeyIn], [Figure], [Table],
// [Findings], [Strip] and [Code].
type Block interface {
	// Kind names the type: "facts", "cautions", "todo", "key-in", "figure",
	// "table", "findings", "strip" or "code".
	Kind() string
}

// Fact is a name and a value. A fact that wasn't given is Missing, and its
// value says so.
type Fact struct {
	Name, Value string
	Missing     bool
}

// Facts is a list of facts under a heading, which may be empty.
type Facts struct {
	Heading string
	List    []Fact
}

// Cautions is what has to be heeded.
type Cautions struct{ List []string }

// Todo is what is still to be done.
type Todo struct{ List []string }

// KeyIn is what to key into the readout, the largest thing in the record.
// Numbers is set for a readout that takes two end values, Table for one that
// takes a table.
type KeyIn struct {
	Numbers   string // "0 and 81"
	Under     string // what they are
	Table     *Table
	Sentences []Sentence // the scale first, then margin and errors
	By        string     // who, when; may be empty
	Column    *Figure    // the scale as a sight column
}

// Sentence is one thing said, with its weight in a word; the word is empty for
// what needs none.
type Sentence struct {
	Weight string // "note", "doubt" or "bad"
	Word   string // "Note", "Look at this", "Not fit"
	Text   string
}

// Figure is a drawing, in a wide form and one for narrow screens; Narrow is
// nil where the same serves both.
type Figure struct {
	ID      string // its own within the document
	Heading string
	Wide    chart.Drawing
	Narrow  *chart.Drawing
	Caption string
}

// Table is figures in rows. The first column names the row.
type Table struct {
	ID      string // its own within the document
	Of      string // the ID of the section it belongs to, where several tables have one heading
	Major   bool   // a part of the record by itself, under a heading as high as that of a tank
	Heading string
	Columns []Column
	Rows    []Row
	Notes   []string
	// Parts are what part of the width each column takes on paper, nil: words a
	// little more than figures. Scrolls says that a narrow screen hasn't the room
	// for it, and moves it sideways.
	Parts   []float64
	Scrolls bool
}

// Column is the head of a column.
type Column struct {
	Name    string
	Numeric bool
}

// Row is one row of a table; Strong stands out.
type Row struct {
	Cells  []string
	Strong bool
}

// Findings is sentences under a heading.
type Findings struct {
	Heading string
	List    []Sentence
}

// Strip is the readings as they were taken.
type Strip struct {
	Heading string
	Notes   []string
	Entries []Entry
}

// Entry is one reading as it was taken.
type Entry struct {
	Mark, Sweep, Ohm string // Sweep: "▲ up", "▽ down" or ""
	// Out says in a word why it doesn't count: "set aside" as a suspected mistake,
	// "struck out" by the fitter. It is drawn through; "" for one that counts.
	Out  string
	Note string
}

// Code is a tank's settings and curve as a drawing that a telephone reads.
type Code struct {
	ID       string // its own within the document
	Heading  string
	Drawing  chart.Drawing // with the white that it needs around it
	Text     string        // what is in it
	Captions []string
}

// Signature is a line to sign on.
type Signature struct{ Under, Name string }

// Kind gives "facts".
func (Facts) Kind() string { return "facts" }

// Kind gives "cautions".
func (Cautions) Kind() string { return "cautions" }

// Kind gives "todo".
func (Todo) Kind() string { return "todo" }

// Kind gives "key-in".
func (KeyIn) Kind() string { return "key-in" }

// Kind gives "figure".
func (Figure) Kind() string { return "figure" }

// Kind gives "table".
func (Table) Kind() string { return "table" }

// Kind gives "findings".
func (Findings) Kind() string { return "findings" }

// Kind gives "code".
func (Code) Kind() string { return "code" }

// Kind gives "strip".
func (Strip) Kind() string { return "strip" }
