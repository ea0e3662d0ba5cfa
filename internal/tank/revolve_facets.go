package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// revolveFacetsMost is the most facets a body is given, whatever the tolerance.
const revolveFacetsMost = 200_000

// revolveCoarsest is the cosine of half the widest angle of one chord, 30°.
const revolveCoarsest = 0.9659258262890683

// revolvePoint is a point of a profile.
type revolvePoint struct{ t, rho float64 }

// Facets gives the body as rings of trapezoids, and fans at the axis. Half of
// the tolerance is for the profile, half for the way round; it isn't held where
// it would need more than 200,000 facets.
func (b *revolveBody) Facets(tolerance float64) Facets {
	_, widest := revolveSpan(b.pieces, 0, 1)
	if !(tolerance > 0) {
		tolerance = 1e-3 * widest
	}
	around := 4 * math.Ceil(revolveChords(widest, tolerance/2, 2*math.Pi)/4)
	along := 0.0
	for i := range b.pieces {
		along += b.pieces[i].chords(tolerance / 2)
	}
	thin := 1.0
	if total := 2 * around * (along + 2); total > revolveFacetsMost {
		thin = math.Sqrt(revolveFacetsMost / total)
		around = max(8, 4*math.Floor(around*thin/4))
	}
	return b.mesh(b.walk(tolerance/2, min(thin, 1)), int(around))
}

// revolveChords gives how many chords an arc needs to be off it by no more than
// a tolerance: a chord over the angle φ is off by r(1 − cos φ/2).
func revolveChords(radius, tolerance, angle float64) float64 {
	step := 2 * math.Acos(max(revolveCoarsest, 1-tolerance/radius))
	return max(1, math.Ceil(angle/step))
}

// angles gives where a curved piece begins and ends: τ = −along·cos φ.
func (p *revolvePiece) angles() (from, to float64) {
	at := func(t float64) float64 { return math.Acos(max(-1, min(1, (p.centre-t)/p.along))) }
	return at(p.from), at(p.to)
}

// chords gives how many chords the piece needs.
func (p *revolvePiece) chords(tolerance float64) float64 {
	if p.kind == revolveLine {
		return 1
	}
	from, to := p.angles()
	// No ellipse is curved more in its own angle than its longer half axis.
	return revolveChords(max(p.along, p.across), tolerance, to-from)
}

// walk gives the points of the profile in order, each once.
func (b *revolveBody) walk(tolerance, thin float64) []revolvePoint {
	var list []revolvePoint
	_, widest := revolveSpan(b.pieces, 0, 1)
	add := func(t, rho float64) {
		if n := len(list); n == 0 || math.Abs(list[n-1].t-t)+math.Abs(list[n-1].rho-rho) > 1e-9*widest {
			list = append(list, revolvePoint{t, rho})
		}
	}
	for i := range b.pieces {
		p := &b.pieces[i]
		n := int(max(2, math.Floor(thin*p.chords(tolerance))))
		if p.kind == revolveLine {
			n = 1
		}
		for k := range n + 1 {
			if p.inner {
				k = n - k
			}
			t := p.from + (p.to-p.from)*float64(k)/float64(n)
			switch {
			case k == 0:
				t = p.from
			case k == n:
				t = p.to
			case p.kind != revolveLine:
				from, to := p.angles()
				t = p.centre - p.along*math.Cos(from+(to-from)*float64(k)/float64(n))
			}
			add(t, p.radius(t))
		}
	}
	if b.ring {
		return list[:len(list)-1] // which is the first again
	}
	// The walk begins and ends on the axis; the pole of a head is there but for
	// its rounding.
	first, last := list[0], list[len(list)-1]
	if first.rho < 1e-7*widest {
		list[0].rho = 0
	} else {
		list = append([]revolvePoint{{first.t, 0}}, list...)
	}
	if last.rho < 1e-7*widest {
		list[len(list)-1].rho = 0
	} else {
		list = append(list, revolvePoint{last.t, 0})
	}
	return list
}

// mesh turns a walk round the axis.
func (b *revolveBody) mesh(walk []revolvePoint, around int) Facets {
	a := b.axis.unit()
	e1 := r3.Vec{X: a.Z, Y: a.X, Z: a.Y}
	e2 := r3.Cross(a, e1)
	var f Facets
	start := make([]int32, len(walk)) // the first corner of each point's circle
	for i, p := range walk {
		start[i] = int32(len(f.Corners))
		n := around
		if p.rho == 0 {
			n = 1
		}
		for j := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(j) / float64(around))
			f.Corners = append(f.Corners, r3.Add(r3.Scale(p.t, a), r3.Add(r3.Scale(p.rho*cos, e1), r3.Scale(p.rho*sin, e2))))
		}
	}
	corner := func(i, j int) int32 {
		if walk[i].rho == 0 {
			return start[i]
		}
		return start[i] + int32(j%around)
	}
	for i := range walk {
		next := i + 1
		if next == len(walk) {
			if !b.ring {
				break
			}
			next = 0
		}
		for j := range around {
			if walk[i].rho > 0 {
				f.Triangles = append(f.Triangles, [3]int32{corner(i, j), corner(i, j+1), corner(next, j)})
			}
			if walk[next].rho > 0 {
				f.Triangles = append(f.Triangles, [3]int32{corner(i, j+1), corner(next, j+1), corner(next, j)})
			}
		}
	}
	return f
}
