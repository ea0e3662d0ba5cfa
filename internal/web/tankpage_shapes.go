package web

import (
	"strings"

	"gaugewright/internal/tankfile"
)

// Shapes that the page offers beside those of tank files.
const (
	noShape   = "none"
	fileShape = "file" // as it is in a file, not to be edited here
)

// size is one size of a shape: the field of the tank file, what it is called and
// how it is measured.
type size struct {
	name, label, hint string
	needed            bool
	options           []option // to be chosen from; nil: a length
	lines             int      // of a text area
}

// shapeKind is a shape as the page offers it.
type shapeKind struct {
	key   string
	file  tankfile.Shape
	name  string
	how   string // one sentence on it
	sizes []size
	heads bool
	wall  bool
}

var (
	lengthsOver = []size{
		{name: "overall_length_mm", label: "length over both heads", hint: "Hook the tape over one end and read it at the other; or give the straight part instead."},
		{name: "length_mm", label: "length of the straight part", hint: "From weld to weld, where the shell is round and straight; leave one of the two lengths blank."},
	}
	headSizes = []size{
		{name: "crown_mm", label: "inside radius of the crown", hint: "Only for heads with radii of their own: from the maker's drawing."},
		{name: "knuckle_mm", label: "inside radius of the knuckle", hint: "Only for heads with radii of their own: the tight bend at the edge."},
	}
	across = size{name: "diameter_mm", label: "diameter", hint: "Across it at the widest; or lay the tape around it and write C before it, as in C 961 mm.", needed: true}
	tall   = size{name: "height_mm", label: "height", hint: "From the bottom to the top, square to both.", needed: true}
	axes   = func(list ...option) []option { return list }
)

// shapeKinds are the shapes in the order in which they are offered.
var shapeKinds = []shapeKind{
	{key: "lying", file: tankfile.LyingCylinder, name: "lying cylinder", how: "A round tank on its side.", sizes: append(append([]size{across}, lengthsOver...), headSizes...), heads: true, wall: true},
	{key: "upright", file: tankfile.UprightCylinder, name: "upright cylinder", how: "A round tank or a bottle that stands.", sizes: append(append([]size{across}, lengthsOver...), headSizes...), heads: true, wall: true},
	{key: "box", file: tankfile.Box, name: "box", how: "Six flat sides, square to one another.", wall: true, sizes: []size{
		{name: "length_mm", label: "length, fore and aft", hint: "Along the vehicle.", needed: true},
		{name: "width_mm", label: "width, athwart", hint: "Across the vehicle.", needed: true}, tall}},
	{key: "sphere", file: tankfile.Sphere, name: "sphere", how: "A ball.", sizes: []size{across}, wall: true},
	{key: "cone", file: tankfile.Frustum, name: "tapered, round", how: "A bucket or a cone, standing.", wall: true, sizes: []size{tall,
		{name: "bottom_diameter_mm", label: "diameter at the bottom", hint: "Across the bottom; 0 for a tip.", needed: true},
		{name: "top_diameter_mm", label: "diameter at the top", hint: "Across the top; 0 for a tip.", needed: true}}},
	{key: "taper", file: tankfile.Frustum, name: "tapered box", how: "Four sides that lean, standing.", wall: true, sizes: []size{tall,
		{name: "bottom_length_mm", label: "length at the bottom", hint: "Fore and aft, along the bottom edge.", needed: true},
		{name: "bottom_width_mm", label: "width at the bottom", hint: "Athwart, along the bottom edge.", needed: true},
		{name: "top_length_mm", label: "length at the top", hint: "Fore and aft, along the top edge.", needed: true},
		{name: "top_width_mm", label: "width at the top", hint: "Athwart, along the top edge.", needed: true}}},
	{key: "ring", file: tankfile.Ring, name: "ring tank", how: "A round tube bent to a ring, as in a spare wheel's well.", wall: true, sizes: []size{
		{name: "diameter_mm", label: "diameter over all", hint: "Across the whole ring; or around it with C before it.", needed: true},
		{name: "tube_diameter_mm", label: "diameter of the tube", hint: "Its height where it lies flat.", needed: true},
		{name: "axis", label: "how it stands", hint: "Most lie flat.", options: axes(option{Value: "", Name: "lying flat"}, option{Value: "x", Name: "on edge, facing forward"}, option{Value: "y", Name: "on edge, facing sideways"})}}},
	{key: "outline", file: tankfile.Extrusion, name: "outline", how: "The same section from end to end, such as a tank that steps round a wheel arch.", wall: true, sizes: []size{
		{name: "outline_mm", label: "corners of the section", lines: 8, needed: true, hint: "One corner a line, across and up in mm from any one point: 170 110. A rounded corner has its radius after it: 170 110 r30. An arc from the corner before names a point on it: 170 110 through 200 60."},
		{name: "length_mm", label: "length along it", hint: "Square to the section, from end to end.", needed: true},
		{name: "axis", label: "the section is seen", hint: "The way it was drawn.", options: axes(option{Value: "", Name: "from astern: across and up"}, option{Value: "y", Name: "from the side: forward and up"}, option{Value: "z", Name: "from above: forward and to port"})}}},
	{key: "table", file: tankfile.Strapping, name: "strapping table", how: "Heights and the litres that stand at them, measured by pouring or from the maker.", sizes: []size{
		{name: "table", label: "heights and litres", lines: 8, needed: true, hint: "One pair a line, the height in mm and the litres: 120 11.1. A table copied from a spreadsheet can be pasted."},
		{name: "between", label: "between the rows", hint: "Smooth suits a few rows of a round tank.", options: axes(option{Value: "", Name: "straight"}, option{Value: "smooth", Name: "smooth"})},
		{name: "length_mm", label: "length of the plan", hint: "Fore and aft; with the width it tells what leaning does, for upright sides."},
		{name: "width_mm", label: "width of the plan", hint: "Athwart; leave both blank where they aren't known."}}},
}

