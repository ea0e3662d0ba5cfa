package chart

import (
	"strings"
	"testing"
)

// Every role has a look on paper: a stroke or a fill, and lettering a size.
func TestEveryRoleIsPrinted(t *testing.T) {
	for r, l := range looks {
		p := r.Printed(Gas)
		if p.Stroke == nil && p.Fill == nil {
			t.Errorf("%s is drawn with nothing", r)
		}
		if p.Stroke != nil && p.Width <= 0 || l.size > 0 && p.Size <= 0 {
			t.Errorf("%s has no width or size: %+v", r, p)
		}
		if n := len(strings.Fields(l.dash)); len(p.Dash) != n {
			t.Errorf("%s has %d dashes, want %d", r, len(p.Dash), n)
		}
		for _, d := range p.Dash {
			if d <= 0 {
				t.Errorf("%s has a dash of %g", r, d)
			}
		}
	}
}

// The colours of the palette, by hand.
func TestColours(t *testing.T) {
	for name, c := range map[string][2]Colour{
		"ink":   {Ink(), {0, 0, 0}},
		"muted": {Muted(), {0x3d, 0x44, 0x4b}},
		"faint": {Faint(), {0xc2, 0xc6, 0xc9}},
		"gas":   {Gas.Colour(), {0xa3, 0x6c, 0x05}},
		"none":  {Accent("no such").Colour(), Plain.Colour()},
		"open":  {*Open.Printed(Gas).Fill, {255, 255, 255}},
	} {
		if c[0] != c[1] {
			t.Errorf("%s is %v, want %v", name, c[0], c[1])
		}
	}
	// No colour of the palette is written in a way that isn't read.
	for _, list := range [][]ink{inks, accents} {
		for _, k := range list {
			if n := len(k.print); n != 4 && n != 7 || k.print[0] != '#' {
				t.Errorf("%s is printed as %q", k.name, k.print)
			}
		}
	}
}
