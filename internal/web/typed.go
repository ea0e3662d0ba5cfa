package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
	"gaugewright/internal/wording"
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
	var list job.FileErrors
	var one *job.FileError
	switch {
	case errors.As(err, &list):
	case errors.As(err, &one):
		list = job.FileErrors{one}
	default:
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

// number reads a number of a field within limits; "" gives 0 and false. The unit
// may follow it.
func (f *typed) number(name, unit string, least, most float64) (float64, bool) {
	text := f.text(name)
	if text == "" {
		return 0, false
	}
	v, err := quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(text, unit)), true)
	if err != nil || !(v >= least && v <= most) {
		f.blame(name, "found %q; expected %s to %s%s", wording.Clip(text, 40), quantity.Short(least, 3), quantity.Short(most, 3), unitAfter(unit))
		return 0, false
	}
	return v, true
}

func unitAfter(unit string) string {
	if unit == "" || unit == "°" {
		return unit
	}
	return " " + unit
}

// length reads a length in mm; a plain number is in millimetres. Around it, as in
// "C 942 mm", may be measured in the place of across it where that is allowed.
func (f *typed) length(name string, around bool) (float64, bool) {
	text := f.text(name)
	if text == "" {
		return 0, false
	}
	plain, divide := text, 1.0
	if rest, ok := strings.CutPrefix(strings.ToLower(text), "c"); ok && around {
		plain, divide = strings.TrimSpace(rest), math.Pi
	}
	if v, err := quantity.ParseNumber(plain, true); err == nil {
		return quantity.Round(v/divide, 9), true
	}
	m, err := quantity.ParseMetre(plain)
	if err != nil {
		f.blame(name, "%v; millimetres may be written without it", err)
		return 0, false
	}
	return quantity.Round(float64(m)*1000/divide, 9), true
}

// litres reads a volume in L; a plain number is in the unit that the job is shown
// in. A field that stands as it was kept gives what was kept.
func (f *typed) litres(name string, u quantity.Units, kept float64) (float64, bool) {
	text := f.text(name)
	switch {
	case text == "":
		return 0, false
	case f.same(name) && kept > 0:
		return kept, true
	}
	if _, err := quantity.ParseNumber(text, true); err == nil {
		text += unitOfVolume(u)
	}
	v, err := quantity.ParseCubicMetre(text)
	if err != nil {
		f.blame(name, "%v", err)
		return 0, false
	}
	litres := quantity.Round(float64(v)*1000, 9)
	if !(litres > 0 && litres <= 1e6) {
		f.blame(name, "found %q; expected more than nothing, up to 1000000 L", wording.Clip(f.text(name), 40))
		return 0, false
	}
	return litres, true
}

func unitOfVolume(u quantity.Units) string {
	_, unit := u.VolumeIn(0)
	return unit
}

// volumeField writes litres for a field, in the shown unit.
func volumeField(litres float64, u quantity.Units) string {
	if litres == 0 {
		return ""
	}
	v, _ := u.VolumeIn(quantity.CubicMetre(litres / 1000))
	return quantity.Short(v, 4)
}

// celsius reads a temperature in °C; a plain number is in the shown unit.
func (f *typed) celsius(name string, u quantity.Units, kept *float64) *float64 {
	text := f.text(name)
	switch {
	case text == "":
		return nil
	case f.same(name) && kept != nil:
		return kept
	}
	if _, err := quantity.ParseNumber(text, true); err == nil {
		_, unit := u.TemperatureIn(0)
		text += strings.TrimPrefix(unit, "°")
	}
	k, err := quantity.ParseKelvin(text)
	if err != nil {
		f.blame(name, "%v", err)
		return nil
	}
	c := quantity.Round(k.Celsius(), 9)
	return &c
}

func celsiusField(c *float64, u quantity.Units) string {
	if c == nil {
		return ""
	}
	v, _ := u.TemperatureIn(quantity.Celsius(*c))
	return quantity.Short(v, 2)
}

// figureField writes a figure for a field; nothing for nothing.
func figureField(v float64) string {
	if v == 0 {
		return ""
	}
	return quantity.Short(v, 9)
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
