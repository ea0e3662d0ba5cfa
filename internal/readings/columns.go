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
	values   []string // one of these columns has to be there, most often the first
	optional []string // those that may
	sample   string   // a row, for messages
}

var (
	benchLayout = layout{"a row for each reading", signalColumns(), []string{sweepColumn, timeColumn, noteColumn}, "50,95.2"}
	checkLayout = layout{"a row for each mark checked", []string{shownColumn}, []string{noteColumn}, "50,49.5"}
)

// example is a header row for messages.
func (l layout) example() string { return curve.Dial.Column() + "," + l.values[0] }

// signalColumns lists the names that the column of what the sender gave can
// have, ohm first.
func signalColumns() []string {
	var names []string
	for _, s := range curve.Signals {
		names = append(names, s.Column())
	}
	return names
}

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
	return slices.Concat(markColumns(), l.values, l.optional)
}

// header is what the first row says.
type header struct {
	unit   curve.MarkUnit
	signal curve.Signal // ohms where the file is no bench's
	// names holds the known name of each column; "" for one without a name,
	// which must stay empty.
	names []string
}

func (h header) has(name string) bool { return slices.Contains(h.names, name) }

// readHeader understands the header row, or says what is wrong with it.
func (l layout) readHeader(r *row) header {
	var h header
	var first, value string // the mark column found first, and that of the values
	seen := map[string]bool{}
	if l.looksLikeData(r.fields) {
		r.fail(0, "the first row starts with the number %s; expected a header row that names the columns, such as %s", clip(strings.TrimSpace(r.fields[0])), l.example())
		return h
	}
	for i, field := range r.fields {
		name := strings.ToLower(strings.TrimSpace(field))
		unit, signal := slices.Index(markColumns(), name), slices.Index(l.values, name)
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
		case signal >= 0 && value != "":
			r.fail(i, "column %s stands beside %s, and a bench is read in one of the two; keep the one that was read and delete the other", name, value)
		case signal >= 0:
			value = name
			if len(l.values) > 1 {
				h.signal = curve.Signals[signal]
			}
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
	switch {
	case value != "":
	case len(l.values) > 1:
		r.fail(0, "the header row has no %s column; add it, such as %s (or %s, where that is what the sender gives)", l.values[0], l.example(), wording.Several(l.values[1:], "or"))
	default:
		r.fail(0, "the header row has no %s column; add it, such as %s", l.values[0], l.example())
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
	case l.values[0] == ohmColumn && otherVolts(bare):
		r.fail(i, "column %q is not known; turn the figures into volts and name the column volt", clip(name))
	case strings.HasPrefix(bare, "mark"):
		r.fail(i, "column %q is not known; a mark is given in one of %s; turn the figures into one of these", clip(name), wording.Several(marks, "or"))
	case l.values[0] == ohmColumn && (strings.HasSuffix(bare, "ohm") || strings.HasSuffix(bare, "ω")):
		r.fail(i, "column %q is not known; turn the figures into ohms and name the column ohm", clip(name))
	default:
		value := l.values[0]
		if others := l.values[1:]; len(others) > 0 {
			value += " (or " + wording.Several(others, "or") + ")"
		}
		r.fail(i, "column %q is not known; rename it or delete it; the columns are %s (or %s), %s", clip(name),
			marks[0], wording.Several(marks[1:], "or"), wording.Several(append([]string{value}, l.optional...), "and"))
	}
}

// meant lists what people call the columns, without signs and blanks.
var meant = map[string][]string{
	curve.Dial.Column():      {"mark", "mark%", "markpercent", "dial", "position", "percent", "pct", "%"},
	curve.Height.Column():    {"mm", "height", "heightmm", "millimetres", "millimeters"},
	curve.Volume.Column():    {"l", "litre", "litres", "liter", "liters", "volume", "poured"},
	curve.Mass.Column():      {"kg", "mass", "weight", "kilogram", "kilograms"},
	ohmColumn:                {"r", "ω", "resistance", "resistanceohm", "resistanceω"},
	curve.Volts.Column():     {"v", "volts", "voltage", "voltagev"},
	curve.Milliamps.Column(): {"ma", "milliamps", "milliampere", "milliamperes", "current", "currentma"},
	curve.Ratio.Column():     {"ratio", "ratiopct", "ratio%", "ofsupply", "ofsupply%", "%ofsupply"},
	shownColumn:              {"shown", "shown%", "showpct", "reading", "display", "displayed", "level", "readout"},
	sweepColumn:              {"direction", "dir"},
	timeColumn:               {"date", "datetime", "timestamp", "when"},
	noteColumn:               {"comment", "comments", "remark", "remarks"},
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

// otherVolts says whether a name means volts in another unit than the volt.
func otherVolts(bare string) bool {
	volt := strings.TrimSuffix(bare, "s")
	return volt != "volt" && strings.HasSuffix(volt, "volt") || bare == "mv" || bare == "kv"
}

// nearest gives the column a name was probably meant to be, or "". A mark in
// another unit, or kiloohms or millivolts, is no slip of the hand: the figures would be wrong
// under the new name.
func (l layout) nearest(name, bare string) string {
	for _, known := range l.columns() {
		if slices.Contains(meant[known], bare) {
			return known
		}
	}
	if strings.HasPrefix(bare, "mark") || otherVolts(bare) || bare != "ohms" && strings.HasSuffix(bare, "ohm") {
		return ""
	}
	best, least := "", 2
	for _, known := range slices.Concat(l.values, l.optional) {
		if d := wording.Slips(clip(name), known); d < least {
			best, least = known, d
		}
	}
	return best
}
