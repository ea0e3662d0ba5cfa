package web

import (
	"errors"
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// setOption is one of several to choose from.
type setOption struct {
	Value, Name, Says string
	Lacks             string // why it can't be chosen; "" where it can
}

func readoutOptions(signal curve.Signal) []setOption {
	return []setOption{
		{Value: telling.TwoPoint, Name: "Two end values", Says: fmt.Sprintf("The display takes the %s at 0 %% and at 100 %%, and shows a straight line between.", signal.Figures())},
		{Value: telling.Table, Name: "A table", Says: fmt.Sprintf("The display takes a list of %s, each with what is to be shown.", signal.Figures())},
		{Value: telling.EndsThenTable, Name: "Two end values, then a table", Says: fmt.Sprintf("The display takes the %s at 0 %% and at 100 %%, and a list of percentages that puts right what lies between.", signal.Figures())},
	}
}

var scaleNames = []struct {
	kind scale.Kind
	name string
}{{scale.Mark, "The mark"}, {scale.Volume, "The whole volume"}, {scale.Fill, "The permitted fill"}, {scale.Usable, "What can be drawn"}}

// scaleOptions gives each scale with what 100 % means on it, or what it lacks.
func scaleOptions(at *tankAt, w *wished) []setOption {
	var out []setOption
	for _, s := range scaleNames {
		o := setOption{Value: string(s.kind), Name: s.name}
		t := *at.Tank
		how := w.how
		how.Scale = o.Value
		t.Setting = &how
		if sc, err := t.Scale(); err != nil {
			o.Lacks = plainWords(at.Name, err.Error())
		} else {
			o.Says = sc.Sentence()
		}
		out = append(out, o)
	}
	return out
}

func objectiveOptions() []setOption {
	names := map[span.Objective]string{span.Worst: "The largest error", span.NearEmpty: "Errors near empty", span.NeverHigh: "The largest error, never high", span.RMS: "Errors on the whole"}
	var out []setOption
	for _, o := range span.Objectives {
		out = append(out, setOption{Value: string(o), Name: names[o], Says: o.Sentence()})
	}
	return out
}

// fileWords are the names of a job file's fields that the core's sentences use, as
// the pages call them.
var fileWords = strings.NewReplacer(
	"permitted_fill_pct", "permitted fill", "water_capacity_l", "water capacity", "heel_l", "heel, which is what is left when nothing more can be drawn",
	"empty_mark", "mark at 0 %", "full_mark", "mark at 100 %", `the scale "mark"`, "the scale of the mark", `the scale "volume"`, "the scale of the whole volume",
	`the scale "fill"`, "the scale of the permitted fill", `the scale "usable"`, "the scale of what can be drawn", `choose "mark"`, "choose the scale of the mark",
)

// plainWords makes a sentence of the page of an error about a tank of a job.
func plainWords(tank, text string) string {
	return telling.Sentence(fileWords.Replace(strings.TrimPrefix(text, fmt.Sprintf("tank %q: ", tank))))
}

// refused tells why no numbers could be chosen, and marks the fields that it comes
// from.
func (w *wished) refused(err error) string {
	var field *telling.FieldError
	if !errors.As(err, &field) {
		return plainWords("", strings.TrimPrefix(err.Error(), tankPrefix(err.Error())))
	}
	text := telling.Sentence(field.Naming(func(name string) string {
		if name == "step" && w.wish.Readout == telling.Table {
			name = "table-step"
		}
		return fieldNames[name]
	}))
	for _, name := range field.Fields {
		w.bad[name] = text
	}
	return text
}

// tankPrefix gives the name of the tank that an error begins with, as the page
// stands on that tank; "" where there is none.
func tankPrefix(text string) string {
	if rest, ok := strings.CutPrefix(text, `tank "`); ok {
		if i := strings.Index(rest, `": `); i >= 0 {
			return text[:len(text)-len(rest)+i+3]
		}
	}
	return ""
}

// bestBody is the best numbers, and what they are worth.
type bestBody struct {
	Numbers telling.Numbers
	Table   *record.Table // to be keyed in, in the place of two end values
	Called  string        // "0 and 101", "this table"
	Value   string        // of the button that keeps them
}

// bestOf tells the best numbers.
func bestOf(p telling.Proposal) bestBody {
	b := bestBody{Numbers: p.Numbers(), Called: p.Best.Setting.String(), Value: exactSetting(p.Best.Setting)}
	if g := b.Numbers.Table; g != nil {
		t := gridTable("Table to key in", *g)
		b.Table, b.Called = &t, fmt.Sprintf("this table of %d entries", len(g.Rows))
		if both, ok := p.Best.Setting.(span.EndsThenTable); ok {
			b.Called = fmt.Sprintf("%s and the table of %d entries", both.Ends, len(both.Table))
		}
	}
	return b
}

// keptWords says what is keyed in as the job has it; "" where nothing is.
func keptWords(at *tankAt) string {
	k, ok := at.View.KeyIn()
	if !ok {
		return ""
	}
	what := k.Numbers
	if k.Table != nil && what != "" {
		what = fmt.Sprintf("%s %s, then a table of %d entries", what, at.Signal().Unit(), len(k.Table.Rows))
	} else if k.Table != nil {
		what = fmt.Sprintf("a table of %d entries", len(k.Table.Rows))
	} else if signal := at.Signal(); signal != curve.Ohms {
		what += " " + signal.Unit()
	}
	text := "Kept in the job: " + what + "."
	if k.By != "" {
		text += " " + k.By
	}
	if len(k.Sentences) > 0 {
		text += " " + k.Sentences[0].Text
	}
	return text
}

// checksWords says what keeping other numbers does to the checks that were made.
func checksWords(t *job.Tank) string {
	n := 0
	for _, c := range t.Checks {
		if c.When == job.AsLeft {
			n++
		}
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "One check was made as left. Keeping other numbers makes it a check as found: it tells of the display before them."
	}
	return fmt.Sprintf("%d checks were made as left. Keeping other numbers makes them checks as found: they tell of the display before them.", n)
}
