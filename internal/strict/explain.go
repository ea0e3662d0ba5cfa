package strict

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
)

// Violation is one thing that the schema doesn't allow.
type Violation struct {
	Form   *Form                // of the file that was read
	Kind   jsonschema.ErrorKind // which keyword of the schema, and what it wants
	Schema string               // where the keyword stands: "https://…#/$defs/tank/then"
	Part   map[string]any       // the part of the schema there
	Path   []string             // of the value
	Value  any                  // as plain values
	Parent any                  // the object or list that the value is in
}

// Say makes a problem of it.
func (v Violation) Say(format string, args ...any) []Problem {
	return []Problem{{Path: v.Path, Msg: fmt.Sprintf(format, args...)}}
}

// Field gives the name of the field, or the number of the entry, that the value
// is; "" for the whole.
func (v Violation) Field() string {
	if len(v.Path) == 0 {
		return ""
	}
	return v.Path[len(v.Path)-1]
}

// explainer turns what the schema checker found into sentences.
type explainer struct {
	form     *Form
	schema   *schema
	root     any // the file as plain values
	problems []Problem
}

// explain lists what is wrong with a file by the schema.
func (f *Form) explain(s *schema, root any, err *jsonschema.ValidationError) []Problem {
	x := &explainer{form: f, schema: s, root: root}
	x.add(err)
	// Of two sentences on one value the later is the more telling: it comes
	// from a condition on the values beside it.
	later, meant := map[string]int{}, map[string][]string{}
	for i, p := range x.problems {
		meant[Pointer(p.Path)] = append(meant[Pointer(p.Path)], p.Meant...)
		if p.Key == "" && len(p.Missing) == 0 {
			later[Pointer(p.Path)] = i
		}
	}
	i := -1
	return slices.DeleteFunc(x.problems, func(p Problem) bool {
		i++
		at := Pointer(p.Path)
		if p.Key == "" && len(p.Missing) == 0 {
			return later[at] != i
		}
		return slices.ContainsFunc(p.Missing, func(name string) bool { return slices.Contains(meant[at], name) })
	})
}

func (x *explainer) add(e *jsonschema.ValidationError) {
	switch e.ErrorKind.(type) {
	case *kind.Schema, *kind.Group, *kind.AllOf, *kind.Reference:
		for _, cause := range e.Causes {
			x.add(cause)
		}
		return
	}
	path := e.InstanceLocation
	v := Violation{Form: x.form, Kind: e.ErrorKind, Schema: e.SchemaURL, Part: x.schema.at(e.SchemaURL), Path: path, Value: valueAt(x.root, path)}
	if len(path) > 0 {
		v.Parent = valueAt(x.root, path[:len(path)-1])
	}
	if x.form.Explain != nil {
		if own := x.form.Explain(v); own != nil {
			x.problems = append(x.problems, own...)
			return
		}
	}
	switch k := e.ErrorKind.(type) {
	case *kind.Required:
		for _, name := range k.Missing {
			x.problems = append(x.problems, Problem{Path: path, Msg: fmt.Sprintf("missing field %q", name), Missing: []string{name}})
		}
	case *kind.AdditionalProperties:
		for _, name := range k.Properties {
			msg, meant := x.form.unknown(name, Fields(v.Part), v.Value)
			x.problems = append(x.problems, Problem{Path: path, Key: name, Msg: msg, Meant: meant})
		}
	default:
		x.problems = append(x.problems, Problem{Path: path, Msg: x.sentence(v)})
	}
}

// sentence says what is wrong with one value.
func (x *explainer) sentence(v Violation) string {
	switch k := v.Kind.(type) {
	case *kind.Type:
		return fmt.Sprintf("found %s, expected %s%s", Found(v.Value), types(k.Want), unquoted(v.Value, k.Want))
	case *kind.Const:
		if len(x.form.Earlier) > 0 && slices.Equal(v.Path, []string{"version"}) {
			return fmt.Sprintf("found %s, expected %s", Found(v.Value), x.form.versions("or"))
		}
		return fmt.Sprintf("found %s, expected %v", Found(v.Value), k.Want)
	case *kind.Enum:
		return oneOf(v.Value, k.Want)
	case *kind.Minimum, *kind.Maximum, *kind.ExclusiveMinimum, *kind.ExclusiveMaximum:
		return fmt.Sprintf("found %s, expected %s", Found(v.Value), numberRange(v.Part))
	case *kind.MinLength:
		return "blank; expected some text"
	case *kind.MaxLength:
		return fmt.Sprintf("text of %d characters, expected up to %d", k.Got, k.Want)
	case *kind.Pattern:
		text, _ := v.Value.(string)
		if i := strings.IndexFunc(text, banned(v.Part)); i >= 0 {
			return fmt.Sprintf("text with %s in it; expected %s", sign([]rune(text[i:])[0]), lines(v.Part))
		}
		return "blank; expected some text"
	case *kind.Format:
		if k.Want == "date" {
			return fmt.Sprintf("found %s, expected a day of the calendar such as \"2025-11-03\"", Found(v.Value))
		}
		return fmt.Sprintf("found %s, expected a date and time as in RFC 3339, such as \"2025-11-03T14:05:00Z\"", Found(v.Value))
	case *kind.MinItems:
		return fmt.Sprintf("a list of %s, expected %s", count(k.Got, "entry", "entries"), entryRange(v.Part))
	case *kind.DependentRequired:
		return fmt.Sprintf("missing field %s, which %q needs beside it", AnyOf(k.Missing), k.Prop)
	case *kind.MaxItems:
		return fmt.Sprintf("a list of %d entries, expected %s", k.Got, entryRange(v.Part))
	}
	said := fmt.Sprintf("does not fit the schema of %ss", x.form.File)
	if keyword := v.Kind.KeywordPath(); len(keyword) > 0 {
		said += " (" + strings.Join(keyword, "/") + ")"
	}
	return said
}

// oneOf says which words there are, and which one was probably meant.
func oneOf(value any, want []any) string {
	var words []string
	for _, w := range want {
		words = append(words, fmt.Sprint(w))
	}
	text, _ := value.(string)
	msg := fmt.Sprintf("found %s, expected %s", Found(value), AnyOf(words))
	if near := nearest(strings.ToLower(strings.TrimSpace(text)), words); near != "" {
		msg += fmt.Sprintf("; did you mean %q?", near)
	}
	return msg
}

// valueAt gives the value at a path.
func valueAt(v any, path []string) any {
	for _, name := range path {
		switch t := v.(type) {
		case map[string]any:
			v = t[name]
		case []any:
			v = entry(t, name)
		}
	}
	return v
}

// entry gives an entry of a list by its number, or nil.
func entry(list []any, number string) any {
	i, err := strconv.Atoi(number)
	if err != nil || i < 0 || i >= len(list) {
		return nil
	}
	return list[i]
}
