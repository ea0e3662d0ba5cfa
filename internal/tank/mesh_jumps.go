package tank

import "math"

// meshRare is what the derivatives below the third jump by at a corner; only
// level edges and level triangles make them.
type meshRare struct {
	s    meshWide // second derivative
	f, v float64  // first derivative, and the volume itself
}

const (
	meshJumpUnit  = 0x1p56  // in which meshWide counts the third derivative
	meshCurveUnit = 0x1p-88 // what it counts as second derivative
	meshStep      = 1.0 / meshSteps
)

// meshMiddle says which of a triangle's corners is the middle one in height,
// given whether k0 < k1, k1 < k2, k2 < k0 as bits 0, 1 and 2, and then the other
// two in turn. All three the same can't be but for level triangles.
var meshMiddle = [8][3]uint8{
	0b000: {1, 2, 0},
	0b001: {2, 0, 1}, // k0 < k1, k1 ≥ k2, k2 ≥ k0: 0 2 1
	0b010: {0, 1, 2}, // k0 ≥ k1, k1 < k2, k2 ≥ k0: 1 0 2
	0b100: {1, 2, 0}, // k0 ≥ k1, k1 ≥ k2, k2 < k0: 2 1 0
	0b011: {1, 2, 0}, // 0 1 2
	0b110: {2, 0, 1}, // 1 2 0
	0b101: {0, 1, 2}, // 2 0 1
	0b111: {1, 2, 0},
}

// scatter adds the jumps of every triangle to its corners. Areas are in units
// of the total of all, heights in extents, and the volume in units of both.
func (s *meshScratch) scatter(triangles [][3]int32, total float64) {
	s.jumps = meshGrow(s.jumps, len(s.points))
	clear(s.jumps)
	s.rare = s.rare[:0]
	points, jumps := s.points, s.jumps
	unit := -1 / total
	for i := range triangles {
		t := &triangles[i]
		p := s.twice[i] * unit
		if p == 0 {
			continue
		}
		k0, k1, k2 := points[t[0]].k, points[t[1]].k, points[t[2]].k
		turn := &meshMiddle[uint64(k0-k1)>>63|uint64(k1-k2)>>63<<1|uint64(k2-k0)>>63<<2]
		corner := [4]int32{t[0], t[1], t[2]}
		im, ix, iy := corner[turn[0]&3], corner[turn[1]&3], corner[turn[2]&3]
		km, kx, ky := points[im].k, points[ix].k, points[iy].k
		// u and v have one sign, and c = u + v.
		u, v := kx-km, km-ky
		if a := min(max(u, -u), max(v, -v)); a < meshTight && a*max(u+v, -u-v) < meshTight {
			s.level(p, im, ix, iy)
			continue
		}
		// The jump at x is p/(u·c), at y p/(v·c). They must balance about the
		// middle to far more than 53 bits, or the second derivative wouldn't
		// come back to nothing: whatever the first one is rounded to, the
		// second is it times u/v, to 106 bits.
		fu, fv := float64(u), float64(v)
		first := p * (meshJumpUnit * meshSteps * meshSteps) / (fu * float64(u+v))
		product := first * fu
		rest := math.FMA(first, fu, -product)
		second := product / fv
		rest = (math.FMA(-second, fv, product) + rest) / fv
		wx := meshWideOf(first)
		wy := meshWideOf(second).plus(meshWideOf(rest))
		jumps[ix].add(wx)
		jumps[iy].add(wy)
		jumps[im].sub(wx.plus(wy))
	}
}

// level adds what a triangle with two or three corners at about one height
// jumps by.
func (s *meshScratch) level(p float64, im, ix, iy int32) {
	if len(s.rare) == 0 {
		s.rare = meshGrow(s.rare, len(s.points))
		clear(s.rare)
	}
	km, kx, ky := s.points[im].k, s.points[ix].k, s.points[iy].k
	mid := &s.rare[im]
	if c := max(km, kx, ky) - min(km, kx, ky); c < meshLevel {
		// All at one height: above it the volume is p/2·(d − z̄).
		mid.f += p / 2
		mid.v += p / 2 * float64(2*km-kx-ky) / 3 * meshStep
		return
	}
	// Two at the height of the middle one, which moves z̄ by a third of what
	// the other one moves; that is set right in the volume.
	near, far := kx, ky
	ifar := iy
	if max(kx-km, km-kx) > max(ky-km, km-ky) {
		near, far, ifar = ky, kx, ix
	}
	mid.v -= p / 2 * float64(near-km) / 3 * meshStep
	b := far - km
	w := meshWideOf(p * (meshJumpUnit * meshSteps * meshSteps) / (float64(b) * float64(b)))
	if b > 0 {
		mid.s.add(w.times(b))
		s.jumps[im].sub(w)
		s.jumps[ifar].add(w)
	} else {
		mid.s.sub(w.times(-b))
		s.jumps[im].sub(w)
		s.jumps[ifar].add(w)
	}
}
