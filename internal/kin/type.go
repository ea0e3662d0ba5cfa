package kin

import (
	"cmp"
	"fmt"
	"slices"
)

// Type is a type of sender: a file of units as they were read. Its curve and its
// spread are worked out of them and not stored, so that they can't disagree with
// the units, and two files can be merged.
type Type struct {
	Version int    `json:"version"`
	Name    string `json:"name"`
	Words   string `json:"words,omitempty"` // of the maker, or of whoever gathered it
	Marks   string `json:"marks"`           // see [Known]
	Gives   string `json:"gives"`
	Units   []Unit `json:"units"`
}

// Version is the version of type files this program writes.
const Version = 1

// Add puts a unit into the type. One that is there already is replaced, and the
// result says so: the same as [Unit.Same] has it, or of the same job and tank
// with no other serial number, which was benched again. The units stay in the
// order of their serial numbers, jobs and tanks, so that the order of adding
// leaves no trace.
func (t *Type) Add(u Unit) (replaced bool) {
	for i, old := range t.Units {
		again := old.Job == u.Job && old.Tank == u.Tank && (old.Serial == u.Serial || old.Serial == "" || u.Serial == "")
		if old.Same(u) || again {
			t.Units[i], replaced = u, true
			break
		}
	}
	if !replaced {
		t.Units = append(t.Units, u)
	}
	t.sort()
	return replaced
}

func (t *Type) sort() {
	slices.SortStableFunc(t.Units, func(a, b Unit) int {
		return cmp.Or(cmp.Compare(a.Serial, b.Serial), cmp.Compare(a.Job, b.Job), cmp.Compare(a.Tank, b.Tank), cmp.Compare(a.Date, b.Date))
	})
}

// Merge puts the units of two files of one type together, each once. Where both
// have a unit, the entry of the later date is kept; twice says how many those
// were. Types of different names, marks or values are refused.
func Merge(a, b *Type) (merged *Type, twice int, err error) {
	switch {
	case a.Name != b.Name:
		return nil, 0, fmt.Errorf("one file is of the type %q and the other of %q; files of one type are merged", a.Name, b.Name)
	case a.Marks != b.Marks:
		return nil, 0, fmt.Errorf("the type %q has its marks as %s in one file and as %s in the other; types of one kind of marks are merged", a.Name, a.Marks, b.Marks)
	case a.Gives != b.Gives:
		return nil, 0, fmt.Errorf("the type %q gives %s in one file and %s in the other; types that give the same are merged", a.Name, a.Gives, b.Gives)
	}
	merged = &Type{Version: Version, Name: a.Name, Words: cmp.Or(a.Words, b.Words), Marks: a.Marks, Gives: a.Gives, Units: slices.Clone(a.Units)}
	for _, u := range b.Units {
		i := slices.IndexFunc(merged.Units, u.Same)
		switch {
		case i < 0:
			merged.Units = append(merged.Units, u)
		default:
			twice++
			if u.later(merged.Units[i]) {
				merged.Units[i] = u
			}
		}
	}
	merged.sort()
	return merged, twice, nil
}

// later says which of two entries of one unit is kept: that of the later date,
// then that of more readings; the order of the files doesn't matter.
func (u Unit) later(v Unit) bool {
	return cmp.Or(cmp.Compare(u.Date, v.Date), cmp.Compare(u.Readings, v.Readings), cmp.Compare(u.Job, v.Job), cmp.Compare(fmt.Sprint(u), fmt.Sprint(v))) > 0
}
