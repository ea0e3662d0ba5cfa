package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Ring makes a ring with a round tube, a torus: the diameter over the whole
// ring and that of the tube, inside, in metres, its middle at the origin. The
// axis is z of a ring that lies flat, x or y of one that stands on edge.
//
// Where the tube is wider than half the ring's diameter the hole is closed and
// what is left of it is a dimple on either side; a tube as wide as the whole is
// a sphere. Tilted or on edge a ring is the difference of two bodies: a tube of
// a thousandth of the ring costs three more digits than the usual ones, which
// leaves twelve. The error names the size that can't be.
func Ring(diameter, tube float64, axis Axis) (Solid, error) {
	if err := revolveSize("the diameter of the ring", diameter); err != nil {
		return nil, err
	}
	if err := revolveSize("the diameter of the ring's tube", tube); err != nil {
		return nil, err
	}
	if axis != AxisX && axis != AxisY && axis != AxisZ {
		return nil, fmt.Errorf("the axis of the ring is %q; expected x, y or z", string(axis))
	}
	// What a user took as the same number may be off it by its last digit.
	const slack = 1e-12
	if tube > diameter*(1+slack) {
		return nil, fmt.Errorf("the tube of the ring is %s wide, more than the whole ring, %s; are the two swapped?",
			quantity.Metre(tube), quantity.Metre(diameter))
	}
	r, c := tube/2, (diameter-tube)/2
	if c <= slack*r {
		return revolveSphere(axis, r), nil
	}
	outer := revolvePiece{kind: revolveArc, from: -r, to: r, along: r, offset: c, sign: 1}
	inner := revolvePiece{kind: revolveArc, inner: true, from: -r, to: r, along: r, offset: c, sign: -1}
	if c >= r {
		return &revolveBody{axis: axis, ring: true, pieces: []revolvePiece{outer, inner}}, nil
	}
	// The tube's circle meets the axis at ±e; between, the sections are whole.
	e := math.Sqrt((r - c) * (r + c))
	before, behind := inner, inner
	before.to, behind.from = -e, e
	return &revolveBody{axis: axis, pieces: []revolvePiece{before, outer, behind}}, nil
}
