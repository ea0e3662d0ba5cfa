package tank

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Between says how a strapping table runs between its rows.
type Between string

const (
	// Straight is the usual of strapping tables: volume linear in height.
	Straight Between = "straight"
	// Smooth is a monotone cubic, for the few steps of a tank that was filled
	// and measured.
	Smooth Between = "smooth"
)

// strappingSolid is a table as a piecewise cubic: with x = z − height[i],
// V = k[i][0] + x·(k[i][1] + x·(k[i][2] + x·k[i][3])) from row i to the next.
type strappingSolid struct {
	height        []float64
	k             [][4]float64 // one fewer than rows
	sum           []float64    // ∫V dz from the first row to each
	capacity      float64
	length, width float64
}

// Strapping makes a tank of a strapping table: rising heights in metres from
// the level of the lowest inside point, and the volume in m³ below each, which
// doesn't fall. A table whose first row has a height and a volume above 0 goes
// on in a straight line to nothing at height 0, as if the lowest part were
// upright; its own first row is kept. A first row of no volume says where the
// tank begins to fill. The last row is the top of the tank.
//
// Straight runs linearly between the rows. Smooth is Fritsch and Butland's
// monotone cubic (SIAM J. Sci. Stat. Comput. 5, 1984, 300–304), which never
// leaves the range of the rows beside it.
//
// length and width are the extents of the tank's inside along x and y in metres,
// 0 where they aren't known. They are used for a tilt only. With pitch
// alone what is reckoned is right for any tank whose section is the same along
// its length, such as a lying cylinder with flat ends. With roll it is assumed
// that the sides are upright, that is that the liquid at every height spreads
// over the whole width; of a round tank that is rough. Without them a tilt is
// refused. Centroids are on the same assumptions, and upright in the middle.
//
// The error names the row, counting from 1.
func Strapping(heights, volumes []float64, between Between, length, width float64) (Solid, error) {
	if err := strappingRows(heights, volumes); err != nil {
		return nil, err
	}
	n := len(heights)
	if between != Straight && between != Smooth {
		return nil, fmt.Errorf("a strapping table can't run %q between its rows; expected %q or %q", between, Straight, Smooth)
	}
	for _, s := range []struct {
		name string
		size float64
	}{{"length", length}, {"width", width}} {
		if s.size != 0 && !boxSize(s.size) {
			return nil, fmt.Errorf("the %s given with the strapping table is %s; expected more than 0 mm, or none", s.name, quantity.Metre(s.size))
		}
	}
	top, capacity := heights[n-1], volumes[n-1]
	if most := length * width * top; most > 0 && capacity > 1.02*most {
		return nil, fmt.Errorf("the strapping table holds %s, but a tank of %s × %s × %s holds %s at most; is one of them in another unit?",
			quantity.CubicMetre(capacity), quantity.Metre(length), quantity.Metre(width), quantity.Metre(top), quantity.CubicMetre(most))
	}
	var x, y []float64
	if volumes[0] > 0 {
		x, y = append(x, 0), append(y, 0)
	}
	x, y = append(x, heights...), append(y, volumes...)
	s := &strappingSolid{height: x, capacity: capacity, length: length, width: width}
	var smooth interp.FritschButland
	if between == Smooth {
		if err := smooth.Fit(x, y); err != nil {
			return nil, err
		}
	}
	s.sum = make([]float64, len(x))
	s.k = make([][4]float64, len(x)-1)
	for i := range s.k {
		h, rise := x[i+1]-x[i], y[i+1]-y[i]
		s.k[i] = [4]float64{y[i], rise / h}
		if between == Smooth {
			// The cubic with these ends and slopes.
			a, b := smooth.PredictDerivative(x[i]), smooth.PredictDerivative(x[i+1])
			s.k[i] = [4]float64{y[i], a, (3*rise/h - 2*a - b) / h, (a + b - 2*rise/h) / (h * h)}
		}
		k := s.k[i]
		s.sum[i+1] = s.sum[i] + h*(k[0]+h*(k[1]/2+h*(k[2]/3+h*k[3]/4)))
	}
	return s, nil
}

