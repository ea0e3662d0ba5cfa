package job

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/span"
	"gaugewright/internal/wording"
)

// wholes are the parts of a tank that have sentences of their own, by their keys.
var wholes map[string]func(d *differ, s spot, a, b any)

func init() {
	wholes = map[string]func(d *differ, s spot, a, b any){
		"bench/readings":    (*differ).readings,
		"bench/struck":      (*differ).struck,
		"services/readings": (*differ).readings,
		"services/struck":   (*differ).struck,
		"setting":           (*differ).setting,
		"checks":            (*differ).checks,
		"services":          (*differ).services,
	}
}

// readings tells readings that were taken, taken away or put right.
func (d *differ) readings(s spot, before, now any) {
	a, b := entries(before), entries(now)
	head, tail := sameEnds(a, b)
	out, in := a[head:len(a)-tail], b[head:len(b)-tail]
	s = s.within()
	figures := fmt.Sprintf("%d, was %d", len(b), len(a))
	switch {
	case len(out) == 0:
		d.say(s, "%s more (%s)", count(len(in), "reading", "readings"), figures)
	case len(in) == 0:
		d.say(s, "%s fewer (%s)", count(len(out), "reading", "readings"), figures)
	case len(in) == len(out):
		for i := range in {
			if !equal(out[i], in[i]) {
				d.say(s.at(strconv.Itoa(head+i)), "reading %d is %s, was %s", head+i+1, readingWords(in[i]), readingWords(out[i]))
			}
		}
	default:
		d.say(s, "%s in the place of %d, from the one at place %d on (%s)", count(len(in), "reading", "readings"), len(out), head+1, figures)
	}
}

// struck tells readings that were struck out or taken back.
func (d *differ) struck(s spot, before, now any) {
	a, b := entries(before), entries(now)
	head, tail := sameEnds(a, b)
	out, in := a[head:len(a)-tail], b[head:len(b)-tail]
	s = s.within()
	if len(in) == len(out) {
		for i := range in {
			if !equal(out[i], in[i]) {
				d.say(s.at(strconv.Itoa(head+i)), "struck reading %d is %s, was %s", head+i+1, readingWords(in[i]), readingWords(out[i]))
			}
		}
		return
	}
	for i, r := range in {
		d.say(s.at(strconv.Itoa(head+i)), "a reading was struck out: %s", readingWords(r))
	}
	for _, r := range out {
		d.say(s, "no longer among the struck readings: %s", readingWords(r))
	}
}

// readingWords says what a reading is: "40 %, 36.2 Ω, up".
func readingWords(v any) string {
	r, _ := v.(map[string]any)
	rest := maps.Clone(r)
	var parts []string
	for _, u := range curve.MarkUnits {
		if m, ok := r[u.Column()].(float64); ok {
			parts = append(parts, figureOf(m)+" "+u.Symbol())
			delete(rest, u.Column())
		}
	}
	for _, signal := range curve.Signals {
		if m, ok := r[signal.Column()].(float64); ok {
			parts = append(parts, figureOf(m)+" "+signal.Symbol())
			delete(rest, signal.Column())
		}
	}
	for _, field := range inOrder(slices.Collect(maps.Keys(rest))) {
		word := spot{key: field}
		switch text := word.figure(rest[field]); {
		case text == "":
		case field == "sweep":
			parts = append(parts, text)
		case field == "time":
			parts = append(parts, "on "+text)
		case field == "struck":
			parts = append(parts, "struck on "+text)
		default:
			parts = append(parts, word.words()+" "+text)
		}
	}
	return strings.Join(parts, ", ")
}

// keyedFields are the fields of a setting that are told as what was keyed in.
var keyedFields = []string{"readout", "lower_ohm", "upper_ohm", "lower_value", "upper_value", "table", "then_table"}

