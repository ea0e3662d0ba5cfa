package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Form is one kind of file. It is not changed after its first use and may be
// used by many at once.
type Form struct {
	File    string // what messages call the file: "job file"
	Content string // what messages call what is in it, after "a" or "the": "job"

	// Schema is the JSON Schema (2020-12) of the whole file, with an $id; the
	// formats date and date-time are asserted. Parts are other schemas that it
	// refers to by their $id.
	Schema []byte
	Parts  [][]byte
	// Version is the newest version of the file that is read, which Schema is for;
	// it has a field version. Earlier are those before that are read as well, the
	// oldest first; none: the schema decides about them.
	Version int
	Earlier []Earlier

	// MaxBytes is the largest file. Depth, list and object are bounds of any
	// file that can be right, held to before the schema is asked, so that a
	// hostile file costs no more than a large one.
	MaxBytes                        int
	MaxDepth, MaxEntries, MaxFields int
	// TooLarge says what to do about content that comes to more than MaxBytes.
	TooLarge string

	// Units are the endings of the field names that are units, in the order in
	// which fields that differ by their unit are listed.
	Units []Unit

	// Takes gives, by the ending of a unit, other endings for which it is the one
	// to write; an ending that no unit takes is for the units that take none.
	Takes map[string][]string

	// Either are groups of fields that stand in each other's place: where one is
	// there, the others aren't offered.
	Either [][]string

	// Explain may put what the schema found into words of the form's own; nil
	// leaves it to this package.
	Explain func(Violation) []Problem

	once     sync.Once
	earlier  []*schema
	compiled *schema
	broken   error
}

// Unit is an ending of field names, and what it stands for: "mm",
// "millimetres".
type Unit struct{ Ending, Words string }

// Earlier is a version of a file before the present one.
type Earlier struct {
	Version int
	Schema  []byte // of that version, by which files of it are judged; with Parts of the form
	// Forward makes the plain values of such a file those of the next version, but
	// for the field version, which is set for it.
	Forward func(file map[string]any)
}

// schema is a form's schema ready for use, and all its parts as plain values
// by their $id.
type schema struct {
	*jsonschema.Schema
	id    string
	parts map[string]map[string]any
}

// compile makes the schema ready when the first file is read, so that nothing
// else pays for it.
func (f *Form) compile() (*schema, error) {
	f.once.Do(func() {
		f.compiled, f.broken = f.compileNow(f.Schema)
		for _, e := range f.Earlier {
			s, err := f.compileNow(e.Schema)
			f.earlier, f.broken = append(f.earlier, s), errors.Join(f.broken, err)
		}
		if f.broken != nil {
			f.broken = fmt.Errorf("the built-in schema of %ss is broken: %w", f.File, f.broken)
		}
	})
	return f.compiled, f.broken
}

func (f *Form) compileNow(own []byte) (*schema, error) {
	c := jsonschema.NewCompiler()
	c.RegisterFormat(&jsonschema.Format{Name: "date", Validate: isDate})
	c.RegisterFormat(&jsonschema.Format{Name: "date-time", Validate: isTime})
	c.AssertFormat()
	s := &schema{parts: map[string]map[string]any{}}
	for i, text := range append([][]byte{own}, f.Parts...) {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			return nil, err
		}
		root, _ := doc.(map[string]any)
		id, _ := root["$id"].(string)
		if err := c.AddResource(id, doc); err != nil {
			return nil, err
		}
		s.parts[id] = root
		if i == 0 {
			s.id = id
		}
	}
	var err error
	s.Schema, err = c.Compile(s.id)
	return s, err
}

// Part gives the part of the schema that a location names, as plain values in
// which numbers are [json.Number]: "#/$defs/ohm", or with the $id of one of the
// schemas before it; "#" is the whole schema. It is nil where there is none.
func (f *Form) Part(location string) (map[string]any, error) {
	s, err := f.compile()
	if err != nil {
		return nil, err
	}
	return s.at(location), nil
}

func (s *schema) at(location string) map[string]any {
	id, fragment, _ := strings.Cut(location, "#")
	fragment, err := url.PathUnescape(fragment)
	if err != nil {
		return nil
	}
	if id == "" {
		id = s.id
	}
	var part any = s.parts[id]
	for _, name := range strings.Split(fragment, "/")[1:] {
		switch p := part.(type) {
		case map[string]any:
			part = p[strings.NewReplacer("~1", "/", "~0", "~").Replace(name)]
		case []any:
			part = entry(p, name)
		}
	}
	object, _ := part.(map[string]any)
	return object
}

// Fields lists the fields that a part of the schema knows, sorted.
func Fields(part map[string]any) []string {
	properties, _ := part["properties"].(map[string]any)
	names := make([]string, 0, len(properties))
	for name := range properties {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Number gives a number of a part of the schema, such as its maximum.
func Number(part map[string]any, keyword string) (float64, bool) {
	n, ok := part[keyword].(json.Number)
	if !ok {
		return 0, false
	}
	v, err := n.Float64()
	return v, err == nil
}

// isDate refuses what is no day of the calendar written YYYY-MM-DD.
func isDate(v any) error {
	if text, ok := v.(string); ok {
		_, err := time.Parse(time.DateOnly, text)
		return err
	}
	return nil
}

// isTime refuses what is no time of RFC 3339.
func isTime(v any) error {
	if text, ok := v.(string); ok {
		var t time.Time
		return t.UnmarshalText([]byte(text))
	}
	return nil
}
