package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
	"gaugewright/internal/record"
)

// typesBody is the page of the workshop's sender types.
type typesBody struct {
	Types []typeLine
}

// typeLine is one type in the list.
type typeLine struct{ Name, Path, Words, Text string }

// typePath is the page of a type.
func typePath(name string) string { return "/types/type?" + url.Values{"name": {name}}.Encode() }

// typesPage lists the sender types.
func (s *Site) typesPage(w http.ResponseWriter, r *http.Request) error {
	return s.showTypes(w, r, "")
}

func (s *Site) showTypes(w http.ResponseWriter, r *http.Request, fault string) error {
	all, err := s.allTypes(r.Context())
	if err != nil {
		return err
	}
	var b typesBody
	for _, t := range all {
		b.Types = append(b.Types, typeLine{t.kind.Name, typePath(t.kind.Name), cutTo(t.kind.Words, 300), capital(unitsText(t)) + "."})
	}
	return s.show(w, r, view{Page: "types", Title: "Sender types", Fault: fault, Body: b})
}

// unitsText says how many units of how many batches a type has.
func unitsText(t typeFound) string {
	text := howMany(len(t.kind.Units), "unit", "units")
	batches := map[string]bool{}
	for _, u := range t.kind.Units {
		if u.Batch != "" {
			batches[u.Batch] = true
		}
	}
	if n := len(batches); n > 0 {
		text += " of " + howMany(n, "batch", "batches")
	}
	if t.err != nil {
		text += "; not enough for a curve yet"
	}
	return text
}

// typeBody is the page of one type.
type typeBody struct {
	Name, Words, Units, Path string
	Kind                     string // how marks are known and what it gives
	Why                      string // why there is no curve
	Figure                   *record.Figure
	Findings                 []record.Sentence
	List                     []typeUnit
}

// typeUnit is one unit of a type.
type typeUnit struct {
	N                                        int
	Name, Job, Tank, Batch, Serial, Date, Of string
	Odd                                      bool
}

// kindWords says how the marks of a type are known and what it gives.
func kindWords(t *kin.Type) string {
	marks, gives := t.Marks, t.Gives
	for _, k := range benchMarks {
		if k.Value == t.Marks {
			marks = k.Name
		}
	}
	for _, k := range benchSignals {
		if k.Value == t.Gives {
			gives = strings.ToLower(k.Name)
		}
	}
	return "Marks: " + marks + ". It gives " + gives + "."
}

// typePage shows one type: its curve with the spread of its units, and what it is
// good for.
func (s *Site) typePage(w http.ResponseWriter, r *http.Request) error {
	return s.showType(w, r, r.URL.Query().Get("name"), "")
}

func (s *Site) showType(w http.ResponseWriter, r *http.Request, name, fault string) error {
	t, err := s.aType(r, name)
	if err != nil {
		return err
	}
	b := typeBody{Name: t.kind.Name, Words: t.kind.Words, Units: capital(unitsText(t)) + ".", Path: typePath(name), Kind: kindWords(t.kind)}
	if t.err != nil {
		b.Why = capital(strings.TrimSuffix(t.err.Error(), ".")) + "."
	} else {
		b.Findings = sentences(t.Findings)
		if f, ok := figureOfType(t); ok {
			b.Figure = &f
		}
	}
	for i, u := range t.kind.Units {
		line := typeUnit{N: i, Name: capital(u.Name()), Job: u.Job, Tank: u.Tank, Batch: u.Batch, Serial: u.Serial, Date: dayOrNone(u.Date), Of: itoa(u.Readings)}
		line.Odd = slices.ContainsFunc(t.Odd, func(o kin.OddUnit) bool { return o.Index == i })
		b.List = append(b.List, line)
	}
	return s.show(w, r, view{Page: "type", Title: "Sender type " + cutTo(t.kind.Name, 60), Wide: true, Fault: fault, Body: b})
}

func dayOrNone(date string) string {
	if date == "" {
		return ""
	}
	return dayWords(date)
}

// aType gives a type, or says that there is none.
func (s *Site) aType(r *http.Request, name string) (typeFound, error) {
	t, ok, err := s.typeOf(r.Context(), name)
	if err == nil && !ok {
		err = notFound(fmt.Sprintf("There is no sender type %q here. Those that there are stand on the page Sender types.", cutTo(name, 60)))
	}
	return t, err
}

// unitsOf gives the unit of the marks of a type, and what it gives.
func unitsOf(t *kin.Type) (unit curve.MarkUnit, signal curve.Signal) {
	for _, u := range curve.MarkUnits {
		if u.Column() == t.Marks {
			unit = u
		}
	}
	for _, g := range curve.Signals {
		if g.Column() == t.Gives {
			signal = g
		}
	}
	return unit, signal
}