// setting tells what was keyed in.
func (d *differ) setting(s spot, before, now any) {
	a, _ := before.(map[string]any)
	b, _ := now.(map[string]any)
	a, b = maps.Clone(a), maps.Clone(b)
	keyed := func(o map[string]any) map[string]any {
		out := map[string]any{}
		for _, field := range keyedFields {
			if v, ok := o[field]; ok {
				out[field] = v
				delete(o, field)
			}
		}
		return out
	}
	keyedA, keyedB := keyed(a), keyed(b)
	switch {
	case d.was.Setting == nil:
		d.say(s, "now %s, before that nothing", keyedWords(d.is.Setting, *d.is))
	case d.is.Setting == nil:
		d.say(s, "nothing is keyed in any more, was %s", keyedWords(d.was.Setting, *d.was))
		return
	case !equal(keyedA, keyedB):
		is, was := keyedWords(d.is.Setting, *d.is), keyedWords(d.was.Setting, *d.was)
		if is == was {
			d.object(s, keyedA, keyedB)
		} else {
			d.say(s, "now %s, was %s", is, strings.TrimPrefix(was, "keyed in "))
		}
	}
	d.object(s, a, b)
}

// keyedWords says what a setting has keyed in: "keyed in 0 and 190", "keyed in a
// table of 5 entries".
func keyedWords(s *Setting, t Tank) string {
	k, err := s.Keyed()
	if err != nil {
		return "keyed in what can't be"
	}
	unit := ""
	if signal := t.Signal(); signal != curve.Ohms {
		unit = " " + signal.Unit()
	}
	switch k := k.(type) {
	case span.Ends:
		return "keyed in " + figureOf(*s.LowerOhm) + " and " + figureOf(*s.UpperOhm) + unit
	case span.EndsThenTable:
		return "keyed in " + figureOf(*s.LowerOhm) + " and " + figureOf(*s.UpperOhm) + unit + ", then a table of " + count(len(k.Table), "entry", "entries")
	case span.Table:
		return "keyed in a table of " + count(len(k), "entry", "entries")
	}
	return "keyed in " + k.String()
}

// checks tells checks that were made, with their verdicts, or put right.
func (d *differ) checks(s spot, before, now any) {
	a, b := entries(before), entries(now)
	head, tail := sameEnds(a, b)
	if len(a) == len(b) || head+tail < len(a) {
		d.list(s, a, b)
		return
	}
	proofs, err := d.is.Proofs()
	for i := head; i < len(b)-tail; i++ {
		c := d.is.Checks[i]
		verdict := "no verdict can be told"
		if err == nil {
			verdict = proofs[i].Proof.Judgement()
		}
		d.say(s.at(strconv.Itoa(i)), "checked %s%s at %s: %s", c.When, onDate(c.Date, c.By), count(len(c.Readings), "mark", "marks"), verdict)
	}
}

// services tells later benches that were made.
func (d *differ) services(s spot, before, now any) {
	a, b := entries(before), entries(now)
	head, tail := sameEnds(a, b)
	if len(a) == len(b) || head+tail < len(a) {
		d.list(s, a, b)
		return
	}
	for i := head; i < len(b)-tail; i++ {
		v := d.is.Services[i]
		d.say(s.at(strconv.Itoa(i)), "read again in service%s: %s", onDate(v.Date, v.By), count(len(v.Readings), "reading", "readings"))
	}
}

// onDate gives " on 3 November 2025 by A. Example".
func onDate(date, by string) string {
	text := ""
	if date != "" {
		text += " on " + momentOf("date", date)
	}
	if by != "" {
		text += " by " + by
	}
	return text
}

// inWords says what a value of a list is in few words.
func inWords(v any) string {
	switch v := v.(type) {
	case map[string]any:
		var parts []string
		for _, field := range inOrder(slices.Collect(maps.Keys(v))) {
			s := spot{key: field}
			if field == "temperature_c" {
				s.key = "in/temperature_c" // of whatever the list is of
			}
			_, object := v[field].(map[string]any)
			list, isList := v[field].([]any)
			if object || isList && !isRange(list) {
				parts = append(parts, s.words())
			} else {
				parts = append(parts, s.words()+" "+s.figure(v[field]))
			}
		}
		return wording.Several(parts, "and")
	case []any:
		return count(len(v), "entry", "entries")
	}
	return spot{}.figure(v)
}
