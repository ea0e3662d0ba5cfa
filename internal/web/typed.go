package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"gaugewright/internal/strict"
)

// typed is a form as it was typed, beside what was kept, with what is wrong by
// field. Only the first thing wrong with a field is told.
type typed struct {
	now, kept url.Values
	faults    map[string]string
	order     []string // of the fields, as they were found
	labels    map[string]string
	general   []string // wrong, and of no field
}

// formField is one field as a page shows it.
type formField struct {
	Name, ID, Label, Hint, Value, Bad, Mode string
	Options                                 []option
	Lines                                   int // of a text area
}

func newTyped(now, kept url.Values) *typed {
	return &typed{now: now, kept: kept, faults: map[string]string{}, labels: map[string]string{}}
}

// text gives a field without white space around it.
func (f *typed) text(name string) string { return strings.TrimSpace(f.now.Get(name)) }

// same says whether a field stands as it was kept.
func (f *typed) same(name string) bool { return f.text(name) == strings.TrimSpace(f.kept.Get(name)) }

// blame notes what is wrong with a field.
func (f *typed) blame(name, format string, args ...any) {
	if _, there := f.faults[name]; !there {
		f.faults[name] = capital(strings.TrimSuffix(fmt.Sprintf(format, args...), ".")) + "."
		f.order = append(f.order, name)
	}
}

// blameAll notes what is wrong with the form as a whole.
func (f *typed) blameAll(text string) {
	f.general = append(f.general, capital(strings.TrimSuffix(text, "."))+".")
}

func (f *typed) wrong() bool { return len(f.order)+len(f.general) > 0 }

// fault is what is wrong in one text for the head of the page.
func (f *typed) fault() string {
	var out []string
	for _, name := range f.order {
		label := f.labels[name]
		if label == "" {
			label = name
		}
		out = append(out, label+": "+f.faults[name])
	}
	return "Not kept. " + strings.Join(append(out, f.general...), " ")
}

// idOf makes the id of a field of its name.
func idOf(name string) string { return strings.NewReplacer(".", "-", "_", "-").Replace(name) }

// field gives a field for the page, and notes what it is called.
func (f *typed) field(name, label, hint, mode string) formField {
	f.labels[name] = label
	return formField{Name: name, ID: idOf(name), Label: label, Hint: hint, Value: f.now.Get(name), Bad: f.faults[name], Mode: mode}
}

// pick gives a field in which one of several is chosen.
func (f *typed) pick(name, label, hint string, list []option) formField {
	out := f.field(name, label, hint, "")
	out.Options = chosen(list, f.now.Get(name))
	return out
}

// errTyped says that a form can't be used; what is wrong with it stands in it.
var errTyped = errors.New("the form can't be used")

// digest names a state of a form's fields, so that a change made elsewhere in the
// meantime is seen.
func digest(v url.Values) string {
	sum := sha256.Sum256([]byte(v.Encode()))
	return hex.EncodeToString(sum[:8])
}

// blameFile puts what a job was refused for to the fields that it names, as far
// as that can be told; false where an error is of another kind. Place turns a
// path below the tank into the name of a field, "" where it has none.
func (f *typed) blameFile(err error, place func(path []string) string) bool {
	list := problems(err)
	if list == nil {
		return false
	}
	for _, e := range list {
		f.blameProblem(e, place)
	}
	return true
}

func (f *typed) blameProblem(e *strict.FileError, place func(path []string) string) {
	path := strings.Split(strings.TrimPrefix(e.Path, "/"), "/")
	if len(path) >= 2 && path[0] == "tanks" {
		path = path[2:]
	}
	if name := place(path); name != "" {
		f.blame(name, "%s", e.Msg)
		return
	}
	text := e.Msg
	if where := strings.Join(path, ", "); where != "" {
		text = strings.ReplaceAll(where, "_", " ") + ": " + text
	}
	f.blameAll(text)
}

// rows gives the values of a field that stands in the form several times.
func (f *typed) rows(name string) []string { return f.now[name] }

// formOf gives a form that was sent; it is refused where it is larger than one of
// these can be.
func formOf(r *http.Request) (url.Values, error) {
	err := r.ParseMultipartForm(formLimit)
	if errors.Is(err, http.ErrNotMultipart) {
		err = nil
	}
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return nil, &fault{http.StatusRequestEntityTooLarge, fmt.Sprintf("What was sent is larger than %d MiB, more than this form can hold. Nothing was changed.", large.Limit>>20), err}
	case err != nil:
		return nil, &fault{http.StatusBadRequest, "What was sent can't be read. Nothing was changed.", err}
	}
	return r.PostForm, nil
}

// rowOf gives the number of a row from a button such as "remove.2".
func rowOf(do, verb string) (int, bool) {
	text, ok := strings.CutPrefix(do, verb+".")
	n, err := strconv.Atoi(text)
	return n, ok && err == nil && n >= 0
}
