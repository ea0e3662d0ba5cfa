package tank

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// meshBody is one closed surface of several.
type meshBody struct {
	volume  float64 // negative where it is turned inward
	area    float64
	first   int32 // its first triangle
	largest int32 // its triangle of the largest area
	size    float64
	depth   int // how many others it lies in
}

// nest turns the bodies as they must be: outward, cavities inward.
func (c *meshCheck) nest() error {
	bodies := c.measure()
	if bodies = c.dropEmpty(bodies); len(bodies) == 0 {
		return fmt.Errorf("the mesh encloses nothing: its two sides lie on one another; expected a body; %s", meshAgain)
	}
	c.depths(bodies)
	right, wrong, roots := 0, 0, 0
	for _, b := range bodies {
		if (b.volume > 0) == (b.depth%2 == 0) {
			right++
		} else {
			wrong++
		}
		if b.depth == 0 {
			roots++
		}
	}
	switch {
	case wrong == 0:
	case right == 0:
		c.turn(func(int32) bool { return true })
		c.say("The mesh was inside out; all its triangles were turned over.")
	case roots == len(bodies):
		c.turn(func(b int32) bool { return bodies[b].volume < 0 })
		c.say("%d of the %d bodies %s inside out and turned over.", wrong, len(bodies), map[bool]string{true: "was", false: "were"}[wrong == 1])
	default:
		for _, b := range bodies {
			if b.depth > 0 && (b.volume > 0) != (b.depth%2 == 0) {
				return fmt.Errorf("the body that begins with triangle %d, of %s, lies inside another one and is turned like it; expected a cavity, turned the other way; if the drawing has an outer and an inner skin, export the inner one alone; else %s",
					c.number[b.first], quantity.CubicMetre(math.Abs(b.volume)), meshAgain)
			}
		}
		return fmt.Errorf("%d of the mesh's %d bodies are turned inside out, some with cavities in them; expected all turned outward; %s", wrong, len(bodies), meshAgain)
	}
	return c.tell(bodies)
}

// measure works out what is known of each body by itself.
func (c *meshCheck) measure() []meshBody {
	bodies := make([]meshBody, c.bodies)
	for i := range bodies {
		bodies[i].first = -1
	}
	for i, t := range c.facets.Triangles {
		b := &bodies[c.body[i]]
		if b.first < 0 {
			b.first = int32(i)
		}
		// From a point of the body itself, so that a small one far away
		// isn't lost.
		from := c.corner(c.facets.Triangles[b.first][0])
		u, v, w := r3.Sub(c.corner(t[0]), from), r3.Sub(c.corner(t[1]), from), r3.Sub(c.corner(t[2]), from)
		b.volume += r3.Dot(u, r3.Cross(v, w)) / 6
		area := r3.Norm(r3.Cross(r3.Sub(v, u), r3.Sub(w, u))) / 2
		b.area += area
		if area >= b.size {
			b.size, b.largest = area, int32(i)
		}
	}
	return bodies
}

// dropEmpty leaves out bodies thinner than the digits of their coordinates.
func (c *meshCheck) dropEmpty(bodies []meshBody) []meshBody {
	empty := func(b meshBody) bool { return math.Abs(b.volume) <= c.digits*b.area/2 }
	to := make([]int32, len(bodies))
	kept := 0
	for i, b := range bodies {
		to[i] = -1
		if !empty(b) {
			to[i] = int32(kept)
			kept++
		}
	}
	if kept == len(bodies) {
		return bodies
	}
	if kept == 0 {
		return nil
	}
	before := c.body
	n, first := c.keep(func(i int) bool { return to[before[i]] >= 0 })
	c.body = c.body[:0]
	for _, b := range before {
		if to[b] >= 0 {
			c.body = append(c.body, to[b])
		}
	}
	c.bodies = kept
	c.say("%s left out that enclose nothing (%s).", meshWere(n, "triangle"), meshFirst(n, first))
	return c.measure()
}

// depths finds in how many others each body lies: as often as the others, each
// turned outward, wind round a point just inside its largest triangle. They
// don't cross, so that one point speaks for all; just outside it wouldn't, for
// bodies that touch.
func (c *meshCheck) depths(bodies []meshBody) {
	if len(bodies) == 1 {
		return
	}
	outward := Facets{Corners: c.facets.Corners, Triangles: append([][3]int32(nil), c.facets.Triangles...)}
	for i := range outward.Triangles {
		if bodies[c.body[i]].volume < 0 {
			t := &outward.Triangles[i]
			t[1], t[2] = t[2], t[1]
		}
	}
	tree := newCrossingTree(outward)
	for i := range bodies {
		bodies[i].depth = max(0, tree.winding(crossingBeside(outward, bodies[i].largest, -4*c.digits))-1)
	}
}

// turn turns over the triangles of some bodies.
func (c *meshCheck) turn(which func(body int32) bool) {
	for i := range c.facets.Triangles {
		if which(c.body[i]) {
			t := &c.facets.Triangles[i]
			t[1], t[2] = t[2], t[1]
		}
	}
}

// tell says what bodies there are, and takes the space within a wall.
func (c *meshCheck) tell(bodies []meshBody) error {
	var outer, inner float64
	var apart []string
	cavities := 0
	for _, b := range bodies {
		v := math.Abs(b.volume)
		switch {
		case b.depth == 0:
			outer += v
			apart = append(apart, quantity.CubicMetre(v).String())
		case b.depth%2 == 1:
			inner += v
			cavities++
		default:
			inner -= v
			apart = append(apart, quantity.CubicMetre(v).String())
		}
	}
	if c.options.Wall {
		if cavities == 0 {
			return fmt.Errorf("the mesh encloses no space within its wall; expected an outer and an inner surface, as of a wall drawn as a solid; without that, the mesh is the inside itself")
		}
		c.turn(func(int32) bool { return true })
		before := c.body
		c.keep(func(i int) bool { return bodies[before[i]].depth > 0 })
		c.say("The mesh was taken for the tank's wall, of %s; the space within it is %s.", quantity.CubicMetre(outer-inner), quantity.CubicMetre(inner))
		return nil
	}
	if len(apart) > 1 {
		if len(apart) > 6 {
			apart = append(apart[:5], fmt.Sprintf("%d more", len(apart)-5))
		}
		c.say("The mesh has %d bodies apart from each other, of %s and %s; one level is taken for all, as if they were joined.",
			len(bodies)-cavities, strings.Join(apart[:len(apart)-1], ", "), apart[len(apart)-1])
	}
	if cavities > 0 {
		c.say("%s inside another one and counts as a cavity, of %s in all, which is taken away from %s.",
			map[bool]string{true: "1 body lies", false: fmt.Sprintf("%d bodies lie", cavities)}[cavities == 1], quantity.CubicMetre(inner), quantity.CubicMetre(outer))
		if inner > outer/2 {
			c.say("If the mesh is the tank's wall drawn as a solid, its inside is that cavity: say that the mesh is a wall, or export the inner surface alone.")
		}
	}
	return nil
}
