package tank

import (
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// crossingFrame turns a mesh so that the boxes around its triangles are small:
// along the way most of its edges go, if that helps. Long needles athwart the
// axes would each have a box as large as the mesh. The axes are given in the
// mesh's own frame.
func crossingFrame(f Facets) (Facets, [3]r3.Vec) {
	own := [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	cov := mat.NewSymDense(3, nil)
	for _, t := range f.Triangles {
		for i := range t {
			e := r3.Sub(f.Corners[t[(i+1)%3]], f.Corners[t[i]])
			v := [3]float64{e.X, e.Y, e.Z}
			for r := range v {
				for k := r; k < 3; k++ {
					cov.SetSym(r, k, cov.At(r, k)+v[r]*v[k])
				}
			}
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return f, own
	}
	var axes mat.Dense
	eigen.VectorsTo(&axes)
	x := r3.Vec{X: axes.At(0, 0), Y: axes.At(1, 0), Z: axes.At(2, 0)}
	y := r3.Vec{X: axes.At(0, 1), Y: axes.At(1, 1), Z: axes.At(2, 1)}
	z := r3.Cross(x, y)
	turned := Facets{Corners: make([]r3.Vec, len(f.Corners)), Triangles: f.Triangles}
	for i, c := range f.Corners {
		turned.Corners[i] = r3.Vec{X: r3.Dot(c, x), Y: r3.Dot(c, y), Z: r3.Dot(c, z)}
	}
	if crossingBoxes(turned) < 0.8*crossingBoxes(f) {
		return turned, [3]r3.Vec{x, y, z}
	}
	return f, own
}

// crossingBoxes is the surface of the boxes around all triangles together.
func crossingBoxes(f Facets) (sum float64) {
	for _, t := range f.Triangles {
		a, b, c := f.Corners[t[0]], f.Corners[t[1]], f.Corners[t[2]]
		s := r3.Sub(crossingHigh(crossingHigh(a, b), c), crossingLow(crossingLow(a, b), c))
		sum += s.X*s.Y + s.Y*s.Z + s.Z*s.X
	}
	return sum
}
