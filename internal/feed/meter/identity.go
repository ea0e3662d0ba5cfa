package meter

import (
	"strconv"
	"strings"
)

// Identity is who a meter says it is: its reply to *IDN? (IEEE 488.2). A field
// is empty where the meter doesn't know it, and all are for a device that only
// sends lines.
type Identity struct {
	Maker, Model, Serial, Version string
}

// String gives what is known, in one line.
func (i Identity) String() string {
	var known []string
	for _, f := range []struct{ before, text string }{{"", i.Maker}, {"", i.Model}, {"serial ", i.Serial}, {"version ", i.Version}} {
		if f.text != "" {
			known = append(known, f.before+f.text)
		}
	}
	return strings.Join(known, ", ")
}

// identityOf reads a reply to *IDN?: four fields between commas, of which a 0
// is one that the meter doesn't know; further commas belong to the version. ok
// is false for anything else, a row of values among it.
func identityOf(line string) (id Identity, ok bool) {
	fields := strings.SplitN(strings.TrimSpace(line), ",", 4)
	if len(fields) < 4 || strings.HasPrefix(fields[0], "\"") || strings.HasSuffix(fields[len(fields)-1], "\"") {
		return Identity{}, false
	}
	for i, f := range fields {
		if f = strings.TrimSpace(f); f == "0" {
			f = ""
		}
		fields[i] = strings.ToValidUTF8(f, "?")
	}
	if _, rest, _, number := scan(fields[0], false); number && unitKnown(rest) {
		return Identity{}, false
	}
	return Identity{fields[0], fields[1], fields[2], fields[3]}, true
}

// faultOf reads a reply to SYST:ERR?: a number, a comma and a text in quotes
// (which some meters leave out).
// Code 0 is the end of the queue.
func faultOf(line string) (code int, text string, ok bool) {
	number, text, found := strings.Cut(strings.TrimSpace(line), ",")
	code, err := strconv.Atoi(strings.TrimSpace(number))
	if text = strings.TrimSpace(text); !found || err != nil || text == "" {
		return 0, "", false
	}
	if quoted := len(text) >= 2 && text[0] == '"' && text[len(text)-1] == '"'; quoted {
		text = text[1 : len(text)-1]
	} else if c := text[0] | 0x20; c < 'a' || c > 'z' { // 118,4 is no fault
		return 0, "", false
	}
	return code, strings.ToValidUTF8(text, "?"), true
}
