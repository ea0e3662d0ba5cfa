package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gaugewright/internal/strict"
)

// Difference is one thing that two jobs say differently.
type Difference struct {
	Path string `json:"path"` // JSON Pointer (RFC 6901) of the place, in the later job where it is there
	Text string `json:"text"` // a sentence
}

// Diff tells what differs between a job as it was and as it is, in the order of
// the file, whatever their history and signatures. Nothing that differs is left
// out: a field that no sentence is made for is named.
func Diff(was, is *Job) []Difference {
	a, errA := was.content()
	b, errB := is.content()
	if errA != nil || errB != nil {
		return []Difference{{Text: "The two jobs can't be compared: one of them can't be a file."}}
	}
	var d differ
	tanksA, tanksB := entries(a["tanks"]), entries(b["tanks"])
	delete(a, "tanks")
	delete(b, "tanks")
	d.object(spot{}, a, b)
	d.tanks(was, is, tanksA, tanksB)
	return d.out
}

type differ struct {
	out     []Difference
	was, is *Tank // the tank that is compared
}

// spot is a place of the file: its path, what it is called in a sentence, and in
// which tank it is.
type spot struct {
	tank, path, label string
	key               string // for the words of a field: "bench/temperature_c"
}

func (s spot) at(field string) spot {
	return spot{tank: s.tank, path: s.path + "/" + escaper.Replace(field), label: s.label, key: strings.TrimPrefix(s.key+"/"+field, "/")}
}

// within gives the place whose sentences begin with what it is called, as with a
// tank: "Gas: service 1: …".
func (s spot) within() spot {
	if s.label != "" {
		s.tank, s.label = s.tank+": "+s.label, ""
	}
	return s
}

// say adds a sentence. Without a tank it begins with a capital of its own.
func (d *differ) say(s spot, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if s.tank != "" {
		text = s.tank + ": " + text
	} else {
		text = strings.ToUpper(text[:1]) + text[1:]
	}
	d.out = append(d.out, Difference{Path: s.path, Text: text + "."})
}

// tanks compares the tanks of two jobs, which are told apart by their names.
func (d *differ) tanks(was, is *Job, a, b []any) {
	pairs := make([]int, len(b)) // for each tank that is, which one it was
	used := make([]bool, len(a))
	for i := range b {
		pairs[i] = slices.IndexFunc(was.Tanks, func(t Tank) bool { return folded(t.Name) == folded(is.Tanks[i].Name) })
		if pairs[i] >= 0 {
			used[pairs[i]] = true
		}
	}
	for i := range b {
		// One in the same place that is the same but for its name was renamed.
		if pairs[i] < 0 && i < len(a) && !used[i] && equal(without(a[i], "name"), without(b[i], "name")) {
			pairs[i], used[i] = i, true
		}
	}
	before := -1
	moved := false
	for i := range b {
		s := spot{tank: strict.Clip(is.Tanks[i].Name), path: "/tanks/" + strconv.Itoa(i)}
		k := pairs[i]
		if k < 0 {
			d.say(spot{path: s.path}, "tank %s was put in: %s", s.tank, tankWords(is.Tanks[i]))
			continue
		}
		moved, before = moved || k < before, k
		d.was, d.is = &was.Tanks[k], &is.Tanks[i]
		objectA, _ := a[k].(map[string]any)
		objectB, _ := b[i].(map[string]any)
		d.object(s, objectA, objectB)
	}
	for k := range a {
		if !used[k] {
			d.say(spot{path: "/tanks"}, "tank %s was taken out: %s", strict.Clip(was.Tanks[k].Name), tankWords(was.Tanks[k]))
		}
	}
	if moved {
		d.say(spot{path: "/tanks"}, "the tanks stand in another order")
	}
}

func folded(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

func without(object any, field string) map[string]any {
	out := map[string]any{}
	if o, ok := object.(map[string]any); ok {
		for name, value := range o {
			if name != field {
				out[name] = value
			}
		}
	}
	return out
}

func entries(v any) []any { list, _ := v.([]any); return list }

// tankWords says what a tank is in a few words.
func tankWords(t Tank) string {
	text := string(t.Contents) + ", " + count(len(t.Bench.Readings), "reading", "readings")
	if t.Setting != nil {
		text += ", " + keyedWords(t.Setting, t)
	}
	if n := len(t.Checks); n > 0 {
		text += ", " + count(n, "check", "checks")
	}
	return text
}

// object compares two objects field by field, those of a kind first that is told
// as a whole.
func (d *differ) object(s spot, a, b map[string]any) {
	for _, field := range inOrder(members(a, b)) {
		before, was := a[field]
		now, is := b[field]
		if was && is && equal(before, now) {
			continue
		}
		told := len(d.out)
		at := s.at(field)
		if whole, ok := wholes[at.key]; ok {
			whole(d, at, before, now)
		} else {
			d.value(at, before, now)
		}
		if len(d.out) == told {
			d.say(at, "%s differs", at.words())
		}
	}
}

// value compares two values of one place; nil is none.
func (d *differ) value(s spot, a, b any) {
	objectA, isA := a.(map[string]any)
	objectB, isB := b.(map[string]any)
	if (isA || a == nil) && (isB || b == nil) && (isA || isB) {
		d.object(s, objectA, objectB)
		return
	}
	if a != nil && b != nil && isRange(a) && isRange(b) {
		d.plain(s, a, b)
		return
	}
	listA, isA := a.([]any)
	listB, isB := b.([]any)
	if (isA || a == nil) && (isB || b == nil) && (isA || isB) {
		d.list(s, listA, listB)
		return
	}
	d.plain(s, a, b)
}

// isRange says whether a value is a number, or a pair of them.
func isRange(v any) bool {
	list, ok := v.([]any)
	if !ok {
		_, ok = v.(float64)
		return ok
	}
	return len(list) == 2 && isRange(list[0]) && isRange(list[1])
}

// plain tells a plain value, or one of another kind.
func (d *differ) plain(s spot, a, b any) {
	now, before := s.figure(b), s.figure(a)
	switch {
	case a == nil:
		d.say(s, "%s is %s, was not stated", s.words(), now)
	case b == nil:
		d.say(s, "%s is no longer stated, was %s", s.words(), before)
	case now == before: // too long to be told
		d.say(s, "%s was changed", s.words())
	default:
		d.say(s, "%s is %s, was %s", s.words(), now, before)
	}
}

// list compares two lists entry by entry, as far as the same number of them is
// between those that stayed the same.
func (d *differ) list(s spot, a, b []any) {
	head, tail := sameEnds(a, b)
	out, in := a[head:len(a)-tail], b[head:len(b)-tail]
	at := func(i int) spot {
		entry := s.at(strconv.Itoa(head + i))
		entry.key, entry.label = s.key, strings.TrimSpace(s.label+" "+entryOf(s.key)+" "+strconv.Itoa(head+i+1))
		return entry
	}
	for i := range min(len(in), len(out)) {
		if !equal(out[i], in[i]) {
			d.value(at(i), out[i], in[i])
		}
	}
	for i := len(out); i < len(in); i++ {
		d.say(at(i), "%s was put in: %s", at(i).words(), inWords(in[i]))
	}
	for i := len(in); i < len(out); i++ {
		d.say(at(i), "%s was taken out: %s", at(i).words(), inWords(out[i]))
	}
	if len(a) == 0 && len(b) == 0 {
		d.say(s, "%s is stated as empty", s.words())
	}
}
