package tankfile

import (
	"math"

	"gaugewright/internal/tank"
)

// frustum makes a cone or a pyramid with its tip cut off.
func frustum(y Body, path []string) (tank.Solid, error) {
	height, wall := metres(y.HeightMM), metres(y.WallMM)
	if y.BottomDiameterMM != nil && y.TopDiameterMM != nil {
		side := taper{metres(*y.BottomDiameterMM) / 2, metres(*y.TopDiameterMM) / 2, height}.thinned(wall)
		low, high, ok := narrowed(wall, height-wall, side)
		if !ok {
			return nil, tooThick(y, path, field{"height_mm", y.HeightMM})
		}
		return placed(path)(tank.Cone(2*side.at(low), 2*side.at(high), high-low))
	}
	of := func(mm *float64) float64 {
		if mm == nil {
			return 0
		}
		return metres(*mm)
	}
	long := taper{of(y.BottomLengthMM) / 2, of(y.TopLengthMM) / 2, height}.thinned(wall)
	wide := taper{of(y.BottomWidthMM) / 2, of(y.TopWidthMM) / 2, height}.thinned(wall)
	low, high, ok := narrowed(wall, height-wall, long, wide)
	if !ok {
		return nil, tooThick(y, path, field{"height_mm", y.HeightMM})
	}
	return placed(path)(tank.Pyramid(2*long.at(low), 2*wide.at(low), 2*long.at(high), 2*wide.at(high), high-low))
}

// taper is how far a plane or conical side stands from the middle: from bottom
// to top over a height.
type taper struct{ bottom, top, height float64 }

func (t taper) slope() float64 { return (t.top - t.bottom) / t.height }

// at gives the distance at a height above the outer bottom; never below 0, of
// which a rounding could make it.
func (t taper) at(z float64) float64 {
	if z == t.height {
		return max(0, t.top) // to the last digit
	}
	return max(0, t.bottom+t.slope()*z)
}

// thinned moves the side inward by a wall, square to its slope.
func (t taper) thinned(wall float64) taper {
	in := wall * math.Hypot(1, t.slope())
	return taper{t.bottom - in, t.top - in, t.height}
}

// narrowed gives the part of a range of heights in which no side has crossed
// the middle: inside a thick-walled tip there is room only from some height on.
func narrowed(low, high float64, sides ...taper) (float64, float64, bool) {
	for _, t := range sides {
		if t.bottom < 0 && t.top < 0 {
			return 0, 0, false
		}
		switch s := t.slope(); {
		case s > 0:
			low = max(low, -t.bottom/s)
		case s < 0:
			high = min(high, -t.bottom/s)
		}
	}
	return low, high, high > low
}
