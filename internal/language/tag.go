package language

import (
	"strconv"
	"strings"

	"golang.org/x/net/html"
)

// spoken are the attributes that people read or hear.
var spoken = setOf("title aria-label aria-description aria-roledescription aria-valuetext placeholder alt label data-said data-figures")

func itoa(n int) string { return strconv.Itoa(n) }

// attribute is where an attribute's value stands in a tag.
type attribute struct {
	name       string
	begin, end int // of the value, without its quotes
	quoted     bool
}

// attributes finds the attributes of a tag as it is written.
func attributes(raw string) []attribute {
	var out []attribute
	i := 1
	for i < len(raw) && raw[i] != ' ' && raw[i] != '\n' && raw[i] != '\t' && raw[i] != '>' {
		i++
	}
	for i < len(raw) {
		for i < len(raw) && (raw[i] == ' ' || raw[i] == '\n' || raw[i] == '\t' || raw[i] == '\r' || raw[i] == '/') {
			i++
		}
		if i >= len(raw) || raw[i] == '>' {
			break
		}
		from := i
		for i < len(raw) && raw[i] != '=' && raw[i] != ' ' && raw[i] != '\n' && raw[i] != '>' && raw[i] != '\t' && raw[i] != '/' {
			i++
		}
		if i == from { // a stray sign
			i++
			continue
		}
		a := attribute{name: strings.ToLower(raw[from:i])}
		if i < len(raw) && raw[i] == '=' {
			i++
			if i < len(raw) && (raw[i] == '"' || raw[i] == '\'') {
				q := raw[i]
				i++
				a.begin, a.quoted = i, q == '"'
				for i < len(raw) && raw[i] != q {
					i++
				}
				a.end = i
				i++
			} else {
				a.begin = i
				for i < len(raw) && raw[i] != ' ' && raw[i] != '>' && raw[i] != '\n' {
					i++
				}
				a.end = i
			}
		}
		out = append(out, a)
	}
	return out
}

// tag says the attributes of a tag. It also says whether the element asks to be
// left alone.
func (v *Voice) tag(raw, name string) (string, bool) {
	if !strings.Contains(raw, "=") {
		return raw, false
	}
	no := false
	button := false
	list := attributes(raw)
	for _, a := range list {
		value := raw[a.begin:a.end]
		switch a.name {
		case "translate":
			no = strings.EqualFold(value, "no")
		case "type":
			button = name == "input" && (value == "submit" || value == "button" || value == "reset")
		}
	}
	if no {
		return raw, true
	}
	var out strings.Builder
	from := 0
	for _, a := range list {
		if !a.quoted || a.begin == a.end {
			continue
		}
		value := raw[a.begin:a.end]
		said := ""
		switch {
		case name == "html" && (a.name == "lang" || a.name == "xml:lang"):
			said = v.b.Code()
		case spoken[a.name], a.name == "value" && button:
			text := html.UnescapeString(value)
			s, ok := v.Say(text)
			if !ok && v.Missed != nil {
				v.Missed(strings.TrimSpace(squeeze(text)))
			}
			if s == text {
				continue
			}
			said = html.EscapeString(s)
		default:
			continue
		}
		out.WriteString(raw[from:a.begin])
		out.WriteString(said)
		from = a.end
	}
	if from == 0 {
		return raw, false
	}
	out.WriteString(raw[from:])
	return out.String(), false
}
