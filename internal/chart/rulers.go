package chart

import (
	"fmt"
	"math"
	"sort"

	"gaugewright/internal/quantity"
)

// Rulers is what the two rulers show: above, what should be shown at each
// mark; below, what is shown there. Both count alike, so a mark that reads
// true stands straight and one that doesn't leans, by its error.
type Rulers struct {
	Title, Desc string  // Desc: made up from the figures where empty
	Width       float64 // pixels; 0: 680. The height follows.
	Accent      Accent
	MarkTitle   string // names the row of marks: "mark, mm"; none where empty
	AboveTitle  string // "should show, %"
	BelowTitle  string // "will show, %"
	GhostTitle  string // whose the ghosts are, for Desc: "with 0 and 101"; may be empty
	Marks       []RulerMark
	Low, High   float64 // what the rulers count; both 0: 0 to 100
	Decimals    int     // of the figures shown, 0 to 3
}

// RulerMark is one mark on the two rulers.
type RulerMark struct {
	Name          string // "120"; may be empty
	Should, Shown float64
	Worst         bool // stands out: the largest error is here
	// Ghost is what another setting would show here, drawn faint behind; nil:
	// there is none.
	Ghost *float64
}

const (
	rulerHigh = 27.0 // of one ruler's body
	rulerGap  = 26.0 // between the two
)

// DrawRulers draws the two rulers.
func DrawRulers(r Rulers) Drawing {
	r = r.cleaned()
	d := Drawing{Title: r.Title, Desc: r.Desc, Accent: r.Accent, Width: length(r.Width, 680, 260)}
	if d.Desc == "" {
		d.Desc = r.described()
	}
	var p pen
	// The names stand at the left of their rows, or above them where the
	// drawing is narrow.
	stacked := d.Width < 520
	left, y, room := 18.0, 4.0, d.Width-8
	if !stacked {
		room = 0.25 * d.Width
	}
	r.MarkTitle, r.AboveTitle, r.BelowTitle = fitted(r.MarkTitle, usual, room), fitted(r.AboveTitle, usual, room), fitted(r.BelowTitle, usual, room)
	if !stacked {
		left = 4 + widest([]string{r.MarkTitle, r.AboveTitle, r.BelowTitle}, usual) + 26
	}
	x := mapping{r.Low, r.High, left, d.Width - 18}
	row := func(title string, y float64) float64 {
		p.text(Caption, 4, y+leading-3, Start, title)
		if stacked && title != "" {
			return y + leading + 4
		}
		return y
	}
	names := math.NaN()
	if r.MarkTitle != "" {
		y = row(r.MarkTitle, y)
		names = y + leading - 3
		y += leading + 2
	}
	y = row(r.AboveTitle, y)
	should := y + leading - 3
	y += leading + 4
	upper := y + rulerHigh // the measuring edges
	lower := upper + rulerGap
	shown := lower + rulerHigh + leading + 2
	d.Height = shown + 7
	if stacked {
		p.text(Caption, 4, shown+leading+4, Start, r.BelowTitle)
		d.Height += leading + 4
	} else {
		p.text(Caption, 4, shown, Start, r.BelowTitle)
	}
	r.body(&p, x, upper, -1)
	r.body(&p, x, lower, 1)
	r.ghosts(&p, x, upper, lower)
	r.offsets(&p, x, upper, lower)
	r.figures(&p, x, names, should, shown)
	d.Shapes = p.shapes
	return d
}

func (r Rulers) cleaned() Rulers {
	if !drawable(r.Low) || !drawable(r.High) || r.Low >= r.High {
		r.Low, r.High = 0, 100
	}
	r.Low, r.High = widened(r.Low, r.High)
	r.Decimals = min(3, max(0, r.Decimals))
	r.Marks = keep(r.Marks, func(m RulerMark) bool {
		return drawable(m.Should) && drawable(m.Shown) && (m.Ghost == nil || drawable(*m.Ghost))
	})
	return r
}

func (r Rulers) described() string {
	if len(r.Marks) == 0 {
		return "Two rulers without marks."
	}
	s := fmt.Sprintf("Two rulers, %s above and %s below.", orElse(r.AboveTitle, "should show"), orElse(r.BelowTitle, "shown"))
	for _, m := range r.Marks {
		if m.Worst {
			at := ""
			if m.Name != "" {
				at = " at the mark " + m.Name
			}
			s += fmt.Sprintf(" The largest offset is%s: %s where %s is right.", at, r.figure(m.Shown), r.figure(m.Should))
			break
		}
	}
	return s + r.ghostly()
}

