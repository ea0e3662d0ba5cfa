package telling

import "strings"

// FieldError says that what a person stated in a field can't be used.
type FieldError struct {
	// Fields are the names of the fields, in small letters and with hyphens, as
	// the flags of the command line have them: "margin", "percent-step".
	Fields []string
	// Rest follows the names: what was found and what was expected.
	Rest string
	Err  error // what it comes from; nil where it is the statement itself
}

// Error names the fields in words: "percent step …".
func (e *FieldError) Error() string {
	return e.Naming(func(field string) string { return strings.ReplaceAll(field, "-", " ") })
}

// Naming gives the message with each field named as the one who shows it calls it.
func (e *FieldError) Naming(name func(field string) string) string {
	names := make([]string, len(e.Fields))
	for i, f := range e.Fields {
		names[i] = name(f)
	}
	last := len(names) - 1
	if last < 1 {
		return strings.Join(names, "") + e.Rest
	}
	return strings.Join(names[:last], ", ") + " and " + names[last] + e.Rest
}

// Unwrap gives what it comes from.
func (e *FieldError) Unwrap() error { return e.Err }

// from makes a FieldError of an error about one field.
func from(field, between string, err error) *FieldError {
	return &FieldError{Fields: []string{field}, Rest: between + err.Error(), Err: err}
}
