package chart

import (
	"math"
	"sort"
)

// hatchGap is the distance between hatching strokes along an axis, in pixels.
const hatchGap = 4.5

// hatch gives the strokes that hatch the inside of a closed outline at 45°,
// rising to the right. Strokes lie on one grid for the whole drawing, so that
// areas that touch are hatched as one. The inside is by the even-odd rule.
func hatch(outline []Point) [][2]Point { return hatchWithin([][]Point{outline}) }

// hatchWithin is hatch for an area with several outlines, some of them holes.
func hatchWithin(outlines [][]Point) [][2]Point {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, outline := range outlines {
		for _, p := range outline {
			lo, hi = min(lo, p.X+p.Y), max(hi, p.X+p.Y)
		}
	}
	var strokes [][2]Point
	for c := math.Ceil(lo/hatchGap) * hatchGap; c <= hi; c += hatchGap {
		var xs []float64
		for _, outline := range outlines {
			if len(outline) < 3 {
				continue
			}
			for i, p := range outline {
				q := outline[(i+1)%len(outline)]
				a, b := p.X+p.Y-c, q.X+q.Y-c
				if (a <= 0) == (b <= 0) {
					continue
				}
				xs = append(xs, p.X+(q.X-p.X)*(a/(a-b)))
			}
		}
		sort.Float64s(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			strokes = append(strokes, [2]Point{{xs[i], c - xs[i]}, {xs[i+1], c - xs[i+1]}})
		}
	}
	return strokes
}
