package readings

import (
	"slices"
	"strings"
	"unicode"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// Names of the columns other than the mark's.
const (
	ohmColumn   = "ohm"
	shownColumn = "shown_pct"
	sweepColumn = "sweep"
	timeColumn  = "time"
	noteColumn  = "note"
)

// layout is what a kind of file holds besides the mark.
type layout struct {
	rows     string   // what a row is called in a message
	value    string   // the column that has to be there
	optional []string // those that may
	sample   string   // a row, for messages
}

var (
	benchLayout = layout{"a row for each reading", ohmColumn, []string{sweepColumn, timeColumn, noteColumn}, "50,95.2"}
	checkLayout = layout{"a row for each mark checked", shownColumn, []string{noteColumn}, "50,49.5"}
)

// example is a header row for messages.
func (l layout) example() string { return curve.Dial.Column() + "," + l.value }

// markColumns lists the names a mark column can have.
func markColumns() []string {
	var names []string
	for _, u := range curve.MarkUnits {
		names = append(names, u.Column())
	}
	return names
}

// columns lists every name the file can have.
func (l layout) columns() []string {
	return slices.Concat(markColumns(), []string{l.value}, l.optional)
}

// header is what the first row says.
type header struct {
	unit curve.MarkUnit
	// names holds the known name of each column; "" for one without a name,
	// which must stay empty.
	names []string
}

func (h header) has(name string) bool { return slices.Contains(h.names, name) }

// readHeader understands the header row, or says what is wrong with it.
func (l layout) readHeader(r *row) header {
	var h header
	var first string // the mark column found first
	seen := map[string]bool{}
	if l.looksLikeData(r.fields) {
		r.fail(0, "the first row starts with the number %s; expected a header row that names the columns, such as %s", clip(strings.TrimSpace(r.fields[0])), l.example())
		return h
	}
	for i, field := range r.fields {
		name := strings.ToLower(strings.TrimSpace(field))
		unit := slices.Index(markColumns(), name)
		switch {
		case name == "":
		case !slices.Contains(l.columns(), name):
			l.unknown(r, i, name)
		case seen[name]:
			r.fail(i, "column %s stands twice; delete one of the two", name)
		case unit >= 0 && first != "":
			r.fail(i, "column %s is a second mark column beside %s; keep the one that was read and delete the other", name, first)
		case unit >= 0:
			first = name
			h.unit = curve.MarkUnits[unit]
		}
		seen[name] = true
		h.names = append(h.names, name)
	}
	if len(r.mistakes.list) > 0 {
		return h
	}
	if first == "" {
		r.fail(0, "the header row has no mark column; add one of %s, such as %s", wording.Several(markColumns(), "or"), l.example())
	}
	if !seen[l.value] {
		r.fail(0, "the header row has no %s column; add it, such as %s", l.value, l.example())
	}
	return h
}

// looksLikeData tells a header row that was forgotten from one with a slip.
func (l layout) looksLikeData(fields []string) bool {
	for _, f := range fields {
		if slices.Contains(l.columns(), strings.ToLower(strings.TrimSpace(f))) {
			return false
		}
	}
	_, err := quantity.ParseNumber(fields[0], true)
	return err == nil
}

func (l layout) unknown(r *row, i int, name string) {
	marks := markColumns()
	bare := letters(name)
	near := l.nearest(name, bare)
	switch {
	case near != "":
		r.fail(i, "column %q is not known; rename it to %s if that is what it holds, or delete it", clip(name), near)
	case strings.HasPrefix(bare, "mark"):
		r.fail(i, "column %q is not known; a mark is given in one of %s; turn the figures into one of these", clip(name), wording.Several(marks, "or"))
	case l.value == ohmColumn && (strings.HasSuffix(bare, "ohm") || strings.HasSuffix(bare, "ω")):
		r.fail(i, "column %q is not known; turn the figures into ohms and name the column ohm", clip(name))
	default:
		r.fail(i, "column %q is not known; rename it or delete it; the columns are %s (or %s), %s", clip(name),
			marks[0], wording.Several(marks[1:], "or"), wording.Several(append([]string{l.value}, l.optional...), "and"))
	}
}

// meant lists what people call the columns, without signs and blanks.
var meant = map[string][]string{
	curve.Dial.Column():   {"mark", "mark%", "markpercent", "dial", "position", "percent", "pct", "%"},
	curve.Height.Column(): {"mm", "height", "heightmm", "millimetres", "millimeters"},
	curve.Volume.Column(): {"l", "litre", "litres", "liter", "liters", "volume", "poured"},
	curve.Mass.Column():   {"kg", "mass", "weight", "kilogram", "kilograms"},
	ohmColumn:             {"r", "ω", "resistance", "resistanceohm", "resistanceω"},
	shownColumn:           {"shown", "shown%", "showpct", "reading", "display", "displayed", "level", "readout"},
	sweepColumn:           {"direction", "dir"},
	timeColumn:            {"date", "datetime", "timestamp", "when"},
	noteColumn:            {"comment", "comments", "remark", "remarks"},
}

// letters takes blanks, brackets and the like out of a name.
func letters(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '%' {
			return r
		}
		return -1
	}, name)
}

// nearest gives the column a name was probably meant to be, or "". A mark in
// another unit, or kiloohms, is no slip of the hand: the figures would be wrong
// under the new name.
func (l layout) nearest(name, bare string) string {
	for _, known := range l.columns() {
		if slices.Contains(meant[known], bare) {
			return known
		}
	}
	if strings.HasPrefix(bare, "mark") || bare != "ohms" && strings.HasSuffix(bare, "ohm") {
		return ""
	}
	best, least := "", 2
	for _, known := range append([]string{l.value}, l.optional...) {
		if d := wording.Slips(clip(name), known); d < least {
			best, least = known, d
		}
	}
	return best
}
