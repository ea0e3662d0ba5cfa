package job

import (
	"slices"
	"strconv"
	"strings"
)

// patch gives operations that make one tree of plain values of another. Objects
// are compared member by member. Of lists the entries that are the same at the
// head and at the tail are left alone, and those between are compared by pairs, or
// taken out and put in, whichever is shorter.
func patch(from, to any) ([]Operation, error) { return appendPatch(nil, "", from, to) }

func appendPatch(ops []Operation, path string, from, to any) ([]Operation, error) {
	if equal(from, to) {
		return ops, nil
	}
	put, err := plainJSON(to)
	if err != nil {
		return nil, err
	}
	whole := []Operation{{Op: Replace, Path: path, Value: put}}
	var parts []Operation
	object, isObject := from.(map[string]any)
	list, isList := from.([]any)
	switch to := to.(type) {
	case map[string]any:
		if isObject {
			parts, err = patchObject(path, object, to)
		}
	case []any:
		if isList {
			parts, err = patchList(path, list, to)
		}
	}
	if err != nil {
		return nil, err
	}
	if parts == nil || size(parts) > size(whole) {
		parts = whole
	}
	return append(ops, parts...), nil
}

func patchObject(path string, from, to map[string]any) (ops []Operation, err error) {
	for _, name := range members(from, to) {
		at := path + "/" + escaper.Replace(name)
		value, stays := to[name]
		before, was := from[name]
		switch {
		case !stays:
			ops = append(ops, Operation{Op: Remove, Path: at})
		case was:
			ops, err = appendPatch(ops, at, before, value)
		default:
			ops, err = appendAdd(ops, at, value)
		}
		if err != nil {
			return nil, err
		}
	}
	return ops, nil
}

func patchList(path string, from, to []any) ([]Operation, error) {
	head, tail := sameEnds(from, to)
	out, in := from[head:len(from)-tail], to[head:len(to)-tail]
	at := func(i int) string { return path + "/" + strconv.Itoa(head+i) }
	// by pairs the first so many, and then what one has more than the other
	by := func(pairs int) (ops []Operation, err error) {
		for i := range pairs {
			if ops, err = appendPatch(ops, at(i), out[i], in[i]); err != nil {
				return nil, err
			}
		}
		for i := len(out) - 1; i >= pairs; i-- {
			ops = append(ops, Operation{Op: Remove, Path: at(i)})
		}
		for i := pairs; i < len(in); i++ {
			if ops, err = appendAdd(ops, at(i), in[i]); err != nil {
				return nil, err
			}
		}
		return ops, nil
	}
	pairs := min(len(out), len(in))
	ops, err := by(pairs)
	if err != nil || pairs == 0 {
		return ops, err
	}
	if other, err := by(0); err == nil && size(other) < size(ops) {
		return other, nil
	}
	return ops, nil
}

// sameEnds says how many entries of two lists are the same at their head, and how
// many of the rest at their tail.
func sameEnds(a, b []any) (head, tail int) {
	for head < min(len(a), len(b)) && equal(a[head], b[head]) {
		head++
	}
	for tail < min(len(a), len(b))-head && equal(a[len(a)-1-tail], b[len(b)-1-tail]) {
		tail++
	}
	return head, tail
}

func appendAdd(ops []Operation, path string, value any) ([]Operation, error) {
	put, err := plainJSON(value)
	return append(ops, Operation{Op: Add, Path: path, Value: put}), err
}

// size is about how long operations are in a file.
func size(ops []Operation) int {
	n := 0
	for _, o := range ops {
		n += len(o.Op) + len(o.Path) + len(o.Value) + 30
	}
	return n
}

// members lists the names of two objects in order, each once.
func members(a, b map[string]any) []string {
	var names []string
	for name := range a {
		names = append(names, name)
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// equal says whether two trees of plain values are the same.
func equal(a, b any) bool {
	switch a := a.(type) {
	case map[string]any:
		b, ok := b.(map[string]any)
		if !ok || len(a) != len(b) {
			return false
		}
		for name, value := range a {
			if other, ok := b[name]; !ok || !equal(value, other) {
				return false
			}
		}
		return true
	case []any:
		b, ok := b.([]any)
		return ok && slices.EqualFunc(a, b, equal)
	}
	switch b.(type) {
	case map[string]any, []any:
		return false
	}
	return a == b
}

// How a name stands in a JSON Pointer (RFC 6901, section 3).
var escaper, unescaper = strings.NewReplacer("~", "~0", "/", "~1"), strings.NewReplacer("~1", "/", "~0", "~")
