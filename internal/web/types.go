package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
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
	Figure                   *typeFigure
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

// typeFile gives a type as a file.
func (s *Site) typeFile(w http.ResponseWriter, r *http.Request) error {
	t, err := s.aType(r, r.URL.Query().Get("name"))
	if err != nil {
		return err
	}
	data, err := t.kind.Encode()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Disposition", attachment(&job.Job{Number: t.kind.Name}, ".type.json"))
	w.Header().Set("Content-Length", itoa(len(data)))
	_, _ = w.Write(data) // a browser that went away is no matter
	return nil
}

// importType takes in a file of a type. Units that are there already aren't
// counted twice.
func (s *Site) importType(w http.ResponseWriter, r *http.Request) error {
	if _, err := formOf(r); err != nil {
		return err
	}
	file, head, err := r.FormFile("file")
	if err != nil {
		return s.showTypes(w, r, "No file was chosen. Choose a file of a sender type, then press Take in.")
	}
	defer file.Close()
	kind, err := kin.Read(io.LimitReader(file, formLimit), cutTo(baseName(head.Filename), 60))
	if err != nil {
		return s.showTypes(w, r, "Not taken in: "+err.Error())
	}
	err = s.changeType(r.Context(), kind.Name, func(old *kin.Type) (*kin.Type, error) {
		if old == nil {
			return kind, nil
		}
		merged, _, err := kin.Merge(old, kind)
		if err != nil {
			return nil, refused("Not taken in: " + err.Error() + ".")
		}
		return merged, nil
	})
	var f *fault
	if errors.As(err, &f) && f.status == http.StatusUnprocessableEntity {
		return s.showTypes(w, r, f.text)
	} else if err != nil {
		return err
	}
	return goTo(w, r, typePath(kind.Name))
}

// removeType forgets a type. Tanks that begin with it keep what they know of it.
func (s *Site) removeType(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if _, err := s.aType(r, name); err != nil {
		return err
	}
	if err := s.changeType(r.Context(), name, func(*kin.Type) (*kin.Type, error) { return nil, nil }); err != nil {
		return err
	}
	return goTo(w, r, "/types")
}

// removeUnit leaves one unit out of a type. The form says which it was.
func (s *Site) removeUnit(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if _, err := s.aType(r, name); err != nil {
		return err
	}
	err := s.changeType(r.Context(), name, func(old *kin.Type) (*kin.Type, error) {
		if old == nil {
			return nil, notFound("This sender type is gone.")
		}
		for i, u := range old.Units {
			if itoa(i) == field(r, "n") && u.Job == r.PostFormValue("job") && u.Tank == r.PostFormValue("unit-tank") && u.Serial == r.PostFormValue("serial") {
				own := copyOfType(old)
				own.Units = slices.Delete(own.Units, i, i+1)
				return own, nil
			}
		}
		return nil, &fault{http.StatusConflict, "The units of this type were changed on another page in the meantime. Look at them again.", nil}
	})
	if err != nil {
		return err
	}
	return goTo(w, r, typePath(name))
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
