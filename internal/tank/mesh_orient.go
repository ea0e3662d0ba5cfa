package tank

import (
	"fmt"
	"strings"
)

// orient turns triangles so that neighbours agree, and numbers the bodies: what
// is joined by edges of two triangles each.
func (c *meshCheck) orient(e *meshEdges) error {
	n := len(c.facets.Triangles)
	c.body = make([]int32, n)
	turned := make([]bool, n)
	for i := range c.body {
		c.body[i] = -1
	}
	var queue, members []int32
	turns, first := 0, int32(0)
	for start := range int32(n) {
		if c.body[start] >= 0 {
			continue
		}
		body := int32(c.bodies)
		c.bodies++
		c.body[start] = body
		queue, members = append(queue[:0], start), append(members[:0], start)
		most := 0
		for len(queue) > 0 {
			t := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for k := range int32(3) {
				edge := 3*t + k
				mate := e.mate[edge]
				if mate < 0 {
					continue
				}
				a, b := c.ends(edge)
				from, _ := c.ends(mate)
				// Neighbours that agree go along their edge in opposite ways.
				want := turned[t] != (from == a)
				other := mate / 3
				if c.body[other] < 0 {
					c.body[other], turned[other] = body, want
					if want {
						most++
					}
					queue, members = append(queue, other), append(members, other)
				} else if turned[other] != want {
					return fmt.Errorf("the mesh has no inside: round a ring of triangles through %d and %d, at %s to %s, one side becomes the other; expected a closed surface of two sides; %s",
						c.number[t], c.number[other], c.place(c.corner(a)), c.place(c.corner(b)), meshAgain)
				}
			}
		}
		// The way most are turned is taken for what was meant.
		if 2*most > len(members) {
			for _, t := range members {
				turned[t] = !turned[t]
			}
		}
		for _, t := range members {
			if turned[t] {
				if turns++; turns == 1 || c.number[t] < first {
					first = c.number[t]
				}
				q := &c.facets.Triangles[t]
				q[1], q[2] = q[2], q[1]
			}
		}
	}
	if turns > 0 {
		c.say("%s turned over, since the triangles around face the other way (%s).", meshWere(turns, "triangle"), meshFirst(turns, first))
	}
	return c.shared(e)
}

// shared looks at edges of more than two triangles. Bodies may touch along an
// edge; then as many triangles go along it one way as the other.
func (c *meshCheck) shared(e *meshEdges) error {
	for _, group := range e.many {
		balance := 0
		for _, edge := range group.edges {
			// Which edge of its triangle it is may have changed by turning.
			for k := range int32(3) {
				switch a, b := c.ends(edge/3*3 + k); {
				case a == group.low && b == group.high:
					balance++
				case a == group.high && b == group.low:
					balance--
				}
			}
		}
		if balance == 0 {
			continue
		}
		var list []string
		for _, edge := range group.edges[:min(4, len(group.edges))] {
			list = append(list, fmt.Sprint(c.number[edge/3]))
		}
		have := "have"
		if len(e.many) == 1 {
			have = "has"
		}
		return fmt.Errorf("%s of the mesh %s more than two triangles; the one from %s to %s has %d (%s); expected two; %s",
			meshCount(len(e.many), "edge"), have, c.place(c.corner(group.low)), c.place(c.corner(group.high)), len(group.edges), strings.Join(list, ", "), meshAgain)
	}
	if len(e.many) > 0 {
		at := e.many[0]
		c.say("Bodies touch along %s (the first from %s to %s); the volume is right all the same.", meshCount(len(e.many), "edge"), c.place(c.corner(at.low)), c.place(c.corner(at.high)))
	}
	return nil
}
