package chart_test

import (
	"math"
	"sort"

	"gaugewright/internal/chart"
)

// overlapping gives two lines of lettering that lie over each other, by the
// widest face; empty where none do.
func overlapping(d chart.Drawing) (a, b string) {
	type box struct{ left, top, right, bottom float64 }
	var boxes []box
	var texts []string
	for _, s := range d.Shapes {
		l, ok := s.(chart.Text)
		if !ok {
			continue
		}
		size := chart.LetteringSize(l.Role)
		w := chart.TextWidth(l.String, size)
		left := l.At.X - w*[...]float64{0, 0.5, 1}[l.Anchor]
		k := box{left, l.At.Y - 0.72*size, left + w, l.At.Y + 0.2*size}
		for i, o := range boxes {
			if k.left < o.right && o.left < k.right && k.top < o.bottom && o.top < k.bottom {
				return texts[i], l.String
			}
		}
		boxes, texts = append(boxes, k), append(texts, l.String)
	}
	return "", ""
}

func pathArea(p chart.Path) float64 {
	sum := 0.0
	var start, last chart.Point
	for _, s := range p.Steps {
		switch s.Kind {
		case chart.Move:
			start = s.To
		case chart.Line:
			sum += last.X*s.To.Y - s.To.X*last.Y
		case chart.Close:
			sum += last.X*start.Y - start.X*last.Y
		}
		last = s.To
	}
	return math.Abs(sum) / 2
}

func pathLength(p chart.Path) float64 {
	sum := 0.0
	for i, s := range p.Steps {
		if s.Kind == chart.Line {
			sum += math.Hypot(s.To.X-p.Steps[i-1].To.X, s.To.Y-p.Steps[i-1].To.Y)
		}
	}
	return sum
}

func pathHeight(p chart.Path) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range p.Steps {
		if s.Kind != chart.Close {
			lo, hi = min(lo, s.To.Y), max(hi, s.To.Y)
		}
	}
	return hi - lo
}

func loopsHeight(loops [][][2]float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, l := range loops {
		for _, p := range l {
			lo, hi = min(lo, p[1]), max(hi, p[1])
		}
	}
	return hi - lo
}

// stripArea cuts into 4,000 strips and takes the length of each in its middle,
// by the even-odd rule.
func stripArea(loops [][][2]float64, level float64) float64 {
	low := math.Inf(1)
	for _, l := range loops {
		for _, p := range l {
			low = min(low, p[1])
		}
	}
	level = min(level, low+loopsHeight(loops))
	const n = 4000
	sum, high := 0.0, (level-low)/n
	for i := range n {
		y := low + (float64(i)+0.5)*high
		var xs []float64
		for _, l := range loops {
			for j, p := range l {
				q := l[(j+1)%len(l)]
				if (p[1] > y) != (q[1] > y) {
					xs = append(xs, p[0]+(y-p[1])*(q[0]-p[0])/(q[1]-p[1]))
				}
			}
		}
		sort.Float64s(xs)
		for j := 0; j+1 < len(xs); j += 2 {
			sum += xs[j+1] - xs[j]
		}
	}
	return max(0, sum*high)
}

func pathWidth(p chart.Path) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range p.Steps {
		if s.Kind != chart.Close {
			lo, hi = min(lo, s.To.X), max(hi, s.To.X)
		}
	}
	return hi - lo
}
