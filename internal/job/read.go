package job

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Names for standard input: what a person types, and what a message says.
const (
	stdin     = "-"
	stdinName = "standard input"
)

// Read reads a job file of up to [MaxBytes]. The name is for messages.
//
// A file is refused for anything the [Schema] doesn't allow, and for what no
// schema can say: a field that stands twice, tanks of one name, marks in more
// than one unit, end values or claimed ends that are the same, a table that
// doesn't rise, a full mark that isn't above the empty one, the fill scale
// without a permitted fill, and, for LPG, a fill scale that would show 100 %
// above 85 % of the water capacity or for which that can't be told.
//
// Every error is a [*FileError], or [FileErrors] where there are more than one.
func Read(r io.Reader, name string) (*Job, error) {
	raw, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("not readable: %v", err), cause: err}
	}
	return parse(name, raw)
}

// ReadFile reads the job file at path as Read does; "-" is standard input.
func ReadFile(path string) (*Job, error) {
	if path == stdin {
		return Read(os.Stdin, stdinName)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, systemError(path, "not readable", err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, &FileError{Name: path, Msg: "this is a directory; expected a job file"}
	}
	return Read(f, path)
}

// systemError says what went wrong with a file, without naming it twice.
func systemError(path, what string, err error) *FileError {
	cause := err
	var p *os.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		cause = p.Err
	case errors.As(err, &l):
		cause = l.Err
	}
	return &FileError{Name: path, Msg: fmt.Sprintf("%s: %v", what, cause), cause: err}
}

// parse reads the bytes of a job file.
func parse(name string, raw []byte) (*Job, error) {
	text, err := plain(name, raw)
	if err != nil {
		return nil, err
	}
	if err := wellFormed(name, text); err != nil {
		return nil, err
	}
	job, problems, err := judge(text)
	if err != nil {
		return nil, &FileError{Name: name, Msg: err.Error(), cause: err}
	}
	if len(problems) > 0 {
		return nil, report(name, text, problems)
	}
	return job, nil
}

// judge takes a text of valid JSON for a job, or says what is wrong with it.
// The error is for what is wrong with this program.
func judge(text []byte) (*Job, []problem, error) {
	tree, problems := walk(text, nil)
	if len(problems) > 0 {
		return nil, problems, nil
	}
	if p, newer := newerVersion(tree); newer {
		return nil, []problem{p}, nil
	}
	c, err := compiled()
	if err != nil {
		return nil, nil, err
	}
	var invalid *jsonschema.ValidationError
	if err := c.schema.Validate(tree); errors.As(err, &invalid) {
		return nil, c.explain(tree, invalid), nil
	} else if err != nil {
		return nil, nil, err
	}
	// From the values and not from the text, because to the schema 1.0 is the
	// integer 1 and to the decoder it isn't.
	values, err := json.Marshal(tree)
	if err != nil {
		return nil, nil, err
	}
	job := new(Job)
	if err := json.Unmarshal(values, job); err != nil {
		return nil, nil, err
	}
	return job, job.rules(), nil
}

// newerVersion recognises the file of a later program, about which nothing
// else can be said.
func newerVersion(tree any) (problem, bool) {
	object, _ := tree.(map[string]any)
	v, _ := object["version"].(float64)
	if v <= Version || v != float64(int64(v)) {
		return problem{}, false
	}
	return problem{path: []string{"version"}, msg: fmt.Sprintf("found %g: made by a newer version; this program reads up to version %d", v, Version)}, true
}
