package tank

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"
)

// meshRing makes a torus around z with a wobbling tube: n by m quads, each in
// two triangles.
func meshRing(n, m int, ring, tube, wobble float64) Facets {
	var f Facets
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		for j := range m {
			b := 2 * math.Pi * float64(j) / float64(m)
			r := tube * (1 + wobble*math.Sin(5*a+2*b))
			w := ring + r*math.Cos(b)
			f.Corners = append(f.Corners, r3.Vec{X: w * math.Cos(a), Y: w * math.Sin(a), Z: r * math.Sin(b)})
		}
	}
	at := func(i, j int) int32 { return int32(i%n*m + j%m) }
	for i := range n {
		for j := range m {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			f.Triangles = append(f.Triangles, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return f
}

// meshBall makes a ball by n circles of latitude and m meridians, the radius
// times bump(direction).
func meshBall(n, m int, radius float64, bump func(r3.Vec) float64) Facets {
	var f Facets
	put := func(lat, lon float64) {
		v := r3.Vec{X: math.Cos(lat) * math.Cos(lon), Y: math.Cos(lat) * math.Sin(lon), Z: math.Sin(lat)}
		f.Corners = append(f.Corners, r3.Scale(radius*bump(v), v))
	}
	put(-math.Pi/2, 0)
	for i := 1; i < n; i++ {
		for j := range m {
			put(math.Pi*(float64(i)/float64(n)-0.5), 2*math.Pi*float64(j)/float64(m))
		}
	}
	put(math.Pi/2, 0)
	at := func(i, j int) int32 { return int32(1 + (i-1)*m + j%m) }
	top := int32(len(f.Corners) - 1)
	for j := range m {
		f.Triangles = append(f.Triangles, [3]int32{0, at(1, j+1), at(1, j)}, [3]int32{top, at(n-1, j), at(n-1, j+1)})
		for i := 1; i < n-1; i++ {
			a, b, c, d := at(i, j), at(i, j+1), at(i+1, j+1), at(i+1, j)
			f.Triangles = append(f.Triangles, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return f
}

func meshRound(r3.Vec) float64 { return 1 }

// meshPrism makes an upright prism over a regular polygon of n corners, its ends
// fanned from one corner.
func meshPrism(n int, radius, height float64) Facets {
	var f Facets
	for _, z := range []float64{0, height} {
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			f.Corners = append(f.Corners, r3.Vec{X: radius * math.Cos(a), Y: radius * math.Sin(a), Z: z})
		}
	}
	for i := range int32(n) {
		j, m := (i+1)%int32(n), int32(n)
		f.Triangles = append(f.Triangles, [3]int32{i, j, m + j}, [3]int32{i, m + j, m + i})
		if i > 0 && j > 0 {
			f.Triangles = append(f.Triangles, [3]int32{0, j, i}, [3]int32{m, m + i, m + j})
		}
	}
	return f
}

// meshGridBox makes a box of cells in length, width and height, every face in
// squares of two triangles, its corners moved by as much as the given share of
// the height.
func meshGridBox(size r3.Vec, n int, r *rand.Rand, move float64) Facets {
	var f Facets
	number := map[[3]int]int32{}
	at := func(i, j, k int) int32 {
		key := [3]int{i, j, k}
		if c, ok := number[key]; ok {
			return c
		}
		c := int32(len(f.Corners))
		number[key] = c
		v := r3.Vec{X: size.X * float64(i) / float64(n), Y: size.Y * float64(j) / float64(n), Z: size.Z * float64(k) / float64(n)}
		if r != nil {
			v.Z += move * size.Z * (r.Float64() - 0.5)
		}
		f.Corners = append(f.Corners, v)
		return c
	}
	quad := func(a, b, c, d int32) {
		f.Triangles = append(f.Triangles, [3]int32{a, b, c}, [3]int32{a, c, d})
	}
	for i := range n {
		for j := range n {
			quad(at(i, j, 0), at(i, j+1, 0), at(i+1, j+1, 0), at(i+1, j, 0))
			quad(at(i, j, n), at(i+1, j, n), at(i+1, j+1, n), at(i, j+1, n))
			quad(at(i, 0, j), at(i+1, 0, j), at(i+1, 0, j+1), at(i, 0, j+1))
			quad(at(i, n, j), at(i, n, j+1), at(i+1, n, j+1), at(i+1, n, j))
			quad(at(0, i, j), at(0, i, j+1), at(0, i+1, j+1), at(0, i+1, j))
			quad(at(n, i, j), at(n, i+1, j), at(n, i+1, j+1), at(n, i, j+1))
		}
	}
	return f
}

func meshTurn(f Facets, axis r3.Vec, by float64) Facets {
	r := r3.NewRotation(by, axis)
	g := Facets{Triangles: f.Triangles}
	for _, c := range f.Corners {
		g.Corners = append(g.Corners, r.Rotate(c))
	}
	return g
}

func meshMove(f Facets, by r3.Vec) Facets {
	g := Facets{Triangles: f.Triangles}
	for _, c := range f.Corners {
		g.Corners = append(g.Corners, r3.Add(c, by))
	}
	return g
}

func meshJoin(all ...Facets) Facets {
	var f Facets
	for _, g := range all {
		base := int32(len(f.Corners))
		f.Corners = append(f.Corners, g.Corners...)
		for _, t := range g.Triangles {
			f.Triangles = append(f.Triangles, [3]int32{t[0] + base, t[1] + base, t[2] + base})
		}
	}
	return f
}

func meshReverse(f Facets) Facets {
	g := Facets{Corners: f.Corners}
	for _, t := range f.Triangles {
		g.Triangles = append(g.Triangles, [3]int32{t[0], t[2], t[1]})
	}
	return g
}
