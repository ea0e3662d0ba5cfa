package tankfile

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6/kind"

	"gaugewright/internal/strict"
	"gaugewright/internal/wording"
)

// Explain has the sentences on what the schema found that only a tank can be
// wrong with; nil leaves the rest to the reader. A form whose files have tanks
// in them asks it too: it looks at no part of a schema but this one's.
func Explain(v strict.Violation) []strict.Problem {
	if !strings.Contains(v.Schema, "/tank-v1.schema.json#") {
		return nil
	}
	object, _ := v.Value.(map[string]any)
	switch k := v.Kind.(type) {
	case *kind.Minimum, *kind.Maximum:
		if mm, ok := v.Value.(float64); ok && path.Base(v.Schema) == "size" {
			return v.Say("%s", unitsMixed(mm))
		}
	case *kind.OneOf:
		return choice(v, object)
	case *kind.Not:
		if _, ok := object["at"]; ok {
			return v.Say("a corner is rounded (corner_mm) or reached by an arc (through), not both; delete one of the two")
		}
		return v.Say("the heel is stated twice, as heel_l and as heel_mm; delete one of the two")
	case *kind.FalseSchema:
		return v.Say("%s", misplaced(v))
	case *kind.Required:
		return missing(v, k.Missing)
	case *kind.AdditionalProperties:
		return extra(v, object, k.Properties)
	}
	return nil
}

// unitsMixed refuses a size that no tank of this trade has.
func unitsMixed(mm float64) string {
	said := fmt.Sprintf("found %s, expected 5 to 20000 mm", strict.Figure(mm))
	switch {
	case mm > 20000:
		return fmt.Sprintf("%s mm is %s m; expected 5 mm to 20 m; was it meant in another unit?", strict.Figure(mm), strict.Figure(mm/1000))
	case mm > 0:
		return said + "; was it meant in metres or inches? sizes are in millimetres"
	}
	return said
}

// choice says which of the alternatives of a shape is wanted.
func choice(v strict.Violation, object map[string]any) []strict.Problem {
	none := func(msg string, fields ...string) []strict.Problem {
		return []strict.Problem{{Path: v.Path, Msg: msg, Missing: fields}}
	}
	has := func(names ...string) (there []string) {
		for _, n := range names {
			if _, ok := object[n]; ok {
				there = append(there, n)
			}
		}
		return there
	}
	switch shapeOf(object) {
	case Frustum:
		round, square := has(roundFrustum...), has(squareFrustum...)
		if len(round) > 0 && len(square) > 0 {
			return v.Say("both %s and %s; a frustum is round or has four sides; delete the ones or the others", round[0], square[0])
		}
		for _, s := range []struct{ there, all []string }{{round, roundFrustum}, {square, squareFrustum}} {
			if len(s.there) > 0 {
				left := slices.DeleteFunc(slices.Clone(s.all), func(n string) bool { return slices.Contains(s.there, n) })
				return none(fmt.Sprintf("missing %s, which %s needs beside it", wording.Several(quotes(left), "and"), strict.Quoted(s.there[0])), left...)
			}
		}
		return none(fmt.Sprintf("no sizes of the ends; expected %s of a round frustum, or %s", wording.Several(quotes(roundFrustum), "and"), wording.Several(quotes(squareFrustum), "and")),
			append(slices.Clone(roundFrustum), squareFrustum...)...)
	case Strapping:
		if len(has("table", "csv")) == 2 {
			return v.Say("both table and csv; keep the one that is right and delete the other")
		}
		return none(`no table; expected "table", rows of height_mm and volume_l, or "csv", a file with these columns`, "table", "csv")
	}
	if len(has("length_mm", "overall_length_mm")) == 2 {
		return v.Say("both length_mm, the straight part, and overall_length_mm, over both heads; keep the one that was measured and delete the other")
	}
	return none(`no length; expected "length_mm", the straight part, or "overall_length_mm", over both heads`, "length_mm", "overall_length_mm")
}

var (
	roundFrustum  = []string{"bottom_diameter_mm", "top_diameter_mm"}
	squareFrustum = []string{"bottom_length_mm", "bottom_width_mm", "top_length_mm", "top_width_mm"}
)

// misplaced says why a field may not stand where it does.
func misplaced(v strict.Violation) string {
	field := v.Field()
	parent, _ := v.Parent.(map[string]any)
	switch {
	case strings.Contains(v.Schema, "#/$defs/tank/"):
		return fmt.Sprintf("%s is the place of a part, and this is the whole tank; delete it", field)
	case field == "wall_mm" && strings.Contains(v.Schema, "stack_part"):
		return "the parts of a stack are open to each other, with no wall between them; state their inside sizes and delete wall_mm"
	case field == "wall_mm":
		return "what is taken away has the size that is taken away; delete wall_mm"
	case field == "z_mm":
		return fmt.Sprintf("a part of a stack stands on the one before; delete z_mm, or make the stack %q", Joined)
	case field == "version":
		return "the version stands once, at the top of the file; delete it here"
	}
	return fmt.Sprintf("%s is of the tank as a whole, and this is a part, a %s; write it at the top", field, words(shapeOf(parent)))
}