// Box gives the corners of the box around it: length and width as given, 0
// where they weren't, and the height of the last row.
func (s *strappingSolid) Box() (low, high r3.Vec) {
	return r3.Vec{X: -s.length / 2, Y: -s.width / 2}, r3.Vec{X: s.length / 2, Y: s.width / 2, Z: s.top()}
}

func (s *strappingSolid) top() float64 { return s.height[len(s.height)-1] }

// find gives the row at or below a height: -1 below the first, one fewer than
// the rows at the last and above.
func (s *strappingSolid) find(z float64) int {
	low, high := 0, len(s.height)
	for low < high {
		mid := (low + high) / 2
		if s.height[mid] <= z {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low - 1
}

// below gives the volume under a height of the upright tank, and its slope.
func (s *strappingSolid) below(z float64) (volume, slope float64) { return s.piece(s.find(z), z) }

// integral gives ∫V dz up to a height, beyond the top as well.
func (s *strappingSolid) integral(z float64) float64 {
	i := s.find(z)
	if i < 0 {
		return 0
	}
	x := z - s.height[i]
	if i >= len(s.k) {
		return s.sum[i] + x*s.capacity
	}
	k := &s.k[i]
	return s.sum[i] + x*(k[0]+x*(k[1]/2+x*(k[2]/3+x*k[3]/4)))
}

// Contains says whether a point lies inside, as far as a table tells: within
// the length, and within the width that the volume's slope divided by the
// length gives at that height, set in the middle. Without length and width no
// point counts as inside.
func (s *strappingSolid) Contains(p r3.Vec) bool {
	if s.length == 0 || s.width == 0 || !(p.Z >= 0 && p.Z <= s.top()) || !(math.Abs(p.X) <= s.length/2) {
		return false
	}
	_, slope := s.below(p.Z)
	return math.Abs(p.Y) <= slope/s.length/2
}

// Facets gives none: a table has no shape.
func (s *strappingSolid) Facets(float64) Facets { return Facets{} }

// Cut gives the table itself upright; for a tilt see [Strapping].
func (s *strappingSolid) Cut(up r3.Vec) (Cut, error) {
	if !(up.Z > 0) {
		return nil, errors.New("a strapping table can't be laid on its side or turned over")
	}
	// Less than this no surface leans by as much as an atom; its tangent would
	// divide nothing by nothing.
	const slight = 1e-13
	if math.Abs(up.X) < slight {
		up.X = 0
	}
	if math.Abs(up.Y) < slight {
		up.Y = 0
	}
	if up.X == 0 && up.Y == 0 {
		return s.upright(), nil
	}
	var lacks string
	switch pitch, roll := up.X != 0 && s.length == 0, up.Y != 0 && s.width == 0; {
	case pitch && roll:
		lacks = "length_mm and width_mm"
	case pitch:
		lacks = "length_mm"
	case roll:
		lacks = "width_mm"
	default:
		return newStrappingTilted(s, up), nil
	}
	return nil, fmt.Errorf("a strapping table has no shape, so its tilt can't be reckoned; give %s of the inside, and it is reckoned as a tank of one section along its length, with upright sides", lacks)
}

// strappingUpright is the table itself. It begins where the volume begins, and
// ends where it no longer grows.
type strappingUpright struct {
	s         *strappingSolid
	low, high float64
}

func (s *strappingSolid) upright() *strappingUpright {
	rows := len(s.height)
	first := sort.Search(rows-1, func(i int) bool { v, _ := s.below(s.height[i+1]); return v > 0 })
	full := sort.Search(rows, func(i int) bool { v, _ := s.below(s.height[i]); return v >= s.capacity })
	return &strappingUpright{s, s.height[first], s.height[min(full, rows-1)]}
}

func (c *strappingUpright) Span() (low, high float64) { return c.low, c.high }

func (c *strappingUpright) Below(d float64) (volume, surface float64) { return c.s.below(d) }

// Moment integrates by parts: ∫z dV = z·V − ∫V dz.
func (c *strappingUpright) Moment(d float64) r3.Vec {
	d = min(d, c.s.top())
	v, _ := c.s.below(d)
	return r3.Vec{Z: d*v - c.s.integral(d)}
}
