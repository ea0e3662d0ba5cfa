package chart

import "slices"

// historyFrame is where everything stands.
type historyFrame struct {
	left, right, top, bottom float64 // of the graph of the level
	flagTop                  float64
	height                   float64 // of the drawing
	x, y                     mapping
	marks, values            ruler
	panels                   []panelFrame
}

// panelFrame is where one panel stands.
type panelFrame struct {
	head        float64 // the baseline of its title
	top, bottom float64
	y           mapping
	ohms        ruler
	flat        bool // there is nothing in it
}

const (
	flagHigh  = 17.0
	panelHigh = 88.0
	belowAxis = 2*leading + 19 // times, days and the title of the axis
)

// placed writes the key at the top and finds the place for everything else.
func (h History) placed(p *pen, width float64) historyFrame {
	var f historyFrame
	high := 270.0
	if width < 600 {
		high = 220
	}
	f.flagTop = h.key(p, width) + 6
	if h.MarkTitle != "" || h.ValueTitle != "" {
		f.flagTop += leading
	}
	f.top = f.flagTop + 4
	if len(h.Flags) > 0 {
		f.top = f.flagTop + flagHigh + 5
	}
	f.bottom = f.top + high
	f.y = mapping{0, 100, f.bottom, f.top}
	f.marks = newRuler(0, 100, high, true)
	figures := f.marks.widest()
	if n := len(h.Values); n > 0 {
		f.values = newRuler(h.Values[0], h.Values[n-1], max(40, f.y.at(h.Marks[0])-f.y.at(h.Marks[n-1])), true)
	}
	y := f.bottom
	for _, panel := range h.Panels {
		seen := panel.extent()
		g := panelFrame{head: y + leading + 12, flat: seen.empty()}
		g.top = g.head + 7
		g.bottom = g.top + panelHigh
		if g.flat {
			g.bottom = g.top + 2*leading
		}
		lo, hi := widened(seen.lo, seen.hi)
		margin := 0.06 * (hi - lo)
		g.ohms = newRuler(lo-margin, hi+margin, g.bottom-g.top, true)
		g.ohms.lo, g.ohms.hi = g.ohms.rounded()
		g.y = mapping{g.ohms.lo, g.ohms.hi, g.bottom, g.top}
		if !g.flat {
			figures = max(figures, g.ohms.widest())
		}
		f.panels = append(f.panels, g)
		y = g.bottom
	}
	f.height = y + tickLong + belowAxis
	f.left = 4 + figures + 5 + tickLong
	f.right = width - 10
	if len(h.Values) > 0 {
		f.right = max(f.left+60, width-4-f.values.widest()-5-tickLong)
	}
	f.x = mapping{h.From, h.To, f.left, f.right}
	return f
}

// widest gives the width of the widest of a ruler's figures.
func (r ruler) widest() float64 {
	w := 0.0
	for _, t := range r.ticks() {
		if t.rank == 0 {
			w = max(w, textWidth(r.figure(t.value), usual))
		}
	}
	return w
}

// key says at the top what the symbols mean, of those that are there, and gives
// where it ends.
func (h History) key(p *pen, width float64) float64 {
	var entries []keyEntry
	if len(h.Levels) > 0 {
		entries = append(entries,
			keyEntry{func(x, y float64) { p.line(Trace, x, y, x+20, y) }, "level, mean"},
			keyEntry{func(x, y float64) {
				box := []Point{{x, y - 5}, {x + 20, y - 5}, {x + 20, y + 5}, {x, y + 5}}
				p.strokes(Hatch, hatch(box))
				p.strokes(BandEdge, [][2]Point{{box[0], box[1]}, {box[3], box[2]}})
			}, "doubt, 95 %"},
			keyEntry{func(x, y float64) {
				p.poly(Wet, []Point{{x, y - 6}, {x + 20, y - 6}, {x + 20, y + 6}, {x, y + 6}}, true)
			}, "least to greatest"})
	}
	if len(h.Without) > 0 {
		entries = append(entries, keyEntry{func(x, y float64) { p.line(Strike, x, y, x+20, y) }, "read, but no level"})
	}
	if h.anyBeyond() {
		entries = append(entries, keyEntry{func(x, y float64) {
			p.line(Axis, x, y-4, x+20, y-4)
			p.strokes(Level, [][2]Point{{{x + 5, y - 4}, {x + 5, y - 4 + beyondLong}}, {{x + 10, y - 4}, {x + 10, y - 4 + beyondLong}}, {{x + 15, y - 4}, {x + 15, y - 4 + beyondLong}}})
		}, "read, beyond the scale"})
	}
	for _, way := range []struct {
		way   Way
		words string
	}{{CameIn, "came in"}, {WentOut, "went out"}} {
		if slices.ContainsFunc(h.Flags, func(g Flag) bool { return g.Way == way.way }) {
			entries = append(entries, keyEntry{func(x, y float64) { waySign(p, x+13, y, way.way) }, way.words})
		}
	}
	return writeKey(p, entries, width)
}