// missing names the sizes that a shape or a sender needs.
func missing(v strict.Violation, names []string) (out []strict.Problem) {
	for _, name := range names {
		msg := fmt.Sprintf("missing field %q", name)
		if what := thing(v); what != "" && name != "shape" && name != "version" {
			msg += fmt.Sprintf(", which %s has", what)
		}
		out = append(out, strict.Problem{Path: v.Path, Msg: msg, Missing: []string{name}})
	}
	return out
}

// extra says what to do about fields that aren't known.
func extra(v strict.Violation, object map[string]any, names []string) (out []strict.Problem) {
	known := strict.Fields(v.Part)
	free := slices.DeleteFunc(slices.Clone(known), func(n string) bool { _, there := object[n]; return there })
	for _, name := range names {
		p := strict.Problem{Path: v.Path, Key: name}
		if p.Msg, p.Meant = v.Form.Meant(name, free); p.Msg == "" {
			p.Msg, p.Meant = v.Form.Meant(name, known)
		}
		if msg, meant := better(v, name, known); msg != "" {
			p.Msg, p.Meant = msg, meant
		}
		if p.Msg == "" {
			p.Msg = fmt.Sprintf("unknown field %s; delete it; known are %s", strict.Quoted(name), wording.Several(quotes(known), "and"))
			if what := thing(v); what != "" {
				p.Msg = fmt.Sprintf("%s has no field %s; delete it; its own are %s", what, strict.Quoted(name), wording.Several(quotes(own(v.Part)), "and"))
			}
		}
		out = append(out, p)
	}
	return out
}

// better has the usual mistakes that no likeness of the names shows.
func better(v strict.Violation, name string, known []string) (msg string, meant []string) {
	what := thing(v)
	knows := func(n string) bool { return slices.Contains(known, n) }
	radius := strings.Contains(strings.ToLower(name), "radius")
	switch {
	case radius && knows("diameter_mm"):
		return fmt.Sprintf("unknown field %s; write \"diameter_mm\", twice the radius", strict.Quoted(name)), []string{"diameter_mm"}
	case radius && knows("corner_mm"):
		return fmt.Sprintf("unknown field %s; the radius that rounds a corner is \"corner_mm\"", strict.Quoted(name)), nil
	case name == "height_mm" && knows("overall_length_mm"):
		meant = []string{"length_mm", "overall_length_mm"}
		return fmt.Sprintf("%s has no height_mm; write \"length_mm\", the straight part, or \"overall_length_mm\", over both heads", what), meant
	case slices.Contains([]string{"left", "right", "bottom", "top"}, name) && len(known) == 2:
		return fmt.Sprintf("unknown head %s; these are %s", strict.Quoted(name), wording.Several(quotes(known), "and")), known
	case name != "wall_mm":
		return "", nil
	case knows("parts"):
		return fmt.Sprintf("%s has no wall_mm of its own; state it in the parts of joined tanks, and inside sizes in those of a stack", what), nil
	}
	return fmt.Sprintf("%s has no wall_mm: its sizes are inside ones already; delete it", what), nil
}

// thing names the shape or the sender that a violation is about, with its
// article; "" where it is neither.
func thing(v strict.Violation) string {
	object, _ := v.Value.(map[string]any)
	def := path.Base(v.Schema)
	if s, ok := object["shape"].(string); ok && def == strings.ReplaceAll(s, "-", "_") {
		return article(words(Shape(s)))
	}
	if k, ok := object["kind"].(string); ok && def == "sender_"+strings.ReplaceAll(k, "-", "_") {
		return map[string]string{KindRod: "a float rod", KindArm: "a swinging arm", KindDial: "a dial"}[k]
	}
	return ""
}

// own lists the fields that a shape has besides those of every shape.
func own(part map[string]any) []string {
	return slices.DeleteFunc(strict.Fields(part), func(n string) bool {
		return slices.Contains([]string{"version", "name", "note", "shape", "wall_mm", "turn_deg", "without", "capacity_l", "permitted_fill_pct",
			"heel_l", "heel_mm", "sensor", "sender", "x_mm", "y_mm", "z_mm", "kind", "known_point"}, n)
	})
}

func shapeOf(object map[string]any) Shape {
	s, _ := object["shape"].(string)
	return Shape(s)
}

// words gives a shape in words.
func words(s Shape) string {
	switch s {
	case Strapping:
		return "strapping table"
	case Joined:
		return "joined tank"
	}
	return strings.ReplaceAll(string(s), "-", " ")
}

func article(noun string) string {
	if noun != "" && strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

func quotes(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = strict.Quoted(n)
	}
	return out
}
