package chart

import (
	"fmt"
	"sort"
	"strings"

	"gaugewright/internal/quantity"
)

// Role says what a shape is on the drawing, and so how it looks.
type Role string

// Line weights in pixels, each twice the one before but for the last, as in
// technical drawing (ISO 128: thin to thick as 1 to 2).
const (
	fine   = 0.6
	thin   = 0.8
	medium = 1.6
	heavy  = 2.4
)

// Sizes of lettering in pixels.
const (
	small   = 11.5
	usual   = 12.5
	leading = 14.0 // from line to line
)

// The roles.
const (
	Grid       Role = "grid"        // graph paper
	Axis       Role = "axis"        // the edge of a ruler
	Tick       Role = "tick"        // its divisions
	TickFine   Role = "tick-fine"   // its finest divisions
	Trace      Role = "curve"       // the curve itself
	BandEdge   Role = "band-edge"   // the edges of a doubt
	Hatch      Role = "hatch"       // the hatching of a doubt
	Claimed    Role = "claimed"     // a span as claimed
	Keyed      Role = "keyed"       // a value that was keyed in
	Permitted  Role = "permitted"   // the permitted fill
	Leader     Role = "leader"      // from a label to what it names
	Full       Role = "full"        // a filled symbol
	Open       Role = "open"        // an open symbol
	Cross      Role = "cross"       // a symbol of strokes
	Strike     Role = "strike"      // through what was set aside
	Outline    Role = "outline"     // the body of a fitting
	Detail     Role = "detail"      // lines within it
	Centre     Role = "centre"      // a centre line
	Hidden     Role = "hidden"      // an edge that lies behind
	Liquid     Role = "liquid"      // broken lines, as liquid is drawn in a section
	Wet        Role = "wet"         // the liquid's area, tinted
	Level      Role = "level"       // the level
	Offset     Role = "offset"      // from what should be shown to what is
	OffsetMost Role = "offset-most" // the largest of them
	Ghost      Role = "ghost"       // the same for another setting, which stays behind
	Module     Role = "module"      // the dark modules of a printed code
	Quiet      Role = "quiet"       // the white that a printed code stands on
	Label      Role = "label"       // plain lettering
	Figure     Role = "figure"      // figures at ticks
	Caption    Role = "caption"     // the name of an axis
	Strong     Role = "strong"      // lettering that matters most
)

// look is how a role is drawn. Colours are names of the palette, or black or
// white.
type look struct {
	stroke string
	width  float64
	dash   string
	round  bool // round ends
	fill   string
	tint   float64 // of the fill, 0..1, where it lets the ground through; its inside is by the even-odd rule
	size   float64 // of lettering
	bold   bool
}

var looks = map[Role]look{
	Grid:       {stroke: "faint", width: fine, fill: "none"},
	Axis:       {stroke: "ink", width: medium, fill: "none"},
	Tick:       {stroke: "ink", width: thin, fill: "none"},
	TickFine:   {stroke: "muted", width: fine, fill: "none"},
	Trace:      {stroke: "accent", width: heavy, round: true, fill: "none"},
	BandEdge:   {stroke: "accent", width: fine, fill: "none"},
	Hatch:      {stroke: "accent", width: thin, fill: "none"},
	Claimed:    {stroke: "muted", width: thin, dash: "1.5 3", fill: "none"},
	Keyed:      {stroke: "ink", width: 1.1, dash: "9 4", fill: "none"},
	Permitted:  {stroke: "ink", width: medium, dash: "12 3 2 3", fill: "none"},
	Leader:     {stroke: "muted", width: fine, fill: "none"},
	Full:       {stroke: "ink", width: thin, fill: "ink"},
	Open:       {stroke: "ink", width: 1.1, fill: "sheet"},
	Cross:      {stroke: "ink", width: 1.2, fill: "none"},
	Strike:     {stroke: "ink", width: medium, fill: "none"},
	Outline:    {stroke: "ink", width: medium, fill: "none"},
	Detail:     {stroke: "ink", width: thin, fill: "none"},
	Centre:     {stroke: "muted", width: fine, dash: "14 3 2 3", fill: "none"},
	Hidden:     {stroke: "ink", width: thin, dash: "5 3", fill: "none"},
	Liquid:     {stroke: "accent", width: 1.1, round: true, fill: "none"},
	Wet:        {stroke: "none", fill: "accent", tint: 0.17},
	Level:      {stroke: "accent", width: heavy, fill: "none"},
	Offset:     {stroke: "accent", width: 1.1, fill: "none"},
	OffsetMost: {stroke: "ink", width: heavy, fill: "none"},
	Ghost:      {stroke: "muted", width: thin, dash: "3 3", fill: "none"},
	// A camera wants black on white, on a dark page too.
	Module: {stroke: "none", fill: black},
	Quiet:  {stroke: "none", fill: white},

	Label:   {fill: "ink", size: usual},
	Figure:  {fill: "ink", size: usual},
	Caption: {fill: "muted", size: usual},
	Strong:  {fill: "ink", size: usual, bold: true},
}

