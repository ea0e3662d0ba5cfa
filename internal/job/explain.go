package job

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"

	"gaugewright/internal/curve"
	"gaugewright/internal/wording"
)

// explainer turns what the schema checker found into sentences.
type explainer struct {
	*checker
	root     any // the job as plain values
	problems []problem
	// meant are the fields that an unknown one was probably meant to be, by
	// pointer of the object: they aren't called missing as well.
	meant map[string][]string
}

// explain lists what is wrong with a job by the schema.
func (c *checker) explain(root any, err *jsonschema.ValidationError) []problem {
	x := &explainer{checker: c, root: root, meant: map[string][]string{}}
	x.add(err)
	// Of two sentences on one value the later is the more telling: it comes
	// from a condition on the values beside it.
	later := map[string]int{}
	for i, p := range x.problems {
		if p.key == "" && len(p.missing) == 0 {
			later[pointer(p.path)] = i
		}
	}
	i := -1
	return slices.DeleteFunc(x.problems, func(p problem) bool {
		i++
		at := pointer(p.path)
		meant := x.meant[at]
		if p.key == "" && len(p.missing) == 0 {
			return later[at] != i
		}
		return slices.ContainsFunc(p.missing, func(name string) bool { return slices.Contains(meant, name) })
	})
}

func (x *explainer) add(e *jsonschema.ValidationError) {
	path := e.InstanceLocation
	say := func(format string, args ...any) {
		x.problems = append(x.problems, problem{path: path, msg: fmt.Sprintf(format, args...)})
	}
	part := x.at(e.SchemaURL)
	value := x.valueAt(path)
	switch k := e.ErrorKind.(type) {
	case *kind.Schema, *kind.Group, *kind.AllOf, *kind.Reference:
		for _, cause := range e.Causes {
			x.add(cause)
		}
	case *kind.Type:
		say("found %s, expected %s%s", found(value), kinds[k.Want[0]], unquoted(value, k.Want[0]))
	case *kind.Const:
		say("found %s, expected %v", found(value), k.Want)
	case *kind.Enum:
		x.enum(path, value, k.Want)
	case *kind.Minimum, *kind.ExclusiveMinimum, *kind.ExclusiveMaximum:
		say("found %s, expected %s", found(value), numberRange(part))
	case *kind.Maximum:
		if last(path) == "permitted_fill_pct" && k.Want.Cmp(big.NewRat(MaxLPGFillPct, 1)) == 0 {
			say("%s", lpgFillTooHigh(value))
			return
		}
		say("found %s, expected %s", found(value), numberRange(part))
	case *kind.MinLength:
		say("blank; expected some text")
	case *kind.MaxLength:
		say("text of %d characters, expected up to %d", k.Got, k.Want)
	case *kind.Pattern:
		text, _ := value.(string)
		if i := strings.IndexFunc(text, banned(part)); i >= 0 {
			say("text with %s in it; expected %s", sign([]rune(text[i:])[0]), lines(part))
			return
		}
		say("blank; expected some text")
	case *kind.Format:
		if k.Want == "date" {
			say("found %s, expected a day of the calendar such as \"2025-11-03\"", found(value))
			return
		}
		say("found %s, expected a date and time as in RFC 3339, such as \"2025-11-03T14:05:00Z\"", found(value))
	case *kind.MinItems:
		say("a list of %s, expected %s", count(k.Got, "entry", "entries"), entryRange(part))
	case *kind.MaxItems:
		say("a list of %d entries, expected %s", k.Got, entryRange(part))
	case *kind.Required:
		for _, name := range k.Missing {
			x.problems = append(x.problems, problem{path: path, msg: fmt.Sprintf("missing field %q%s", name, why(e.SchemaURL, value)), missing: []string{name}})
		}
	case *kind.OneOf:
		x.marks(path, value)
	case *kind.FalseSchema:
		say("a %s readout has no %s; delete it, or correct readout", readoutOf(x.valueAt(path[:len(path)-1])), last(path))
	case *kind.AdditionalProperties:
		for _, name := range k.Properties {
			msg, meant := unknown(name, fieldsOf(part), value)
			x.problems = append(x.problems, problem{path: path, key: name, msg: msg})
			x.meant[pointer(path)] = append(x.meant[pointer(path)], meant...)
		}
	default:
		say("does not fit the schema of job files (%s)", strings.Join(e.ErrorKind.KeywordPath(), "/"))
	}
}

// enum says which words there are, and which one was probably meant.
func (x *explainer) enum(path []string, value any, want []any) {
	var words []string
	for _, w := range want {
		words = append(words, fmt.Sprint(w))
	}
	text, _ := value.(string)
	msg := fmt.Sprintf("found %s, expected %s", found(value), several(words))
	if near := nearest(strings.ToLower(strings.TrimSpace(text)), words); near != "" {
		msg += fmt.Sprintf("; did you mean %q?", near)
	}
	x.problems = append(x.problems, problem{path: path, msg: msg})
}

// marks says that a reading has no mark, or more than one.
func (x *explainer) marks(path []string, value any) {
	object, _ := value.(map[string]any)
	var all, there []string
	for _, u := range curve.MarkUnits {
		all = append(all, u.Column())
		if _, ok := object[u.Column()]; ok {
			there = append(there, u.Column())
		}
	}
	if len(there) == 0 {
		x.problems = append(x.problems, problem{path: path, msg: "no mark; expected one of " + several(all), missing: all})
		return
	}
	quotes := make([]string, len(there))
	for i, name := range there {
		quotes[i] = strconv.Quote(name)
	}
	x.problems = append(x.problems, problem{path: path, msg: fmt.Sprintf("more than one mark: %s; keep the one that was read and delete the others", wording.Several(quotes, "and"))})
}

// valueAt gives the value at a path of the job.
func (x *explainer) valueAt(path []string) any {
	v := x.root
	for _, name := range path {
		switch t := v.(type) {
		case map[string]any:
			v = t[name]
		case []any:
			i, err := strconv.Atoi(name)
			if err != nil || i < 0 || i >= len(t) {
				return nil
			}
			v = t[i]
		}
	}
	return v
}
