package strict

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/wording"
)

// foreignUnits are endings that people write, and that stand for a unit where a
// form has no other meaning for them.
var foreignUnits = []string{
	"percent", "share", "in", "inch", "inches", "ft", "cm", "m", "um",
	"ml", "cl", "dl", "m3", "litre", "litres", "liter", "liters", "gal", "gals", "gallon", "gallons", "usgal", "impgal", "ukgal", "qt",
	"g", "lb", "lbs", "oz", "t", "kohm", "kohms", "mohm", "mohms", "megohm", "v", "mv", "volt", "volts", "ma", "amp", "amps", "milliamp", "milliamps", "f", "k", "degf", "degc", "celsius", "fahrenheit",
}

// unknown says that a field isn't known and what to write in its place. It
// gives the fields that were probably meant as well.
func (f *Form) unknown(name string, known []string, object any) (msg string, meant []string) {
	if msg, meant := f.Meant(name, known); msg != "" {
		return msg, meant
	}
	said := "unknown field " + Quoted(name)
	there, _ := object.(map[string]any)
	free := slices.DeleteFunc(slices.Clone(known), func(field string) bool { _, ok := there[field]; return ok || f.settled(field, there) })
	if len(free) == 0 {
		return said + "; delete it", nil
	}
	return said + "; delete it, or write one of " + AnyOf(free), nil
}

// Meant says that a field isn't known and which of the known ones it was
// probably meant to be: those of the same quantity in another unit, or one that
// is a slip of the keyboard away. It is "" where none is near.
func (f *Form) Meant(name string, known []string) (msg string, meant []string) {
	said := "unknown field " + Quoted(name)
	lower := strings.ToLower(strings.TrimSpace(name))
	if family := f.family(lower, known); len(family) > 0 {
		parts := make([]string, len(family))
		for i, field := range family {
			_, unit := f.splitUnit(field)
			parts[i] = fmt.Sprintf("%q (%s)", field, f.words(unit))
		}
		return said + "; write " + wording.Several(parts, "or"), family
	}
	if near := nearest(lower, known); near != "" {
		return said + fmt.Sprintf("; did you mean %q?", near), []string{near}
	}
	return "", nil
}

// family gives the known fields of the same quantity in the units that are
// known, for a name that is written in another unit or in none: mark_cm,
// kohm, capacity, capacity_gal.
func (f *Form) family(name string, known []string) []string {
	base, unit := f.splitUnit(name)
	taken := slices.ContainsFunc(f.Units, func(u Unit) bool { return slices.Contains(f.Takes[u.Ending], unit) })
	var out []string
	for _, u := range f.Units {
		if takes := f.Takes[u.Ending]; taken != slices.Contains(takes, unit) || !taken && takes != nil {
			continue
		}
		for _, field := range known {
			knownBase, knownUnit := f.splitUnit(field)
			same := knownBase == base || base != "" && strings.HasSuffix(knownBase, "_"+base)
			if knownUnit == u.Ending && same && !(unit == "" && base == "") {
				out = append(out, field)
			}
		}
	}
	return out
}

// settled says whether a field that stands in the place of another is there.
func (f *Form) settled(field string, there map[string]any) bool {
	for _, group := range f.Either {
		if slices.Contains(group, field) && slices.ContainsFunc(group, func(other string) bool { _, ok := there[other]; return ok }) {
			return true
		}
	}
	return false
}

// splitUnit takes the unit off a field name: "mark", "mm"; "", "ohm" for a
// name that is a unit itself; "note", "" where there is none.
func (f *Form) splitUnit(name string) (base, unit string) {
	i := strings.LastIndexByte(name, '_')
	ending := name[i+1:]
	if f.words(ending) == "" && !slices.Contains(foreignUnits, ending) {
		return name, ""
	}
	return name[:max(0, i)], ending
}

// words says what an ending that is one of the form's units stands for, or "".
func (f *Form) words(ending string) string {
	for _, u := range f.Units {
		if u.Ending == ending {
			return u.Words
		}
	}
	return ""
}

// nearest gives the known name that differs from a name by no more than two
// slips of the keyboard, and by less than half its length; or "".
func nearest(name string, known []string) string {
	best, least := "", 3
	for _, k := range known {
		if d := wording.Slips(Clip(name), k); d < least && 2*d < len(k) {
			best, least = k, d
		}
	}
	return best
}
