package chart

// quietZone is the white around a QR code in modules (ISO/IEC 18004, 6.3.8).
const quietZone = 4

// Least and usual sizes of a printed code in pixels: 38 mm on paper.
const usualCode, leastCode = 144.0, 48.0

// Code draws a two-dimensional code from its modules, row by row from the top,
// dark as true, black on white whatever the page, with the quiet zone of four
// modules around it that a reader needs. The side is in pixels with the quiet
// zone; 0 is 144, which is 38 mm. Rows that aren't as many as they are long give
// a drawing of the white alone.
func Code(title, desc string, rows [][]bool, side float64) Drawing {
	side = length(side, usualCode, leastCode)
	d := Drawing{Title: title, Desc: desc, Width: side, Height: side, Accent: Plain}
	var p pen
	p.poly(Quiet, []Point{{0, 0}, {side, 0}, {side, side}, {0, side}}, true)
	n := len(rows)
	for _, row := range rows {
		if len(row) != n {
			n = 0
		}
	}
	if n > 0 {
		module := side / float64(n+2*quietZone)
		at := func(k int) float64 { return module * float64(k+quietZone) }
		var steps []Step
		for _, r := range darkAreas(rows) {
			steps = append(steps,
				Step{Kind: Move, To: Point{at(r.x), at(r.y)}},
				Step{Kind: Line, To: Point{at(r.toX), at(r.y)}},
				Step{Kind: Line, To: Point{at(r.toX), at(r.toY)}},
				Step{Kind: Line, To: Point{at(r.x), at(r.toY)}},
				Step{Kind: Close})
		}
		if len(steps) > 0 {
			// One shape: where areas touch, no hairline of white is left between.
			p.shapes = append(p.shapes, Path{Module, steps})
		}
	}
	d.Shapes = p.shapes
	return d
}

// area is a rectangle of modules, up to but not with toX and toY.
type area struct{ x, y, toX, toY int }

// darkAreas splits the dark modules into rectangles: runs in a row, and those
// of the next row that begin and end alike joined to them.
func darkAreas(rows [][]bool) []area {
	var done []area
	open := map[[2]int]int{} // begin and end of a run in the row above → its area
	for y, row := range rows {
		next := map[[2]int]int{}
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			from := x
			for x < len(row) && row[x] {
				x++
			}
			key := [2]int{from, x}
			k, above := open[key]
			if above {
				done[k].toY = y + 1
			} else {
				k = len(done)
				done = append(done, area{from, y, x, y + 1})
			}
			next[key] = k
		}
		open = next
	}
	return done
}
