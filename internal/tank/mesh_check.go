package tank

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// MeshOptions say how a mesh from a file is to be taken. The zero value does for
// a drawing of a tank's inside.
type MeshOptions struct {
	// Weld is the distance in metres below which two corners of open edges
	// are taken for one. 0 stands for a millionth of the largest extent. A
	// closed mesh is left as it is.
	Weld float64
	// Wall says that the mesh is the tank's wall, drawn as a solid: what is
	// taken is the space it encloses.
	Wall bool
}

// NewMesh takes a mesh from a file for a tank's inside. It checks that the mesh
// is closed, turned outward, and doesn't cross itself. What can be mended
// without a guess is mended; the sentences say what was done and what else is
// worth knowing. All else is refused: the error says what was found, at which
// triangles (counted from 1 in the order of f) and places, and what to do. f
// isn't changed.
//
// Crossings shallower than the digits of a float32 at the mesh's coordinates
// aren't looked for.
func NewMesh(f Facets, o MeshOptions) (Solid, []string, error) {
	c, err := newMeshCheck(f, o)
	if err != nil {
		return nil, nil, err
	}
	edges, err := c.close()
	if err != nil {
		return nil, nil, err
	}
	if err := c.orient(edges); err != nil {
		return nil, nil, err
	}
	if err := c.crossings(); err != nil {
		return nil, nil, err
	}
	if err := c.nest(); err != nil {
		return nil, nil, err
	}
	if err := c.windings(); err != nil {
		return nil, nil, err
	}
	m := newMeshSolid(c.facets)
	if !(m.capacity > 0) || math.IsInf(m.capacity, 0) {
		return nil, nil, fmt.Errorf("the mesh encloses %s; expected more than nothing", quantity.CubicMetre(m.capacity))
	}
	return m, c.said, nil
}

// meshCheck is a mesh being checked and mended. Triangles keep the number they
// had in the file.
type meshCheck struct {
	options MeshOptions
	facets  Facets
	number  []int32 // of each triangle, from 1
	extent  float64 // the largest
	digits  float64 // what a float32 can tell apart at the largest coordinate
	said    []string
	body    []int32 // of each triangle, from 0
	bodies  int
}

func (c *meshCheck) say(format string, args ...any) {
	c.said = append(c.said, fmt.Sprintf(format, args...))
}

const meshAgain = "mend it in the drawing program and export again"

// newMeshCheck copies the mesh with equal corners as one, and leaves out
// triangles that have one corner twice.
func newMeshCheck(f Facets, o MeshOptions) (*meshCheck, error) {
	if !(o.Weld >= 0) || math.IsInf(o.Weld, 0) {
		return nil, fmt.Errorf("corners can't be joined over %g m; expected 0 or more", o.Weld)
	}
	if len(f.Triangles) == 0 {
		return nil, errors.New("the mesh has no triangles; expected a closed surface")
	}
	if len(f.Triangles) > MaxTriangles {
		return nil, meshTooMany(fmt.Sprint(len(f.Triangles)))
	}
	c := &meshCheck{options: o}
	m := newMeshCorners()
	for i, t := range f.Triangles {
		for k, corner := range t {
			if corner < 0 || int(corner) >= len(f.Corners) {
				return nil, fmt.Errorf("triangle %d names corner %d of %d, counted from 0", i+1, corner, len(f.Corners))
			}
			v := f.Corners[corner]
			if !meshFinite(v) {
				return nil, fmt.Errorf("corner %d of triangle %d is at (%g, %g, %g); expected numbers; export the mesh again", k+1, i+1, v.X, v.Y, v.Z)
			}
			t[k] = m.number(v)
		}
		m.facets.Triangles = append(m.facets.Triangles, t)
		c.number = append(c.number, int32(i+1))
	}
	c.facets = m.facets
	low, high := crossingBox(c.facets.Corners)
	c.extent = max(high.X-low.X, high.Y-low.Y, high.Z-low.Z)
	largest := max(math.Abs(low.X), math.Abs(low.Y), math.Abs(low.Z), math.Abs(high.X), math.Abs(high.Y), math.Abs(high.Z))
	c.digits = 2e-7 * largest
	if !(c.extent > 0) || largest > 1e15 {
		return nil, fmt.Errorf("the mesh reaches from %s to %s; expected a body the size of a tank", c.place(low), c.place(high))
	}
	c.dropDoubled()
	return c, nil
}

// place writes a place for a message.
func (c *meshCheck) place(v r3.Vec) string {
	return fmt.Sprintf("(%s, %s, %s) mm", quantity.Short(1000*v.X, 3), quantity.Short(1000*v.Y, 3), quantity.Short(1000*v.Z, 3))
}

func (c *meshCheck) corner(i int32) r3.Vec { return c.facets.Corners[i] }

// middle gives the middle of a triangle.
func (c *meshCheck) middle(t int32) r3.Vec {
	q := c.facets.Triangles[t]
	return r3.Scale(1./3, r3.Add(c.corner(q[0]), r3.Add(c.corner(q[1]), c.corner(q[2]))))
}

// keep leaves out the triangles for which stay is false. It gives how many,
// and the number of the first.
func (c *meshCheck) keep(stay func(i int) bool) (gone int, first int32) {
	kept := 0
	for i, t := range c.facets.Triangles {
		if !stay(i) {
			if gone++; gone == 1 {
				first = c.number[i]
			}
			continue
		}
		c.facets.Triangles[kept], c.number[kept] = t, c.number[i]
		kept++
	}
	c.facets.Triangles, c.number = c.facets.Triangles[:kept], c.number[:kept]
	return gone, first
}

// dropDoubled leaves out triangles that have one corner twice. Their edges
// meet one another, so that a closed mesh stays closed without them.
func (c *meshCheck) dropDoubled() {
	gone, first := c.keep(func(i int) bool {
		t := c.facets.Triangles[i]
		return t[0] != t[1] && t[1] != t[2] && t[2] != t[0]
	})
	if gone > 0 {
		c.say("%s left out, since two corners of a triangle lie in one place (%s).", meshWere(gone, "triangle"), meshFirst(gone, first))
	}
}

func meshWere(n int, thing string) string {
	if n == 1 {
		return "1 " + thing + " was"
	}
	return fmt.Sprintf("%d %ss were", n, thing)
}

func meshFirst(n int, first int32) string {
	if n == 1 {
		return fmt.Sprintf("triangle %d", first)
	}
	return fmt.Sprintf("the first is triangle %d", first)
}
