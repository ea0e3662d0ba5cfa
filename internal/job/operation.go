package job

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Operation is one operation of a JSON Patch (RFC 6902).
type Operation struct {
	Op    string          `json:"op"`              // Add, Remove or Replace
	Path  string          `json:"path"`            // JSON Pointer (RFC 6901)
	Value json.RawMessage `json:"value,omitempty"` // none for Remove
}

// The operations that an undo is made of.
const (
	Add     = "add"
	Remove  = "remove"
	Replace = "replace"
)

// apply does operations to a tree of plain values, which is changed, and gives
// what it is then. The error says at which operation, from 1.
func apply(tree any, ops []Operation) (any, error) {
	for i, o := range ops {
		var err error
		if tree, err = o.apply(tree); err != nil {
			return nil, fmt.Errorf("operation %d, %s at %q: %w", i+1, o.Op, o.Path, err)
		}
	}
	return tree, nil
}

func (o Operation) apply(tree any) (any, error) {
	var value any
	switch o.Op {
	case Add, Replace:
		if err := json.Unmarshal(o.Value, &value); err != nil {
			return nil, fmt.Errorf("its value can't be read: %w", err)
		}
	case Remove:
		if o.Path == "" {
			return nil, errors.New("the whole can't be taken away")
		}
	default:
		return nil, fmt.Errorf("not an operation of an undo; expected %q, %q or %q", Add, Remove, Replace)
	}
	if o.Path == "" {
		return value, nil
	}
	if o.Path[0] != '/' {
		return nil, errors.New("a path begins with /")
	}
	names := strings.Split(o.Path[1:], "/")
	for i := range names {
		names[i] = unescaper.Replace(names[i])
	}
	return o.within(tree, names, value)
}

// within does the operation at the place that names lead to, and gives the tree
// afterwards.
func (o Operation) within(tree any, names []string, value any) (any, error) {
	switch t := tree.(type) {
	case map[string]any:
		return o.inObject(t, names, value)
	case []any:
		return o.inList(t, names, value)
	}
	return nil, fmt.Errorf("there is nothing below, where %q is looked for", names[0])
}

func (o Operation) inObject(object map[string]any, names []string, value any) (any, error) {
	name, last := names[0], len(names) == 1
	below, there := object[name]
	switch {
	case !there && (!last || o.Op != Add):
		return nil, fmt.Errorf("there is no %q", name)
	case !last:
		changed, err := o.within(below, names[1:], value)
		if err != nil {
			return nil, err
		}
		object[name] = changed
	case o.Op == Remove:
		delete(object, name)
	default:
		object[name] = value
	}
	return object, nil
}

func (o Operation) inList(list []any, names []string, value any) (any, error) {
	name, last := names[0], len(names) == 1
	most := len(list) - 1
	if last && o.Op == Add {
		most++
	}
	i, err := strconv.Atoi(name)
	switch {
	case name == "-" && last && o.Op == Add:
		i = len(list)
	case err != nil || strconv.Itoa(i) != name || i < 0 || i > most:
		return nil, fmt.Errorf("there is no entry %q in a list of %d", name, len(list))
	}
	switch {
	case !last:
		if list[i], err = o.within(list[i], names[1:], value); err != nil {
			return nil, err
		}
		return list, nil
	case o.Op == Remove:
		return slices.Delete(list, i, i+1), nil
	case o.Op == Add:
		return slices.Insert(list, i, value), nil
	}
	list[i] = value
	return list, nil
}