// ghostly says that there are ghosts, and whose.
func (r Rulers) ghostly() string {
	for _, m := range r.Marks {
		if m.Ghost != nil {
			return " Faint and dashed behind: what is shown " + orElse(r.GhostTitle, "with another setting") + "."
		}
	}
	return ""
}

func (r Rulers) figure(v float64) string { return minus(quantity.Digits(v, r.Decimals)) }

// body draws one ruler, its measuring edge at y and its body above (way −1) or
// below (way 1) it.
func (r Rulers) body(p *pen, x mapping, y, way float64) {
	back := y + way*rulerHigh
	const ends = 16.0 // beyond the first and the last division, as rulers have
	p.poly(Detail, []Point{{x.a - ends, y}, {x.a - ends, back}, {x.b + ends, back}, {x.b + ends, y}}, false)
	p.line(Axis, x.a-ends, y, x.b+ends, y)
	scale := newRuler(r.Low, r.High, x.b-x.a, false)
	var coarse, finest [][2]Point
	for _, k := range scale.ticks() {
		stroke := [2]Point{{x.at(k.value), y}, {x.at(k.value), y + way*tickLength(k.rank)}}
		if k.rank == 2 {
			finest = append(finest, stroke)
			continue
		}
		coarse = append(coarse, stroke)
		if k.rank == 0 {
			s := scale.figure(k.value)
			baseline := y + way*(tickLong+3.5)
			if way > 0 {
				baseline += 0.72 * usual
			}
			half := textWidth(s, usual) / 2
			p.text(Caption, max(half+1, min(x.at(k.value), x.b+17-half)), baseline, Middle, s)
		}
	}
	p.strokes(TickFine, finest)
	p.strokes(Tick, coarse)
}

// ghosts joins each mark's place on the upper ruler with the place that another
// setting gives it on the lower one, and stands a foot there: where both settings
// show the same, the mark's own line lies on it.
func (r Rulers) ghosts(p *pen, x mapping, upper, lower float64) {
	const foot = 0.55 * rulerHigh
	var lines [][2]Point
	for _, m := range r.Marks {
		if m.Ghost == nil {
			continue
		}
		a, b := x.at(m.Should), x.at(*m.Ghost)
		lines = append(lines, [2]Point{{a, upper}, {b, lower}}, [2]Point{{b, lower}, {b, lower + foot}})
	}
	p.strokes(Ghost, lines)
}

// offsets joins each mark's place on the upper ruler with its place on the
// lower one.
func (r Rulers) offsets(p *pen, x mapping, upper, lower float64) {
	var plain, most [][2]Point
	for _, m := range r.Marks {
		a, b := x.at(m.Should), x.at(m.Shown)
		stroke := [2]Point{{a, upper}, {b, lower}}
		if m.Worst {
			most = append(most, stroke)
		} else {
			plain = append(plain, stroke)
		}
	}
	p.strokes(Offset, plain)
	p.strokes(OffsetMost, most)
}

// figures writes mark, right figure and shown figure of as many marks as have
// room: first the worst, then from the ends inwards as they come.
func (r Rulers) figures(p *pen, x mapping, names, should, shown float64) {
	order := make([]int, len(r.Marks))
	for i := range order {
		order[i] = i
	}
	rank := func(i int) int {
		switch {
		case r.Marks[i].Worst:
			return 0
		case i == 0 || i == len(r.Marks)-1:
			return 1
		}
		return 2
	}
	sort.SliceStable(order, func(a, b int) bool { return rank(order[a]) < rank(order[b]) })
	type taken struct{ at, half float64 }
	var above, below []taken
	clear := func(list []taken, at, half float64) bool {
		for _, t := range list {
			if math.Abs(t.at-at) < t.half+half+3 {
				return false
			}
		}
		return true
	}
	for _, i := range order {
		m := r.Marks[i]
		role := Figure
		if m.Worst {
			role = Strong
		}
		name, right, is := fitted(m.Name, usual, 60), minus(quantity.Short(m.Should, r.Decimals)), r.figure(m.Shown)
		if math.IsNaN(names) {
			name = ""
		}
		a, b := x.at(m.Should), x.at(m.Shown)
		halfAbove, halfBelow := max(textWidth(name, usual), textWidth(right, usual))/2, textWidth(is, usual)/2
		// Figures at the ends stay on the drawing.
		a = max(halfAbove+1, min(a, x.b+17-halfAbove))
		b = max(halfBelow+1, min(b, x.b+17-halfBelow))
		if !clear(above, a, halfAbove) || !clear(below, b, halfBelow) {
			continue
		}
		above, below = append(above, taken{a, halfAbove}), append(below, taken{b, halfBelow})
		if name != "" {
			p.text(role, a, names, Middle, name)
		}
		p.text(role, a, should, Middle, right)
		p.text(role, b, shown, Middle, is)
	}
}
