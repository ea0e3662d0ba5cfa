package web

import (
	"math"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tankfile"
)

// senderKind is a sender's geometry as the page offers it.
type senderKind struct {
	key, name string
	sizes     []size
}

var (
	dips = []option{{Value: "", Name: "heights in the tank"}, {Value: "float", Name: "travel of the float from its lowest stop"}}
	arm  = func(needed bool) []size {
		return []size{
			{name: "pivot_height_mm", label: "height of the pivot", hint: "From the lowest inside point of the tank up to the pivot.", needed: needed},
			{name: "arm_mm", label: "length of the arm", hint: "From the pivot to the middle of the float.", needed: needed},
			{name: "low_deg", label: "lower stop, degrees", hint: "From the horizontal, up counts as plus: -60.", needed: needed},
			{name: "high_deg", label: "upper stop, degrees", hint: "From the horizontal, up counts as plus: 45.", needed: needed},
			{name: "float_mm", label: "height of the float", hint: "Leave it blank where only its middle matters."},
			{name: "sinks_mm", label: "middle of the float below the surface", hint: "Leave it blank for a float that is half in."},
			{name: "towards_deg", label: "the arm points to, degrees", hint: "From forward, to port counts as plus; blank for forward."},
		}
	}
)

var senderSizes = []senderKind{
	{tankfile.KindRod, "a float on a rod", []size{
		{name: "rod_mm", label: "length of the rod", hint: "Below the mounting face.", needed: true},
		{name: "mount_height_mm", label: "height of the mounting face", hint: "Above the lowest inside point; blank for the tank's top."},
		{name: "foot_mm", label: "lower stop from the rod's end", hint: "From the lower end up to the upper edge of the stop."},
		{name: "head_mm", label: "upper stop from the mounting face", hint: "From the face down to the lower edge of the stop."},
		{name: "float_mm", label: "height of the float", hint: "From its lower to its upper face."},
		{name: "sinks_mm", label: "the float sinks in by", hint: "How deep it sits in the liquid."},
		{name: "marks", label: "marks in mm are", hint: "What was read on the bench.", options: dips},
	}},
	{tankfile.KindArm, "a float on a swinging arm", append(arm(true), size{name: "marks", label: "marks in mm are", hint: "What was read on the bench.", options: dips})},
	{tankfile.KindDial, "a dial", append([]size{
		{name: "marked", label: "percent on the dial are of", hint: "Most gas tanks' dials are marked in percent of the volume.", options: []option{
			{Value: "", Name: "the volume"}, {Value: "height", Name: "the inside height"}, {Value: "angle", Name: "the angle of its arm"}}},
	}, arm(false)...)},
}

// senderName gives the name of a field of a sender's geometry.
func senderName(kind, name string) string { return "on." + kind + "." + name }

// senderValues writes a sender's geometry, and where it stands, into fields.
func senderValues(v map[string][]string, f *tankfile.File) {
	set := func(name, text string) { v[name] = []string{text} }
	if f == nil {
		set("on.kind", "")
		return
	}
	set("turn_deg", figureField(f.TurnDeg))
	if s := f.Sensor; s != nil {
		set("sensor.x_mm", figureField(s.XMM))
		set("sensor.y_mm", figureField(s.YMM))
	}
	set("on.kind", "")
	if f.Sender == nil {
		return
	}
	set("on.kind", f.Sender.Kind)
	for name, value := range fieldsOf(f.Sender) {
		set(senderName(f.Sender.Kind, name), fieldText(value))
	}
}

// sender reads a sender's geometry into the fields of a tank file.
func (f *typed) sender(file map[string]any) {
	if v, ok := f.number("turn_deg", "°", -360, 360); ok && v != 0 {
		file["turn_deg"] = v
	} else {
		delete(file, "turn_deg")
	}
	sensor, _ := file["sensor"].(map[string]any)
	if sensor == nil {
		sensor = map[string]any{}
	}
	for _, name := range []string{"x_mm", "y_mm"} {
		delete(sensor, name)
		if v, ok := f.length("sensor."+name, false); ok && v != 0 {
			sensor[name] = v
		}
	}
	if delete(file, "sensor"); len(sensor) > 0 {
		for _, name := range []string{"x_mm", "y_mm"} {
			if _, ok := sensor[name]; !ok {
				sensor[name] = 0.0
			}
		}
		file["sensor"] = sensor
	}
	kind := f.text("on.kind")
	was, _ := file["sender"].(map[string]any)
	delete(file, "sender")
	for _, s := range senderSizes {
		if s.key != kind {
			continue
		}
		sender := map[string]any{"kind": kind}
		if known, ok := was["known_point"]; ok && was["kind"] == kind {
			sender["known_point"] = known
		}
		f.sizesInto(sender, s.sizes, func(name string) string { return senderName(kind, name) })
		file["sender"] = sender
		return
	}
	if kind != "" {
		f.blame("on.kind", "there is no sender of the kind %q", kind)
	}
}

// sizesInto reads sizes into an object of a tank file.
func (f *typed) sizesInto(object map[string]any, sizes []size, named func(string) string) {
	for _, s := range sizes {
		name := named(s.name)
		text := f.text(name)
		delete(object, s.name)
		var value any
		ok := text != ""
		switch {
		case text == "":
		case s.options != nil:
			value = text
		case s.name == "outline_mm":
			value, ok = f.outline(name)
		case s.name == "table":
			value, ok = f.table(name)
		case strings.HasSuffix(s.name, "_deg"):
			value, ok = f.degrees(name)
		default:
			value, ok = f.length(name, strings.Contains(s.name, "diameter"))
		}
		switch {
		case ok:
			object[s.name] = value
		case text == "" && s.needed:
			f.blame(name, "it has to be measured")
		}
	}
}

func (f *typed) degrees(name string) (float64, bool) {
	text := f.text(name)
	if v, err := quantity.ParseNumber(text, true); err == nil {
		return v, true
	}
	a, err := quantity.ParseRadian(text)
	if err != nil {
		f.blame(name, "%v", err)
		return 0, false
	}
	return quantity.Round(float64(a)*180/math.Pi, 9), true
}
