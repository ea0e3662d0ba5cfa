package job

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/wording"
)

// unitWords says what the endings of the field names stand for.
var unitWords = map[string]string{
	"pct": "percent", "mm": "millimetres", "l": "litres", "kg": "kilograms", "ohm": "ohms", "c": "degrees Celsius",
}

// unitOrder is the order in which fields that differ by their unit are listed.
var unitOrder = []string{"pct", "mm", "l", "kg", "ohm", "c"}

// foreignUnits are endings that people write and a job file doesn't take.
var foreignUnits = []string{
	"percent", "share", "in", "inch", "inches", "ft", "cm", "m", "um",
	"ml", "cl", "dl", "m3", "litre", "litres", "liter", "liters", "gal", "gals", "gallon", "gallons", "usgal", "impgal", "ukgal", "qt",
	"g", "lb", "lbs", "oz", "t", "kohm", "kohms", "mohm", "mohms", "megohm", "v", "mv", "volt", "volts", "f", "k", "degf", "degc", "celsius", "fahrenheit",
}

// fieldsOf lists the fields that a part of the schema knows.
func fieldsOf(part map[string]any) []string {
	properties, _ := part["properties"].(map[string]any)
	names := make([]string, 0, len(properties))
	for name := range properties {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// unknown says that a field isn't known and what to write in its place. It
// gives the fields that were probably meant as well.
func unknown(name string, known []string, object any) (msg string, meant []string) {
	said := "unknown field " + quoted(name)
	lower := strings.ToLower(strings.TrimSpace(name))
	if family := family(lower, known); len(family) > 0 {
		parts := make([]string, len(family))
		for i, f := range family {
			_, unit := splitUnit(f)
			parts[i] = fmt.Sprintf("%q (%s)", f, unitWords[unit])
		}
		return said + "; write " + wording.Several(parts, "or"), family
	}
	if near := nearest(lower, known); near != "" {
		return said + fmt.Sprintf("; did you mean %q?", near), []string{near}
	}
	there, _ := object.(map[string]any)
	free := slices.DeleteFunc(slices.Clone(known), func(f string) bool { _, ok := there[f]; return ok })
	if len(free) == 0 {
		return said + "; delete it", nil
	}
	return said + "; delete it, or write one of " + several(free), nil
}

// family gives the known fields of the same quantity in the units that are
// known, for a name that is written in another unit or in none: mark_cm,
// kohm, capacity, capacity_gal.
func family(name string, known []string) []string {
	base, unit := splitUnit(name)
	var out []string
	for _, u := range unitOrder {
		for _, f := range known {
			knownBase, knownUnit := splitUnit(f)
			same := knownBase == base || base != "" && strings.HasSuffix(knownBase, "_"+base)
			if knownUnit == u && same && !(unit == "" && base == "") {
				out = append(out, f)
			}
		}
	}
	return out
}

// splitUnit takes the unit off a field name: "mark", "mm"; "", "ohm" for a
// name that is a unit itself; "note", "" where there is none.
func splitUnit(name string) (base, unit string) {
	i := strings.LastIndexByte(name, '_')
	ending := name[i+1:]
	if _, ok := unitWords[ending]; !ok && !slices.Contains(foreignUnits, ending) {
		return name, ""
	}
	return name[:max(0, i)], ending
}

// nearest gives the known name that differs from a name by no more than two
// slips of the keyboard, and by less than half its length; or "".
func nearest(name string, known []string) string {
	best, least := "", 3
	for _, k := range known {
		if d := wording.Slips(clip(name), k); d < least && 2*d < len(k) {
			best, least = k, d
		}
	}
	return best
}