// attributes gives the presentation attributes of a role, for a drawing that
// stands alone.
func (r Role) attributes(a Accent) string {
	l := looks[r]
	var b strings.Builder
	if l.size > 0 {
		fmt.Fprintf(&b, ` font-size="%s"`, quantity.Short(l.size, 2))
		if l.bold {
			b.WriteString(` font-weight="700"`)
		}
	} else {
		fmt.Fprintf(&b, ` stroke="%s" stroke-width="%s"`, light(l.stroke, a), quantity.Short(l.width, 2))
		if l.dash != "" {
			fmt.Fprintf(&b, ` stroke-dasharray="%s"`, l.dash)
		}
		if l.round {
			b.WriteString(` stroke-linecap="round" stroke-linejoin="round"`)
		}
	}
	fmt.Fprintf(&b, ` fill="%s"`, light(l.fill, a))
	if l.tint > 0 {
		fmt.Fprintf(&b, ` fill-opacity="%s" fill-rule="evenodd"`, quantity.Short(l.tint, 2))
	}
	return b.String()
}

// lettering is the lettering of drawings: narrow faces in the manner of
// drawing-office lettering that systems have, then whatever is there.
const lettering = `'DIN Alternate', Bahnschrift, 'Roboto Condensed', 'Arial Narrow', 'Liberation Sans Narrow', 'DejaVu Sans Condensed', sans-serif`

// Lettering is the font stack of drawings, for pages whose headings should
// look like them. Only fonts of the reader's system are named; none is loaded.
const Lettering = lettering

// CSS gives the rules that a page with inline drawings needs once: the palette
// as custom properties --gw-paper, --gw-sheet, --gw-ink, --gw-muted, --gw-faint
// and --gw-accent, light, dark and printed; the classes of [Accent]; and the
// colours of the roles.
func CSS() string {
	var b strings.Builder
	properties := func(selector string, dark bool) {
		tone := func(k ink) string {
			if dark {
				return k.dark
			}
			return k.light
		}
		fmt.Fprintf(&b, "%s{", selector)
		for _, k := range inks {
			fmt.Fprintf(&b, "--gw-%s:%s;", k.name, tone(k))
		}
		fmt.Fprintf(&b, "--gw-accent:%s}\n", tone(accents[0]))
		for _, k := range accents {
			fmt.Fprintf(&b, ".%s{--gw-accent:%s}\n", Accent(k.name).Class(), tone(k))
		}
	}
	properties(":root", false)
	b.WriteString("@media screen and (prefers-color-scheme:dark){\n")
	properties(":root", true)
	b.WriteString("}\n@media print{:root{")
	for i, k := range inks {
		if i > 0 {
			b.WriteByte(';')
		}
		fmt.Fprintf(&b, "--gw-%s:%s", k.name, k.print)
	}
	b.WriteString("}}\n")
	roles := make([]string, 0, len(looks))
	for r := range looks {
		roles = append(roles, string(r))
	}
	sort.Strings(roles)
	for _, r := range roles {
		l := looks[Role(r)]
		fmt.Fprintf(&b, ".gw-drawing .gw-%s{fill:%s", r, property(l.fill))
		if l.stroke != "" {
			fmt.Fprintf(&b, ";stroke:%s", property(l.stroke))
		}
		b.WriteString("}\n")
	}
	return b.String()
}

func property(colour string) string {
	if colour == "none" || colour == black || colour == white {
		return colour
	}
	return "var(--gw-" + colour + ")"
}
