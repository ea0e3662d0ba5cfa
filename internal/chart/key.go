package chart

// key says at the top of a curve drawing what its symbols mean, of those that
// are there, and gives where it ends.
func (c Curve) key(p *pen, width float64) float64 {
	var entries []keyEntry
	has := func(test func(Reading) bool) bool { return len(keep(c.Readings, test)) > 0 }
	if len(c.Marks) > 1 {
		entries = append(entries, keyEntry{func(x, y float64) { p.line(Trace, x, y, x+20, y) }, "curve"})
	}
	if c.DoubtOhms != nil && len(c.Marks) > 1 {
		entries = append(entries, keyEntry{func(x, y float64) {
			box := []Point{{x, y - 5}, {x + 20, y - 5}, {x + 20, y + 5}, {x, y + 5}}
			p.strokes(Hatch, hatch(box))
			p.strokes(BandEdge, [][2]Point{{box[0], box[1]}, {box[3], box[2]}})
		}, orElse(c.DoubtLabel, "doubt")})
	}
	for _, s := range []struct {
		sweep Sweep
		words string
	}{{Up, "read going up"}, {Down, "read going down"}, {Neither, "reading"}} {
		if has(func(r Reading) bool { return r.Sweep == s.sweep }) {
			entries = append(entries, keyEntry{func(x, y float64) { symbol(p, x+10, y, s.sweep) }, s.words})
		}
	}
	if has(func(r Reading) bool { return r.SetAside }) {
		entries = append(entries, keyEntry{func(x, y float64) { strike(p, x+10, y) }, "set aside"})
	}
	if len(c.Keyed) > 0 {
		entries = append(entries, keyEntry{func(x, y float64) { p.line(Keyed, x, y, x+22, y) }, "keyed in"})
	}
	if len(c.Claims) > 0 {
		entries = append(entries, keyEntry{func(x, y float64) { p.line(Claimed, x, y, x+22, y) }, "as claimed"})
	}
	return writeKey(p, entries, width)
}

// keyEntry is one symbol of a key with its words.
type keyEntry struct {
	sample func(x, y float64) // draws 22 pixels wide from x, middle at y
	words  string
}

// writeKey writes a key from the top and gives where it ends.
func writeKey(p *pen, entries []keyEntry, width float64) float64 {
	const sample, gap, row = 26.0, 16.0, leading + 4
	x, y := 4.0, 12.0
	for _, e := range entries {
		words := fitted(e.words, usual, width-sample-8)
		wide := sample + textWidth(words, usual)
		if x > 4 && x+wide > width-4 {
			x, y = 4, y+row
		}
		e.sample(x, y)
		p.text(Label, x+sample, y+0.36*usual, Start, words)
		x += wide + gap
	}
	return y + 8
}
