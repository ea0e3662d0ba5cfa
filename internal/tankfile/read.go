package tankfile

import (
	_ "embed" // the schema
	"errors"
	"io"

	"gaugewright/internal/strict"
)

// Schema is the JSON Schema (2020-12) of a tank file: a description for people
// and other programs, and the very thing that Read checks a file with. The part
// #/$defs/tank is a tank within another file.
//
//go:embed tank-v1.schema.json
var Schema []byte

// MaxBytes is the largest tank file, 16 MiB. Meshes stand in files of their own.
const MaxBytes = 16 << 20

// FileError is one thing wrong with a tank file.
type FileError = strict.FileError

// form is what a tank file is to its reader.
var form = &strict.Form{
	File: "tank file", Content: "tank description",
	Schema: Schema, Version: Version,
	MaxBytes: MaxBytes, MaxDepth: 30, MaxEntries: maxRows, MaxFields: 100,
	TooLarge: "put a long strapping table into a CSV file",
	Units: []strict.Unit{
		{Ending: "mm", Words: "millimetres"}, {Ending: "l", Words: "litres"}, {Ending: "pct", Words: "percent"}, {Ending: "deg", Words: "degrees"},
	},
	Explain: Explain,
}

// Read reads a tank file of up to [MaxBytes]. The name is for messages.
//
// A file is refused for anything the [Schema] doesn't allow, and for sizes that
// can't make a tank: more than 200 parts, heads deeper than the overall length, a wall thicker than
// what is inside it, an outline that crosses itself, a table that doesn't rise,
// a sensor outside the tank, a sender that can't move. Files that it names are
// not opened; what is wrong with them is found by [File.Tank].
//
// Every error is a [*FileError], or [strict.FileErrors] where there are more
// than one.
func Read(r io.Reader, name string) (*File, error) {
	return strict.Read(form, r, name, (*File).Problems)
}

// ReadFile reads the tank file at path as Read does; "-" is standard input.
func ReadFile(path string) (*File, error) {
	return strict.ReadFile(form, path, (*File).Problems)
}

// Encode gives the tank as a file: UTF-8, LF, fields in the order of the type.
// A tank that Read would refuse is refused with what is wrong with it; its
// version is always written as [Version].
func (f *File) Encode() ([]byte, error) {
	whole := *f
	whole.Version = Version
	name := "tank"
	if f.Name != "" {
		name += " " + strict.Clip(f.Name)
	}
	return strict.Encode(form, name, &whole, (*File).Problems)
}

// Problems lists what is wrong with a tank that the schema allows, at places
// within it; the same for a tank that is a part of another file.
func (f *File) Problems() []strict.Problem {
	t, err := f.build(&builder{})
	var found *fault
	switch {
	case errors.As(err, &found):
		return []strict.Problem{{Path: found.path, Msg: found.msg}}
	case t == nil: // it hangs on other files
		return nil
	}
	return f.inTank(t)
}
