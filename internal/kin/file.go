package kin

import (
	_ "embed" // the schema
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gaugewright/internal/keep"
	"gaugewright/internal/strict"
)

// Schema is the JSON Schema (2020-12) of a sender type file: a description for
// people and other programs, and the very thing that Read checks a file with.
//
//go:embed sender-type-v1.schema.json
var Schema []byte

// MaxBytes is the largest sender type file, 16 MiB.
const MaxBytes = 16 << 20

// FileError is one thing wrong with a sender type file.
type FileError = strict.FileError

// FileErrors is two to five things wrong with one file, in its order.
type FileErrors = strict.FileErrors

// form is what a sender type file is to its reader: five deep at the most, and
// none of its objects has a third of 50 fields.
var form = &strict.Form{
	File: "sender type file", Content: "sender type",
	Schema: Schema, Version: Version,
	MaxBytes: MaxBytes, MaxDepth: 12, MaxEntries: MostUnits, MaxFields: 50,
	TooLarge: "leave out some of the units",
}

// Read reads a sender type file of up to [MaxBytes]; the name is for messages. A
// file is refused for anything the [Schema] doesn't allow, and for what no schema
// can say: a unit that stands twice, knots that aren't in order, values that turn
// back, or that no such sender gives. Every error is a [*FileError], or
// [FileErrors] where there are more than one.
func Read(r io.Reader, name string) (*Type, error) {
	return strict.Read(form, r, name, (*Type).rules)
}

// ReadFile reads the sender type file at path as Read does; "-" is standard
// input.
func ReadFile(path string) (*Type, error) {
	return strict.ReadFile(form, path, (*Type).rules)
}

// Encode gives the type as a file: UTF-8, LF, the same bytes for the same type.
// A type that Read would refuse is refused with what is wrong with it; its
// version is always written as [Version].
func (t *Type) Encode() ([]byte, error) {
	whole := *t
	whole.Version = Version
	whole.Units = append([]Unit{}, t.Units...)
	return strict.Encode(form, strings.TrimSpace("sender type "+strict.Clip(t.Name)), &whole, (*Type).rules)
}

// WriteFile writes the type to a file, whole or not at all, as [keep.File] does.
// Every error is a [*FileError] or [FileErrors].
func (t *Type) WriteFile(path string) error {
	data, err := t.Encode()
	if err != nil {
		return err
	}
	switch err := keep.File(path, data); {
	case errors.Is(err, keep.ErrNotPlain):
		return &FileError{Name: path, Msg: "this is a directory or a device; expected the name of a sender type file"}
	case err != nil:
		return strict.SystemError(path, "not written", err)
	}
	return nil
}

// rules finds what no schema can say.
func (t *Type) rules() []strict.Problem {
	var problems []strict.Problem
	say := func(path []string, format string, args ...any) {
		problems = append(problems, strict.Problem{Path: path, Msg: fmt.Sprintf(format, args...)})
	}
	marks, _ := unitOf(t.Marks)
	gives, _ := signalOf(t.Gives)
	for i, u := range t.Units {
		at := []string{"units", strconv.Itoa(i)}
		if j := t.first(i); j >= 0 {
			say(at, "this unit is the one of units/%d already (%s); delete one of them", j, strict.Clip(u.Name()))
		}
		if u.Noise > 0 != (u.NoiseDF > 0) {
			say(append(at, "noise_df"), "found noise %g with %d degrees of freedom; expected both, or neither", u.Noise, u.NoiseDF)
		}
		for j, k := range u.Knots {
			place := append(append([]string(nil), at...), "knots", strconv.Itoa(j))
			switch {
			case k.Mark > marks.Limit():
				say(append(place, "mark"), "found %g, expected up to %g, as the marks are in %s", k.Mark, marks.Limit(), marks.Symbol())
			case k.Value > float64(gives.Limit()):
				say(append(place, "value"), "found %g, expected up to %g, as the sender gives %s", k.Value, float64(gives.Limit()), gives.Figures())
			case j > 0 && !(k.Mark > u.Knots[j-1].Mark):
				say(append(place, "mark"), "found %g, expected more than the %g before it; the marks of a unit rise", k.Mark, u.Knots[j-1].Mark)
			default:
				continue
			}
			break
		}
		if len(problems) == 0 {
			if _, err := u.draw(marks, gives); err != nil {
				say(append(at, "knots"), "%v", err)
			}
		}
		if len(problems) >= strict.MaxProblems {
			break
		}
	}
	return problems
}

// first gives an earlier entry of the same unit as entry i; -1 where there is
// none.
func (t *Type) first(i int) int {
	for j := range i {
		if t.Units[j].Same(t.Units[i]) {
			return j
		}
	}
	return -1
}
