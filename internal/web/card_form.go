package web

import (
	"strings"
)

// cardInput is one field of a form, as a page shows it.
type cardInput struct {
	Name, Label, Value string
	Hint               string // one sentence of help
	Fault              string // what is wrong with what was typed
	Kind               string // of the browser's field: "" is text; "lines" is several lines of it
}

// cardPick is a choice of a few whole words.
type cardPick struct {
	Name, Label, Hint, Fault string
	List                     []cardOption
}

type cardOption struct {
	Value, Words string
	Chosen       bool
	Suggest      string // what another field would then be left at
}

// fieldFaults is what the rules of a job say of fields: the JSON Pointer of the
// place, and the message.
type fieldFaults []fieldFault

type fieldFault struct{ path, text string }

// faultsOf gives what is wrong with fields of a job; nil for an error of any
// other kind, and for none.
func faultsOf(err error) fieldFaults {
	var out fieldFaults
	for _, e := range problems(err) {
		out = append(out, fieldFault{e.Path, e.Msg})
	}
	return out
}

// at gives what is said of a field, wherever in the job it stands.
func (f fieldFaults) at(name string) string {
	var texts []string
	for _, one := range f {
		for _, part := range strings.Split(one.path, "/") {
			if part == name {
				texts = append(texts, one.text)
				break
			}
		}
	}
	return asSentence(strings.Join(texts, "; "))
}

// all gives every message.
func (f fieldFaults) all() string {
	texts := make([]string, len(f))
	for i, one := range f {
		texts[i] = one.text
	}
	return strings.Join(texts, "; ")
}

// beside gives a sentence for the head of a page whose fields carry the faults:
// those that belong to none of the fields are told in full.
func (f fieldFaults) beside(names ...string) string {
	var left fieldFaults
	for _, one := range f {
		found := false
		for _, name := range names {
			found = found || fieldFaults{one}.at(name) != ""
		}
		if !found {
			left = append(left, one)
		}
	}
	switch {
	case len(left) == 0 && len(f) > 1:
		return "Not kept yet: see the marked fields."
	case len(left) == 0:
		return "Not kept yet: see the marked field."
	}
	return "Not kept yet. " + asSentence(left.all())
}
