package record

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// View is one tank of a job, for pages that show a part of its record: each
// method makes one part, as it stands in the record itself. It doesn't change
// and may be used from several goroutines.
type View struct {
	b     tank
	words string
}

// ViewOf works out a tank. The id begins the ids of its parts, and is the
// tank's own within the page.
func ViewOf(t job.Tank, units quantity.Units, id string) View {
	words, accent := contents(t.Contents)
	v := View{build(t, id, accent), words}
	v.b.units = units
	return v
}

// Contents gives the words for what is in the tank, and its colour.
func (v View) Contents() (string, chart.Accent) { return v.words, v.b.accent }

// Fitted gives the curve of the bench readings, or why there is none.
func (v View) Fitted() (*curve.Curve, error) { return v.b.curve, v.b.curveErr }

// Facts is what the tank is and how it was read.
func (v View) Facts() Facts { return v.b.facts() }

// KeyIn is what to key in; false where nothing usable is keyed in.
func (v View) KeyIn() (KeyIn, bool) {
	if v.b.keyed == nil {
		return KeyIn{}, false
	}
	return v.b.keyIn(), true
}

// Meaning is what a display of this setting means in litres and days.
func (v View) Meaning() []Block { return v.b.meaning() }

// Shape is the section through the tank; false where its shape isn't known.
func (v View) Shape() (Figure, bool) { return v.b.shapeFigure() }

// Curve is the curve with its doubt and readings; false where there is none.
func (v View) Curve() (Figure, bool) {
	if v.b.curve == nil {
		return Figure{}, false
	}
	return v.b.curveFigure(), true
}

// Rulers is what should be shown above what will be; false without a curve and
// a setting.
func (v View) Rulers() (Figure, bool) {
	if v.b.trial.Rows == nil {
		return Figure{}, false
	}
	return v.b.rulers(nil), true
}

// Shown is the same as a table.
func (v View) Shown() (Table, bool) {
	if v.b.trial.Rows == nil {
		return Table{}, false
	}
	return v.b.shownTable(), true
}

// Column is the scale as a sight column; false where the scale was refused.
func (v View) Column() (Figure, bool) {
	if v.b.scaleErr != nil {
		return Figure{}, false
	}
	return v.b.column(), true
}

// Findings is what the sender was found to do, Claims what that says of the
// spans in its data sheet.
func (v View) Findings() Findings { return v.b.findings() }

// Claims is what the readings say of the spans in the data sheet.
func (v View) Claims() Findings { return v.b.claims() }

// Checks is the checks of the display, in their order.
func (v View) Checks() []Table {
	var out []Table
	for i, p := range v.b.proofs {
		out = append(out, v.b.checkTable(i, p))
	}
	return out
}

// Strip is the readings as they were taken.
func (v View) Strip() Strip { return v.b.strip() }

// LaterChecks is what was found at later visits, in the order of time, as it stands in
// the record: [Findings] and a [Table] for each check of the sender itself, a Table
// for each of the display. Each of the sender takes about as long as a curve.
func (v View) LaterChecks() []Block {
	v.b.judgeLater()
	return v.b.laterBlocks()
}
