package web

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"

	"gaugewright/internal/kin"
)

// The notes of the workshop that hold its sender types: the names of all, and the
// file of each under its name.
const (
	typesNote = "sender-types"
	typeNote  = "sender-type/"
)

// mostTypes is how many sender types a workshop keeps.
const mostTypes = 500

// typesKept are the sender types of the workshop as the store has them.
type typesKept struct {
	mu    sync.Mutex          // over a change, which reads before it writes
	files recall[typeFound]   // by the file
	jobs  map[string]jobTypes // what is in the jobs, by their ID
	seen  sync.Mutex          // over jobs
}

// typeFound is a type as it was read, and what its units come to. It doesn't change.
type typeFound struct {
	kind *kin.Type
	kin.Gathered
	err error // why its units come to nothing
}

// typeNames lists the types, in their order.
func (s *Site) typeNames(ctx context.Context) ([]string, error) {
	text, err := s.o.Store.Note(ctx, typesNote)
	if err != nil || text == "" {
		return nil, err
	}
	var names []string
	if err := json.Unmarshal([]byte(text), &names); err != nil {
		return nil, fmt.Errorf("the list of sender types can't be read: %w", err)
	}
	return names, nil
}

// typeOf gives one type; false where there is none of that name.
func (s *Site) typeOf(ctx context.Context, name string) (typeFound, bool, error) {
	text, err := s.o.Store.Note(ctx, typeNote+name)
	if err != nil || text == "" {
		return typeFound{}, false, err
	}
	if found, ok := s.types.files.get(text); ok {
		ownIn(ctx, found.kind.OwnWords()...)
		return found, true, nil
	}
	kind, err := kin.Read(strings.NewReader(text), "sender type "+name)
	if err != nil {
		return typeFound{}, false, fmt.Errorf("the sender type %q can't be read: %w", name, err)
	}
	ownIn(ctx, kind.OwnWords()...)
	found := typeFound{kind: kind}
	found.Gathered, found.err = kind.Gather()
	s.types.files.put(text, found)
	return found, true, nil
}

// allTypes gives every type that can be read.
func (s *Site) allTypes(ctx context.Context) ([]typeFound, error) {
	names, err := s.typeNames(ctx)
	if err != nil {
		return nil, err
	}
	var all []typeFound
	for _, name := range names {
		found, ok, err := s.typeOf(ctx, name)
		if err != nil {
			s.o.Log.Warn("sender type", "name", name, "error", err)
			continue
		}
		if ok {
			all = append(all, found)
		}
	}
	return all, nil
}

// changeType makes a type of the one that is kept, nil where there is none, and
// keeps it. Two programs that change the same type at once keep one change.
func (s *Site) changeType(ctx context.Context, name string, do func(old *kin.Type) (*kin.Type, error)) error {
	s.types.mu.Lock()
	defer s.types.mu.Unlock()
	found, _, err := s.typeOf(ctx, name)
	if err != nil {
		return err
	}
	kind, err := do(found.kind)
	if err != nil {
		return err
	}
	names, err := s.typeNames(ctx)
	if err != nil {
		return err
	}
	has := slices.Contains(names, name)
	text := ""
	if kind != nil {
		data, err := kind.Encode()
		if err != nil {
			return refused("Not kept: " + err.Error())
		}
		text = string(data)
		if !has && len(names) >= mostTypes {
			return refused(fmt.Sprintf("Not kept: there are %d sender types here already; remove one first.", len(names)))
		}
	}
	// The file first: a name without its file would be worse than the other way.
	if err := s.o.Store.SetNote(ctx, typeNote+name, text); err != nil {
		return err
	}
	switch {
	case kind != nil && !has:
		names = append(names, name)
		slices.SortFunc(names, func(a, b string) int { return strings.Compare(strings.ToLower(a), strings.ToLower(b)) })
	case kind == nil && has:
		names = slices.DeleteFunc(names, func(n string) bool { return n == name })
	default:
		return nil
	}
	list, err := json.Marshal(names)
	if err != nil {
		return err
	}
	return s.o.Store.SetNote(ctx, typesNote, string(list))
}

// copyOfType gives a type that may be changed.
func copyOfType(t *kin.Type) *kin.Type {
	own := *t
	own.Units = slices.Clone(t.Units)
	return &own
}
