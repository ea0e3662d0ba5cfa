package tank

import (
	"cmp"
	"slices"
)

// An edge of triangle t from its corner i to the next is number 3t+i.
const (
	meshOpen = -1 // no other triangle has the edge
	meshMany = -2 // more than one other has
)

// meshEdges says which edges of triangles lie on one another.
type meshEdges struct {
	mate []int32       // of each the one other, or meshOpen or meshMany
	open []int32       // those with no other
	many []meshManyOne // those of more than two triangles
}

// meshManyOne is an edge between two corners that many triangles have.
type meshManyOne struct {
	low, high int32
	edges     []int32
}

// ends gives the corners of an edge in the direction of its triangle.
func (c *meshCheck) ends(edge int32) (from, to int32) {
	t, i := c.facets.Triangles[edge/3], edge%3
	return t[i], t[(i+1)%3]
}

// edges finds edges between the same corners. They are put into buckets by the
// lower-numbered corner, in which few remain to be sorted.
func (c *meshCheck) edges() *meshEdges {
	n := 3 * len(c.facets.Triangles)
	start := make([]int32, len(c.facets.Corners)+1)
	for e := range int32(n) {
		a, b := c.ends(e)
		start[min(a, b)+1]++
	}
	for i := range c.facets.Corners {
		start[i+1] += start[i]
	}
	type half struct{ other, edge int32 }
	all := make([]half, n)
	next := slices.Clone(start)
	for e := range int32(n) {
		a, b := c.ends(e)
		all[next[min(a, b)]] = half{max(a, b), e}
		next[min(a, b)]++
	}
	m := &meshEdges{mate: make([]int32, n)}
	for i := range c.facets.Corners {
		bucket := all[start[i]:start[i+1]]
		slices.SortFunc(bucket, func(a, b half) int {
			return cmp.Or(cmp.Compare(a.other, b.other), cmp.Compare(a.edge, b.edge))
		})
		for len(bucket) > 0 {
			k := 1
			for k < len(bucket) && bucket[k].other == bucket[0].other {
				k++
			}
			switch k {
			case 1:
				m.mate[bucket[0].edge] = meshOpen
				m.open = append(m.open, bucket[0].edge)
			case 2:
				m.mate[bucket[0].edge], m.mate[bucket[1].edge] = bucket[1].edge, bucket[0].edge
			default:
				group := meshManyOne{low: int32(i), high: bucket[0].other}
				for _, h := range bucket[:k] {
					m.mate[h.edge] = meshMany
					group.edges = append(group.edges, h.edge)
				}
				m.many = append(m.many, group)
			}
			bucket = bucket[k:]
		}
	}
	slices.Sort(m.open)
	slices.SortFunc(m.many, func(a, b meshManyOne) int { return cmp.Compare(a.edges[0], b.edges[0]) })
	return m
}