func kindOf(key string) (shapeKind, bool) {
	for _, k := range shapeKinds {
		if k.key == key {
			return k, true
		}
	}
	return shapeKind{}, false
}

// keyOf says as which of the shapes of the page a tank's shape is shown.
func keyOf(f *tankfile.File) string {
	switch {
	case f == nil:
		return noShape
	case f.CSV != "" || f.MeshFile != "":
		return fileShape
	case f.Shape == tankfile.Frustum && f.BottomDiameterMM != nil:
		return "cone"
	case f.Shape == tankfile.Frustum:
		return "taper"
	}
	for _, k := range shapeKinds {
		if k.file == f.Shape {
			return k.key
		}
	}
	return fileShape
}

// Heads of cylinders, by the names of tank files.
const keptHeads = "kept" // different at both ends, or otherwise as in a file

var headKinds = []option{
	{Value: "flat", Name: "flat", Hint: "a disc"},
	{Value: "hemispherical", Name: "hemispherical", Hint: "half a ball"},
	{Value: "ellipsoidal-2-1", Name: "2:1 ellipsoidal", Hint: "a quarter of the diameter deep"},
	{Value: "kloepper", Name: "dished, Klöpper", Hint: "DIN 28011, 0.19 of the diameter deep"},
	{Value: "korbbogen", Name: "deep dished, Korbbogen", Hint: "DIN 28013, 0.25 of the diameter deep"},
	{Value: "asme-fd", Name: "flanged and dished", Hint: "crown radius the diameter, 0.17 of it deep"},
	{Value: "torispherical", Name: "dished, radii of its own", Hint: "state the two radii below"},
}

// tapeWords puts the names of a file's fields into the words of the page.
var tapeWords = func() *strings.Replacer {
	seen := map[string]bool{}
	var pairs []string
	add := func(name, label string) {
		if !seen[name] {
			seen[name] = true
			pairs = append(pairs, `"`+name+`"`, "“"+label+"”", name, "“"+label+"”")
		}
	}
	for _, k := range shapeKinds {
		for _, s := range k.sizes {
			if strings.HasSuffix(s.name, "_mm") {
				add(s.name, s.label)
			}
		}
	}
	for _, s := range senderSizes {
		for _, f := range s.sizes {
			if strings.Contains(f.name, "_") {
				add(f.name, f.label)
			}
		}
	}
	add("wall_mm", "wall")
	add("water_capacity_l", "water capacity")
	add("permitted_fill_pct", "permitted fill")
	add("density_kg_l", "density")
	add("heel_l", "heel")
	return strings.NewReplacer(pairs...)
}()
