package record

import "gaugewright/internal/chart"

// end is what the record is, where it is signed, and from what it was made.
func (p *pdf) end(d *Document) []slab {
	slabs := []slab{{space: 20, height: 7, draw: func(top float64) {
		p.line(margin, top+boldLine/2, margin+p.column(), top+boldLine/2, boldLine, chart.Ink())
	}}}
	if len(d.States.Rows) > 0 {
		slabs = append(slabs, p.table(d.States)...)
		slabs = append(slabs, slab{height: 8})
	}
	for _, t := range d.Terms {
		slabs = append(slabs, p.paragraph(p.run(t, body()), 2)...)
	}
	if n := len(d.Signatures); n > 0 {
		const gap = 18.0
		shares := make([]float64, n)
		sum := 0.0
		for i := range shares {
			shares[i] = 1.3
			if i == n-1 && n > 1 { // the date
				shares[i] = 1
			}
			sum += shares[i]
		}
		x, high := margin, 0.0
		var cells []cell
		var under [][]row
		for i, s := range d.Signatures {
			w := (p.column() - gap*float64(n-1)) * shares[i] / sum
			cells = append(cells, cell{x: x, width: w, rows: p.lines(s.Name, quiet(), w)})
			under = append(under, p.lines(s.Under, body(), w))
			high = max(high, height(cells[i].rows))
			x += w + gap
		}
		// A name of many lines is one that nobody signs over; it still stands there.
		high = max(high+14, 38)
		slabs = append(slabs, slab{space: 8, height: high + 2 + leading(bodySize), draw: func(top float64) {
			for i, c := range cells {
				p.rows(c.rows, c.x, top+high-2-height(c.rows), c.width, 0)
				p.line(c.x, top+high, c.x+c.width, top+high, 1.1, chart.Ink())
				p.rows(under[i], c.x, top+high+2, c.width, 0)
			}
		}})
	}
	slabs = append(slabs, p.paragraph(p.run("Job file SHA-256: "+d.Checksum, remark()), 12)...)
	slabs = append(slabs, p.paragraph(p.run(d.origin(), remark()), 0)...)
	slabs = append(slabs, p.paragraph(p.run(d.ends(), remark()), 0)...)
	return holding(slabs, gentle)
}
