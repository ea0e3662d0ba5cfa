package job

import (
	"fmt"
	"strconv"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/strict"
	"gaugewright/internal/wording"
)

// signals refuses claims and a setting whose numbers aren't in what the bench
// reads.
func (r *ruler) signals(t Tank) {
	signal := t.Signal()
	if len(t.Sender.Claimed) > 0 && r.numbers([]any{"sender", "claimed"}, t, t.Sender.Numbers, "empty_", "full_") && t.Sender.Numbers == OfSignal {
		for i, c := range t.Sender.Claimed {
			r.within([]any{"sender", "claimed", i, "empty_value"}, signal, c.EmptyOhm)
			r.within([]any{"sender", "claimed", i, "full_value"}, signal, c.FullOhm)
		}
	}
	if s := t.Setting; s != nil && r.numbers([]any{"setting"}, t, s.Numbers, "lower_", "upper_", "step_", "margin_", "") && s.Numbers == OfSignal {
		for _, end := range []struct {
			name  string
			value *float64
		}{{"step_value", &s.StepOhm}, {"margin_value", &s.MarginOhm}, {"lowest_value", &s.LowestOhm}, {"highest_value", &s.HighestOhm},
			{"lower_value", s.LowerOhm}, {"upper_value", s.UpperOhm}} {
			if end.value != nil {
				r.within([]any{"setting", end.name}, signal, *end.value)
			}
		}
		for i, e := range s.Table {
			r.within([]any{"setting", "table", i, "value"}, signal, e.Ohm)
		}
	}
}

// numbers refuses fields for ohms where the bench reads something else, fields
// for something else where it reads ohms or nothing yet, and a mix.
func (r *ruler) numbers(place []any, t Tank, found Numbers, names ...string) bool {
	signal := t.Signal()
	if found == NumbersOf(signal) {
		return true
	}
	ohms, values := make([]string, len(names)), make([]string, len(names))
	for i, name := range names {
		ohms[i], values[i] = strconv.Quote(name+"ohm"), strconv.Quote(name+"value")
	}
	in, wanted := "the bench reads "+signal.Figures(), values
	if signal == curve.Ohms {
		wanted = ohms
	}
	if _, known := t.KnownSignal(); !known {
		in = "the bench has no readings that say in what other unit they are"
	}
	is := "numbers in ohms"
	switch found {
	case mixedNumbers:
		is = "numbers in ohms and values mixed"
	case OfSignal:
		is = "values, which are for senders that give no ohms"
	}
	r.say(place, "%s, and %s; write %s alone", is, in, wording.Several(wanted, "and"))
	return false
}

// within refuses a value that no sender gives.
func (r *ruler) within(place []any, signal curve.Signal, v float64) {
	if limit := float64(signal.Limit()); v > limit {
		r.say(place, "found %g, expected 0 to %g, as the bench reads %s", v, limit, signal.Figures())
	}
}

// electrical says that a reading has no value, or more than one, and that a
// claim, a setting or an entry has neither all of its numbers in ohms nor all
// in values, or both; nil for anything else.
func electrical(v strict.Violation) []strict.Problem {
	object, _ := v.Value.(map[string]any)
	there := func(names []string) (in, out []string) {
		for _, name := range names {
			if _, ok := object[name]; ok {
				in = append(in, name)
			} else {
				out = append(out, name)
			}
		}
		return in, out
	}
	var ohms, others []string
	which := ""
	switch {
	case strings.HasSuffix(v.Schema, "/reading"), strings.HasSuffix(v.Schema, "/struck"):
		ohms = []string{"ohm"}
		for _, s := range curve.Signals[1:] {
			others = append(others, s.Column())
		}
		in, _ := there(append(ohms, others...))
		if len(in) == 0 {
			return []strict.Problem{{Path: v.Path, Msg: `missing field "ohm", or in its place ` + strict.AnyOf(others), Missing: append(ohms, others...)}}
		}
		return v.Say("more than one value: %s; keep the one that was read and delete the others", wording.Several(quoted(in), "and"))
	case strings.HasSuffix(v.Schema, "/claim"):
		ohms, others = []string{"empty_ohm", "full_ohm"}, []string{"empty_value", "full_value"}
	case strings.HasSuffix(v.Schema, "/entry"):
		ohms, others = []string{"ohm"}, []string{"value"}
	case strings.HasSuffix(v.Schema, "/then"):
		ohms, others = []string{"lower_ohm", "upper_ohm"}, []string{"lower_value", "upper_value"}
		which = fmt.Sprintf(", which %s has", aReadout(readoutOf(v.Value)))
	default:
		return nil
	}
	inOhms, lackOhms := there(ohms)
	inOthers, lackOthers := there(others)
	if len(lackOhms) == 0 && len(lackOthers) == 0 {
		return v.Say("both %s and %s; keep those in what the bench reads", wording.Several(quoted(ohms), "and"), wording.Several(quoted(others), "and"))
	}
	lack := lackOhms
	if len(inOthers) > len(inOhms) {
		lack = lackOthers
	}
	var out []strict.Problem
	for _, name := range lack {
		out = append(out, strict.Problem{Path: v.Path, Missing: []string{name}, Msg: fmt.Sprintf("missing field %q%s", name, which)})
	}
	return out
}

func quoted(names []string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = strconv.Quote(name)
	}
	return out
}
