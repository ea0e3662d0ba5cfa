package chart

// Accent chooses the one colour of a tank by what is in it. The main colours
// are those that ISO 14726 gives to pipes by their contents: fresh water blue,
// fuels brown, flammable gases yellow ochre, waste media black. The tones are
// ours, dark enough to be seen on paper; every accent stands beside words.
type Accent string

// The accents.
const (
	Plain Accent = "plain" // anything else, and the zero value
	Water Accent = "water"
	Fuel  Accent = "fuel"
	Gas   Accent = "gas"
	Waste Accent = "waste"
)

// ink is one colour of the palette: light, dark and printed. Accents are
// printed as they are light.
type ink struct{ name, light, dark, print string }

// inks are the colours of pages and drawings: ink and muted are for text and
// have a contrast of 7 and 4.5 to 1 or more to paper and to sheet; faint is
// for lines that help the eye and carry no meaning of their own.
var inks = []ink{
	{"paper", "#f4f4ef", "#12161b", "#fff"},
	{"sheet", "#fdfdfb", "#191e25", "#fff"},
	{"ink", "#18222d", "#e9e6de", "#000"},
	{"muted", "#525d69", "#a9b2bb", "#3d444b"},
	{"faint", "#c3c8cb", "#3e4853", "#c2c6c9"},
}

// black and white are the same on every ground, for what a camera has to read.
const black, white = "#000", "#fff"

// accents are the colours of [Accent], with 3 to 1 or more to paper and sheet.
// Black can't be seen on a dark ground: there waste is the plain light grey,
// and the words tell.
var accents = []ink{
	{string(Plain), "#525d69", "#a9b2bb", "#525d69"},
	{string(Water), "#1c5a97", "#7fb6ec", "#1c5a97"},
	{string(Fuel), "#7a4720", "#cf9f6d", "#7a4720"},
	{string(Gas), "#a36c05", "#e3b44a", "#a36c05"},
	{string(Waste), "#16191c", "#d5d8da", "#16191c"},
}

// known gives the accent itself, or Plain where it isn't one.
func (a Accent) known() Accent {
	for _, k := range accents {
		if k.name == string(a) {
			return a
		}
	}
	return Plain
}

// Class gives the CSS class that sets the accent for everything inside an
// element, when the page has the rules of [CSS].
func (a Accent) Class() string { return "gw-" + string(a.known()) }

// light gives the colour of a name on light ground.
func light(name string, a Accent) string {
	switch name {
	case black, white:
		return name
	case "accent":
		return find(accents, string(a.known()))
	}
	return find(inks, name)
}

func find(list []ink, name string) string {
	for _, k := range list {
		if k.name == name {
			return k.light
		}
	}
	return "none"
}
