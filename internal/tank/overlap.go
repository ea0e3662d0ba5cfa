package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// How finely overlaps are looked for.
const (
	overlapPoints = 4096  // in the box of a part
	overlapMost   = 65536 // where a part fills little of its box
	overlapEnough = 1024  // points within a part that are enough
	overlapIgnore = 0.002 // share of a part: skins that touch, rounded sizes
)

// Check looks for parts that overlap, and for inner volumes that stick out or
// overlap, by trying a fixed set of evenly spread points: 4096 in a part's box,
// up to 65536 where a part fills little of it. The error names the part by its
// place, counting from 1, and the share of it that is wrong.
//
// What it can't see: less than 0.2 % of a part, which is left to skins that
// touch and sizes that were rounded; what is thinner than about a twentieth of
// the part's box may be told with a wrong share. Parts of no known shape, such
// as a strapping table without length and width, can't be checked and count as
// right.
func (s Sum) Check() error {
	plus, minus := overlapParts(s.Plus), overlapParts(s.Minus)
	var shapeless bool
	for _, p := range plus {
		shapeless = shapeless || len(p.points) == 0
	}
	for i, m := range minus {
		if shapeless || len(m.points) == 0 {
			continue
		}
		var outside int
		for _, at := range m.points {
			if !overlapWithin(s.Plus, at) {
				outside++
			}
		}
		if share := float64(outside) / float64(len(m.points)); share > overlapIgnore {
			return fmt.Errorf("%s of the inner volume %d lies outside the tank; expected it to lie within", overlapShare(share), i+1)
		}
	}
	if err := overlapPairs(plus, "part"); err != nil {
		return err
	}
	return overlapPairs(minus, "inner volume")
}

// overlapPart is a part with the points tried that lie in it.
type overlapPart struct {
	solid     Solid
	low, high r3.Vec
	points    []r3.Vec
	volume    float64 // as the points tell it
}

func overlapParts(solids []Solid) []overlapPart {
	parts := make([]overlapPart, len(solids))
	for i, s := range solids {
		p := overlapPart{solid: s}
		p.low, p.high = s.Box()
		tried := 0
		for tried < overlapMost && (tried < overlapPoints || len(p.points) < overlapEnough && len(p.points) > 0) {
			if at := overlapPoint(tried, p.low, p.high); s.Contains(at) {
				p.points = append(p.points, at)
			}
			tried++
		}
		p.volume = overlapVolume(p.low, p.high) * float64(len(p.points)) / float64(tried)
		parts[i] = p
	}
	return parts
}

// overlapPairs looks for overlaps in what every two boxes share.
func overlapPairs(parts []overlapPart, name string) error {
	for j, b := range parts {
		for i, a := range parts[:j] {
			low := r3.Vec{X: max(a.low.X, b.low.X), Y: max(a.low.Y, b.low.Y), Z: max(a.low.Z, b.low.Z)}
			high := r3.Vec{X: min(a.high.X, b.high.X), Y: min(a.high.Y, b.high.Y), Z: min(a.high.Z, b.high.Z)}
			smaller, which := a.volume, i+1
			if b.volume < smaller {
				smaller, which = b.volume, j+1
			}
			if !(low.X < high.X && low.Y < high.Y && low.Z < high.Z) || smaller == 0 {
				continue
			}
			shared := overlapVolume(low, high)
			if shared <= overlapIgnore*smaller {
				continue
			}
			var both int
			for k := range overlapPoints {
				if at := overlapPoint(k, low, high); a.solid.Contains(at) && b.solid.Contains(at) {
					both++
				}
			}
			if share := shared * float64(both) / overlapPoints / smaller; share > overlapIgnore {
				return fmt.Errorf("the %ss %d and %d overlap by %s of %s %d; expected them to touch at most",
					name, i+1, j+1, overlapShare(share), name, which)
			}
		}
	}
	return nil
}

func overlapWithin(solids []Solid, p r3.Vec) bool {
	for _, s := range solids {
		if s.Contains(p) {
			return true
		}
	}
	return false
}

func overlapVolume(low, high r3.Vec) float64 {
	d := r3.Sub(high, low)
	return d.X * d.Y * d.Z
}

// overlapShare writes a share to what the points can tell.
func overlapShare(share float64) string {
	if share > 0.02 {
		return quantity.Short(min(1, share)*100, 0) + " %"
	}
	return quantity.Short(share*100, 1) + " %"
}

// overlapPoint gives the k-th of an evenly spread sequence of points in a box:
// the additive sequence of the powers of 1/g, with g the root of x⁴ = x + 1.
func overlapPoint(k int, low, high r3.Vec) r3.Vec {
	const g = 1.2207440846057595
	at := func(step, from, to float64) float64 {
		_, part := math.Modf(0.5 + float64(k+1)*step)
		return from + (to-from)*part
	}
	return r3.Vec{X: at(1/g, low.X, high.X), Y: at(1/(g*g), low.Y, high.Y), Z: at(1/(g*g*g), low.Z, high.Z)}
}
