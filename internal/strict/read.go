package strict

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/internal/wording"
)

// Names for standard input: what a person types, and what a message says.
const (
	stdin     = "-"
	stdinName = "standard input"
)

// Read reads a file of a form into a T, whose JSON fields are those of the
// form's schema. The name is for messages. What no schema can say is left to
// rules, which is called with what the schema allows; it may be nil.
//
// Every error is a [*FileError], or [FileErrors] where there are more than one.
func Read[T any](f *Form, r io.Reader, name string, rules func(*T) []Problem) (*T, error) {
	value, _, err := ReadText(f, r, name, rules)
	return value, err
}

// ReadText is Read and gives the text that was read as well.
func ReadText[T any](f *Form, r io.Reader, name string, rules func(*T) []Problem) (*T, []byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, int64(f.MaxBytes)+1))
	if err != nil {
		return nil, nil, &FileError{Name: name, Msg: fmt.Sprintf("not readable: %v", err), Cause: err}
	}
	text, err := f.plain(name, raw)
	if err != nil {
		return nil, nil, err
	}
	if err := f.wellFormed(name, text); err != nil {
		return nil, nil, err
	}
	value, problems, err := judge(f, text, rules)
	if err != nil {
		return nil, nil, &FileError{Name: name, Msg: err.Error(), Cause: err}
	}
	if len(problems) > 0 {
		return nil, nil, f.Report(name, text, problems)
	}
	return value, text, nil
}

// ReadFile reads the file at path as Read does; "-" is standard input.
func ReadFile[T any](f *Form, path string, rules func(*T) []Problem) (*T, error) {
	value, _, err := ReadFileText(f, path, rules)
	return value, err
}

// ReadFileText is ReadFile and gives the text that was read as well.
func ReadFileText[T any](f *Form, path string, rules func(*T) []Problem) (*T, []byte, error) {
	if path == stdin {
		return ReadText(f, os.Stdin, stdinName, rules)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, nil, SystemError(path, "not readable", err)
	}
	defer file.Close()
	if info, err := file.Stat(); err == nil && info.IsDir() {
		return nil, nil, &FileError{Name: path, Msg: fmt.Sprintf("this is a directory; expected a %s", f.File)}
	}
	return ReadText(f, file, path, rules)
}

// SystemError says what went wrong with a file, without naming it twice.
func SystemError(path, what string, err error) *FileError {
	cause := err
	var p *os.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		cause = p.Err
	case errors.As(err, &l):
		cause = l.Err
	}
	return &FileError{Name: path, Msg: fmt.Sprintf("%s: %v", what, cause), Cause: err}
}

// judge takes a text of valid JSON for a T, or says what is wrong with it. The
// error is for what is wrong with this program.
func judge[T any](f *Form, text []byte, rules func(*T) []Problem) (*T, []Problem, error) {
	tree, problems := f.walk(text, nil)
	if len(problems) > 0 {
		return nil, problems, nil
	}
	if p, newer := f.newerVersion(tree); newer {
		return nil, []Problem{p}, nil
	}
	if problems, err := f.fits(tree); err != nil || len(problems) > 0 {
		return nil, problems, err
	}
	// From the values and not from the text, because to the schema 1.0 is the
	// integer 1 and to the decoder it isn't.
	values, err := marshal(tree)
	if err != nil {
		return nil, nil, err
	}
	value := new(T)
	if err := json.Unmarshal(values, value); err != nil {
		return nil, nil, err
	}
	if rules == nil {
		return value, nil, nil
	}
	return value, rules(value), nil
}

// fits judges plain values by the schema of their version, and makes those of an
// earlier version those of the present one.
func (f *Form) fits(tree any) ([]Problem, error) {
	s, err := f.compile()
	if err != nil {
		return nil, err
	}
	file, _ := tree.(map[string]any)
	first := len(f.Earlier)
	for i, e := range f.Earlier {
		if file["version"] == float64(e.Version) {
			s, first = f.earlier[i], i
		}
	}
	var invalid *jsonschema.ValidationError
	if err := s.Validate(tree); errors.As(err, &invalid) {
		return f.explain(s, tree, invalid), nil
	} else if err != nil {
		return nil, err
	}
	for _, e := range f.Earlier[first:] {
		e.Forward(file)
		file["version"] = float64(e.Version + 1)
	}
	return nil, nil
}

// versions lists the versions that are read: "1 and 2".
func (f *Form) versions(join string) string {
	var list []string
	for _, e := range f.Earlier {
		list = append(list, strconv.Itoa(e.Version))
	}
	return wording.Several(append(list, strconv.Itoa(f.Version)), join)
}

// newerVersion recognises the file of a later program, about which nothing
// else can be said.
func (f *Form) newerVersion(tree any) (Problem, bool) {
	object, _ := tree.(map[string]any)
	v, _ := object["version"].(float64)
	if v <= float64(f.Version) || v != float64(int64(v)) {
		return Problem{}, false
	}
	reads := fmt.Sprintf("up to version %d", f.Version)
	if len(f.Earlier) > 0 {
		reads = fmt.Sprintf("versions %s; get a newer program for it", f.versions("and"))
	}
	return Problem{Path: []string{"version"}, Msg: fmt.Sprintf("found %g: made by a newer version; this program reads %s", v, reads)}, true
}
