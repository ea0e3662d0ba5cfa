package web

import (
	"html/template"
	"strings"
)

// said is what a field is called and the sentence of help under it.
type said struct{ label, hint, mode string }

// factsSaid are the fields of a tank beside its shape. The % stands for the unit
// of volume in which the job is shown.
var factsSaid = map[string]said{
	"name":                 {"Name", "What this tank is called in the job and on the record.", ""},
	"water_capacity_l":     {"Water capacity, %", "The whole inside volume, as on the plate; another unit may be written after it.", "decimal"},
	"permitted_fill_pct":   {"Permitted fill, percent", "The part of the water capacity that may be liquid. Of gas the plate and the local code decide, and more than 85 is never taken here.", "decimal"},
	"heel_l":               {"Heel, %", "What is left when nothing more can be drawn; or a height at the sender, like 12 mm.", ""},
	"sender.description":   {"Sender, in words", "What it is and how it moves, such as: magnet-driven dial, rising.", ""},
	"sender.type":          {"Type", "The workshop’s own name for senders of this kind, so that what is learnt of one helps with the next.", ""},
	"sender.batch":         {"Batch", "The delivery that it came with, where senders of one type differ by that.", ""},
	"sender.serial":        {"Serial number", "What tells this one from all others, as it stands on it.", ""},
	"wire.size":            {"Wire", "The area of one conductor in mm², or its gauge, like AWG 18.", ""},
	"wire.length_m":        {"Length one way, m", "From the sender to what reads it; the way back is added.", "decimal"},
	"wire.joints":          {"Joints", "Plugs, splices and terminals in both conductors together.", "numeric"},
	"wire.metal":           {"Metal", "What the conductor is made of.", ""},
	"wire.temperature_c":   {"Temperature of the wire", "As it usually is; 20 °C unless stated.", ""},
	"wall_mm":              {"Wall", "Only if the sizes were taken from outside: how thick the wall is. Blank for inside sizes.", ""},
	"turn_deg":             {"Turned, degrees", "About its upright, counter-clockwise seen from above: 90 for a cylinder lying athwart.", ""},
	"sensor.x_mm":          {"Sender forward of the middle", "Where the level is read; a minus sign for aft.", ""},
	"sensor.y_mm":          {"Sender to port of the middle", "Where the level is read; a minus sign for starboard.", ""},
	"wire.read_through_it": {"The bench readings were made through this wire", "", ""},
}

// Fact gives a field of the tank beside its shape.
func (b describedBody) Fact(name string) formField {
	s := factsSaid[name]
	f := b.field(name, strings.ReplaceAll(s.label, "%", unitOfVolume(b.Units)), s.hint, s.mode)
	if name == "wire.metal" {
		f.Options = chosen(metals, b.now.Get(name))
	}
	return f
}

// Through says whether the readings were made through the wire.
func (b describedBody) Through() bool { return b.text("wire.read_through_it") != "" }

// Holds is what may be in the tank, to choose from.
func (b describedBody) Holds() []option {
	b.labels["contents"] = "Contents"
	out := append([]option(nil), contentsKinds...)
	for i := range out {
		out[i].Chosen = out[i].Value == b.text("contents")
	}
	return out
}

// Bad gives what is wrong with a field.
func (b describedBody) Bad(name string) string { return b.faults[name] }

// Claims are the fields of the claimed spans, one at least.
func (b describedBody) Claims() []formField {
	rows := b.rows("claimed")
	if len(rows) == 0 {
		rows = []string{""}
	}
	out := make([]formField, len(rows))
	for i, text := range rows {
		out[i] = b.field(claimName(i), "Claimed span", "", "")
		out[i].Name, out[i].Value, out[i].Lines = "claimed", text, i+1
	}
	return out
}

// shapeView is a shape to choose, with its fields.
type shapeView struct {
	Key, Name, How string
	Chosen, Wall   bool
	Thumb, Sizes   template.HTML
	Fields, Radii  []formField
	Heads          []option
	HeadsName      string
}

// Shapes are the shapes to choose from.
func (b describedBody) Shapes() []shapeView {
	b.labels["shape"] = "Shape"
	var out []shapeView
	for _, k := range shapeKinds {
		v := shapeView{Key: k.key, Name: k.name, How: k.how, Chosen: b.text("shape") == k.key, Wall: k.wall, Thumb: shapeDrawings().thumbs[k.key], Sizes: shapeDrawings().sizes[k.key], HeadsName: k.key + ".heads"}
		for _, s := range k.sizes {
			if f := b.sizeField(k.key+"."+s.name, s); s.name == "crown_mm" || s.name == "knuckle_mm" {
				v.Radii = append(v.Radii, f)
			} else {
				v.Fields = append(v.Fields, f)
			}
		}
		if k.heads {
			v.Heads = chosen(headKinds, b.now.Get(v.HeadsName))
			b.labels[v.HeadsName] = "heads"
			if b.now.Get(v.HeadsName) == keptHeads {
				v.Heads[0].Chosen = false
				v.Heads = append(v.Heads, option{Value: keptHeads, Name: "different at each end", Hint: "as they are kept", Chosen: true})
			}
		}
		out = append(out, v)
	}
	return out
}

func (b describedBody) sizeField(name string, s size) formField {
	f := b.field(name, capital(s.label), s.hint, "")
	if f.Lines = s.lines; s.options != nil {
		f.Options = chosen(s.options, b.now.Get(name))
	}
	return f
}

// HeadThumb is the drawing of a head, beside a choice of the name; the name makes
// the ids in it its own, as several shapes have heads.
func (b describedBody) HeadThumb(head, name string) template.HTML {
	made := string(shapeDrawings().heads[head])
	return template.HTML(strings.ReplaceAll(made, "head-"+head+"-", "head-"+name+"-"+head+"-"))
}

// NoShape and OfFile say whether the shape isn't known, or is that of a file.
func (b describedBody) NoShape() bool { s := b.text("shape"); return s == "" || s == noShape }
func (b describedBody) OfFile() bool  { return b.text("shape") == fileShape }

// senderView is a sender's geometry to choose, with its fields.
type senderView struct {
	Key, Name string
	Chosen    bool
	Fields    []formField
}

// Senders are the kinds of senders to choose from.
func (b describedBody) Senders() []senderView {
	b.labels["on.kind"] = "How the sender reaches in"
	out := []senderView{{Name: "not stated", Chosen: b.text("on.kind") == ""}}
	for _, k := range senderSizes {
		v := senderView{Key: k.key, Name: k.name, Chosen: b.text("on.kind") == k.key}
		for _, s := range k.sizes {
			v.Fields = append(v.Fields, b.sizeField(senderName(k.key, s.name), s))
		}
		out = append(out, v)
	}
	return out
}

// Reaches says whether anything is stated of where the sender stands.
func (b describedBody) Reaches() bool {
	for _, name := range []string{"on.kind", "turn_deg", "sensor.x_mm", "sensor.y_mm"} {
		if b.text(name) != "" || b.faults[name] != "" {
			return true
		}
	}
	return false
}

// labelled notes what every field is called, for what is told of several.
func (b *describedBody) labelled() {
	for name := range factsSaid {
		b.Fact(name)
	}
	b.Holds()
	b.Claims()
	b.Shapes()
	b.Senders()
}
