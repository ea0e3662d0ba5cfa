package recording

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/wording"
)

// Names of the columns besides the value's.
const (
	timeColumn   = "time"
	pitchColumn  = "pitch_deg"
	rollColumn   = "roll_deg"
	sourceColumn = "source"
	tankColumn   = "tank"
)

// Columns that a value may stand in, the one first that is taken where a file has
// several and nobody says which: what is nearest to the sender.
var valueColumns = []string{"ohm", "volt", "milliamp", "of_supply_pct", "count", "level_pct"}

// meant lists what people call the columns, without signs and blanks.
var meant = map[string][]string{
	timeColumn:      {"timestamp", "datetime", "date", "when", "ts", "unixtime", "timeutc"},
	"ohm":           {"ohms", "r", "resistance", "resistanceohm", "ω", "sender", "value"},
	"volt":          {"v", "volts", "voltage"},
	"milliamp":      {"ma", "milliamps", "current", "currentma"},
	"count":         {"counts", "adc", "raw"},
	"level_pct":     {"level", "level%", "percent", "pct", "levelpercent"},
	"pitch_deg":     {"pitch", "pitchdegrees"},
	"roll_deg":      {"roll", "rolldegrees", "heel", "heeldeg"},
	sourceColumn:    {"sensor", "device", "from"},
	"of_supply_pct": {"ratio", "ofsupply", "ratiopct"},
}

// header is what the first row says: where each column stands, −1 where there
// is none.
type header struct {
	separator                        byte
	time, value, pitch, roll, source int
	tank                             int
	column                           string // of the value
	last                             int    // the last column that is looked at
	ignored                          []string
}

// readHeader understands the first row. Want is the column that the value is to
// stand in; "" takes the first of valueColumns that there is.
func readHeader(line []byte, separator byte, want string) (header, error) {
	h := header{separator: separator, time: -1, value: -1, pitch: -1, roll: -1, source: -1, tank: -1}
	var names []string
	for _, cell := range split(nil, line, separator) {
		names = append(names, strings.ToLower(strings.TrimSpace(string(cell))))
	}
	at := func(name string) int { return slices.Index(names, name) }
	if want != "" {
		h.value, h.column = at(want), want
	} else {
		for _, name := range valueColumns {
			if h.value = at(name); h.value >= 0 {
				h.column = name
				break
			}
		}
	}
	h.time, h.pitch, h.roll, h.source, h.tank = at(timeColumn), at(pitchColumn), at(rollColumn), at(sourceColumn), at(tankColumn)
	used := []int{h.time, h.value, h.pitch, h.roll, h.source, h.tank}
	h.last = slices.Max(used)
	for i, name := range names {
		switch {
		case slices.Contains(used, i) || name == "":
		case slices.Contains(used, at(name)):
			return h, fmt.Errorf("column %s stands twice; delete one of the two", name)
		default:
			h.ignored = append(h.ignored, wording.Clip(name, 40))
		}
	}
	switch {
	case h.time < 0 && h.value < 0 && looksLikeData(names):
		return h, fmt.Errorf("the first row has no names of columns; expected a header row such as time,ohm")
	case h.time < 0:
		return h, fmt.Errorf("the header row has no time column%s; expected one, with RFC 3339 or seconds since 1970, such as in time,ohm", near(names, timeColumn))
	case h.value < 0 && want != "":
		return h, fmt.Errorf("the header row has no %s column%s; expected one, since that is what this sender is read in", want, near(names, want))
	case h.value < 0:
		return h, fmt.Errorf("the header row has no column with what was read%s; expected %s, such as time,ohm", near(names, valueColumns...), wording.Several(valueColumns, "or"))
	}
	return h, nil
}

// near hints at a column that may hold what is missing.
func near(names []string, missing ...string) string {
	bare := strings.NewReplacer(" ", "", "_", "", "-", "", ".", "", "(", "", ")", "", "[", "", "]", "")
	for _, name := range names {
		for _, want := range missing {
			if slices.Contains(meant[want], bare.Replace(name)) || name != "" && wording.Slips(name, want) == 1 {
				return fmt.Sprintf(" (rename %q to %s if that is what it holds)", wording.Clip(name, 40), want)
			}
		}
	}
	return ""
}

func looksLikeData(names []string) bool {
	for _, name := range names {
		if _, ok := number([]byte(name)); ok {
			return true
		}
	}
	return false
}

// split takes a line apart, heeding quotes, and trims each field.
func split(into [][]byte, line []byte, separator byte) [][]byte {
	into = into[:0]
	for {
		field, rest, more := cut(line, separator)
		into = append(into, field)
		if !more {
			return into
		}
		line = rest
	}
}

// cut gives the first field of a line, without its quotes.
func cut(line []byte, separator byte) (field, rest []byte, more bool) {
	start := 0
	for start < len(line) && line[start] == ' ' {
		start++
	}
	if start < len(line) && line[start] == '"' {
		for i := start + 1; i < len(line); i++ {
			if line[i] != '"' {
				continue
			}
			if i+1 < len(line) && line[i+1] == '"' {
				i++
				continue
			}
			field = line[start+1 : i]
			if bytes.IndexByte(field, '"') >= 0 {
				field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
			}
			_, rest, more = bytes.Cut(line[i+1:], []byte{separator})
			return bytes.TrimSpace(field), rest, more
		}
	}
	if i := bytes.IndexByte(line, separator); i >= 0 {
		return trim(line[:i]), line[i+1:], true
	}
	return trim(line), nil, false
}

// trim is bytes.TrimSpace for what most often has none.
func trim(field []byte) []byte {
	if n := len(field); n > 0 && field[0] > ' ' && field[0] < 0x80 && field[n-1] > ' ' && field[n-1] < 0x80 {
		return field
	}
	return bytes.TrimSpace(field)
}

// openQuote says whether a quote that a line opens isn't closed in it.
func openQuote(line []byte) bool { return bytes.Count(line, []byte{'"'})%2 == 1 }
