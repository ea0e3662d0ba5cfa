package chart

import "math"

// sheet is a way to set the views out.
type sheet struct {
	cells    []cell
	height   float64
	oneScale bool
}

// laidOut chooses how the views stand. Side by side is the habit of technical
// drawing, labels beside what they name are the easiest to read; each is given
// up only where it would make the smallest section much smaller.
func (s Section) laidOut(width, height float64) sheet {
	var best sheet
	merit := -1.0
	for _, beside := range []bool{true, false} {
		for _, direct := range []bool{true, false} {
			if beside && (len(s.Views) == 1 || len(s.Views) > 3) {
				continue
			}
			l, ok := s.sheet(width, height, beside, direct)
			if !ok && beside {
				continue
			}
			m := l.smallest()
			if beside {
				m *= 1.7
			}
			if direct {
				m *= 1.35
			}
			if m > merit {
				best, merit = l, m
			}
		}
	}
	return best
}

// smallest gives the size of the smallest section, as the side of a square of
// the same area.
func (l sheet) smallest() float64 {
	least := math.Inf(1)
	for _, c := range l.cells {
		w, h := c.scale*(c.right-c.left), c.scale*(c.high-c.low)
		least = min(least, math.Sqrt(w*h))
	}
	return least
}

// sheet sets the views out in one way. It isn't good where the cells are wider
// than the drawing.
func (s Section) sheet(width, height float64, beside, direct bool) (l sheet, ok bool) {
	said := map[string]bool{}
	for _, v := range s.Views {
		// What a view before has said is not said again.
		if said[v.LevelLabel] {
			v.LevelLabel = ""
		}
		if v.Limit != nil && said[v.Limit.Label] {
			v.Limit = &Limited{Mark: v.Limit.Mark}
		}
		c := v.cell(width, beside, direct)
		if said[v.LevelLabel] = true; v.Limit != nil {
			said[v.Limit.Label] = true
		}
		l.cells = append(l.cells, c)
	}
	most := min(340, max(220, 0.75*width)) // how high a section may be where no height was asked for
	if beside {
		l.share()
		ok = l.row(width, height, most)
	} else {
		l.column(width, height, most)
		ok = true
	}
	return l, ok
}

// share lets views show the same heights where they nearly do, so that their
// levels stand in line.
func (l *sheet) share() {
	low, high, tallest := math.Inf(1), math.Inf(-1), 0.0
	for _, c := range l.cells {
		low, high, tallest = min(low, c.low), max(high, c.high), max(tallest, c.high-c.low)
	}
	if high-low > 1.25*tallest {
		return
	}
	for i := range l.cells {
		l.cells[i].low, l.cells[i].high = low, high
	}
}

// row sets the cells beside each other, to one scale.
func (l *sheet) row(width, height, most float64) bool {
	l.oneScale = true
	var top, bottom, room, tallest float64
	for _, c := range l.cells {
		top, bottom = max(top, c.margin.top), max(bottom, c.margin.bottom)
		room, tallest = max(room, c.noteRoom()), max(tallest, c.high-c.low)
	}
	if height > 0 {
		most = max(room, height-top-bottom)
	}
	wide := func(c cell, scale float64) float64 {
		return max(c.least, c.margin.left+scale*(c.right-c.left)+c.margin.right)
	}
	sum := func(scale float64) float64 {
		w := cellGap * float64(len(l.cells)-1)
		for _, c := range l.cells {
			w += wide(c, scale)
		}
		return w
	}
	if sum(0) > width {
		return false
	}
	lo, hi := 0.0, most/tallest
	if sum(hi) > width {
		for range 60 {
			if m := (lo + hi) / 2; sum(m) > width {
				hi = m
			} else {
				lo = m
			}
		}
		hi = lo
	}
	scale := hi
	// Names have the width that their cells have come to.
	for i := range l.cells {
		c := &l.cells[i]
		c.margin.top -= leading * float64(len(c.names))
		c.names = wrapped(c.Name, usual, wide(*c, scale)-8, 3)
		c.margin.top += leading * float64(len(c.names))
	}
	top = 0
	for _, c := range l.cells {
		top = max(top, c.margin.top)
	}
	room = max(room, scale*tallest)
	l.height = max(height, top+room+bottom)
	x := (width - sum(scale)) / 2
	for i := range l.cells {
		c := &l.cells[i]
		c.scale = scale
		c.x, c.y, c.width, c.height = x, 0, wide(*c, scale), l.height
		c.place(top, bottom)
		x += c.width + cellGap
	}
	return true
}

// column sets the cells below each other, to one scale where that leaves none
// of them too small.
func (l *sheet) column(width, height, most float64) {
	fixed, rooms, tall := 0.0, 0.0, 0.0
	for _, c := range l.cells {
		fixed += c.margin.top + c.margin.bottom + cellGap
		rooms += c.noteRoom()
		tall += c.high - c.low
	}
	free := max(rooms, height-fixed-leading)
	least := math.Inf(1)
	for i := range l.cells {
		c := &l.cells[i]
		own := most
		if height > 0 {
			own = max(leastPlot, free/float64(len(l.cells)))
		}
		c.scale = min(own/(c.high-c.low), max(leastPlot, width-c.margin.left-c.margin.right)/(c.right-c.left))
		least = min(least, c.scale)
	}
	l.oneScale = true
	for _, c := range l.cells {
		size := max(c.right-c.left, c.high-c.low)
		l.oneScale = l.oneScale && (least*size >= tooSmall || c.scale < 1.5*least)
	}
	for i := range l.cells {
		c := &l.cells[i]
		if l.oneScale {
			c.scale = least
			continue
		}
		c.scale = min(c.scale, max(least, ownHigh/(c.high-c.low)))
	}
	y := 0.0
	for i := range l.cells {
		c := &l.cells[i]
		room := max(c.noteRoom(), c.scale*(c.high-c.low))
		c.x, c.y, c.width, c.height = 0, y, width, c.margin.top+room+c.margin.bottom
		y += c.height
		if i < len(l.cells)-1 {
			y += cellGap
		}
	}
	if !l.oneScale {
		y += leading
	}
	l.height = max(height, y)
	for i := range l.cells {
		c := &l.cells[i]
		c.y += (l.height - y) / 2
		c.place(c.margin.top, c.margin.bottom)
	}
}
