package scale

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Filling tells how full a tank is when its sender stands at a mark (share, m,
// m³ or kg). Both functions never fall, and each is the other's reverse, as far
// as the sender comes; they may be called by many at once.
type Filling struct {
	// Share gives the part of the water capacity that is filled at a mark, 0..1.
	// Beyond the tank, or beyond what the sender can show, it stands still.
	Share func(mark float64) float64
	// Mark gives the mark at a part of the water capacity, 0..1; for a part that
	// the sender can't show the last mark it comes to.
	Mark func(share float64) float64
	// Capacity is the water capacity; 0 where it isn't known.
	Capacity quantity.CubicMetre
	// Words says where this is known from, to follow "told": "by the shape of
	// the tank".
	Words string
}

// Straight is the filling of a tank whose marks are in proportion to what is in
// it: a dial in percent of the volume (0 and 1), or marks in litres (0 and the
// capacity).
func Straight(empty, full float64, capacity quantity.CubicMetre, words string) Filling {
	return Filling{
		Share:    func(mark float64) float64 { return min(1, max(0, (mark-empty)/(full-empty))) },
		Mark:     func(share float64) float64 { return empty + min(1, max(0, share))*(full-empty) },
		Capacity: capacity,
		Words:    words,
	}
}

// through is a filling on a scale.
type through struct {
	Filling
	permitted   quantity.Share // as stated; 0: not stated
	bottom, top float64        // parts of the capacity at 0 % and at 100 %
	low, high   float64        // marks there
	// The marks between which the filling changes, and what it is there.
	least, greatest           float64
	leastShare, greatestShare float64
	bend                      quantity.Share
}

// roundTrip is what the way from a mark to a share and back may be off by, in
// parts of the range; the shapes of tanks promise 1e-9.
const roundTrip = 1e-8

// looks is at how many places a filling is looked at before it is believed.
const looks = 64

// Through makes a scale that goes through what is in the tank:
//
//	target = (share(mark) − bottom) / (top − bottom)
//
// held to 0..1, with bottom 0 and top 1 for Volume, top the permitted fill for
// Fill, and bottom the heel besides for Usable. The permitted fill is 0.01 to 1,
// or 0 where none is stated: then Fill is refused, and for Usable the top is the
// whole tank. The heel is 0 or more, used by Usable alone, and lies below the
// top. So 100 % never stands above the permitted fill.
//
// Empty, full and dial are as for [New]: the mark scale itself. On the Mark
// scale the target goes by them alone, and the filling tells the litres.
//
// The error says what can't be right: a kind that isn't known, a fill or a heel
// out of its range, a filling that falls or doesn't come back where it came
// from, a sender that stands still over the whole scale.
func Through(kind Kind, f Filling, permittedFill, heel quantity.Share, empty, full float64, dial bool) (Scale, error) {
	if err := inOrder(empty, full); err != nil {
		return Scale{}, err
	}
	if permittedFill != 0 || kind == Fill {
		if err := permitted(permittedFill); err != nil {
			return Scale{}, err
		}
	}
	t := &through{Filling: f, permitted: permittedFill, top: 1}
	switch kind {
	case Mark, Volume:
	case Fill, Usable:
		if permittedFill > 0 {
			t.top = float64(permittedFill)
		}
		if kind == Usable {
			t.bottom = float64(heel)
		}
	default:
		return Scale{}, unknown(kind)
	}
	if !(t.bottom >= 0 && t.bottom < t.top) {
		return Scale{}, fmt.Errorf("the heel is %s of the tank and the top of the scale %s; the heel must lie below it", heel, quantity.Share(t.top))
	}
	if err := t.look(); err != nil {
		return Scale{}, err
	}
	return Scale{kind: kind, permittedFill: quantity.Share(t.top), empty: empty, full: full, dial: dial, through: t}, nil
}

// look tries the filling and finds its ends and its bend.
func (t *through) look() error {
	t.least, t.greatest = t.Mark(0), t.Mark(1)
	t.leastShare, t.greatestShare = t.Share(t.least), t.Share(t.greatest)
	if !(t.greatest > t.least) || math.IsInf(t.greatest-t.least, 0) || !(t.leastShare >= 0 && t.leastShare < t.greatestShare && t.greatestShare <= 1) {
		return fmt.Errorf("what is in the tank isn't known from the marks: from mark %g to %g it goes from %g to %g of the capacity", t.least, t.greatest, t.leastShare, t.greatestShare)
	}
	before := t.leastShare
	for k := range looks + 1 {
		mark := t.least + float64(k)/looks*(t.greatest-t.least)
		share := t.Share(mark)
		if !(share >= before-1e-12) || share > 1 {
			return fmt.Errorf("what is in the tank falls with the mark: %g of the capacity at mark %g, after %g", share, mark, before)
		}
		before = share
	}
	for k := range looks + 1 {
		part := float64(k) / looks
		want := min(t.greatestShare, max(t.leastShare, part))
		if back := t.Share(t.Mark(part)); !(math.Abs(back-want) <= 1e-6) {
			return fmt.Errorf("the mark of %g of the capacity is said to be %g, where there is %g", part, t.Mark(part), back)
		}
	}
	t.low, t.high = t.of(0), t.of(1)
	if !(t.high > t.low) {
		return fmt.Errorf("the sender stands still over the whole of this scale, from %s to %s of the tank", quantity.Share(t.bottom), quantity.Share(t.top))
	}
	from, to := t.at(t.low), t.at(t.high)
	for k := range looks {
		part := float64(k) / looks
		off := t.at(t.low+part*(t.high-t.low)) - (from + part*(to-from))
		t.bend = max(t.bend, quantity.Share(math.Abs(off)))
	}
	return nil
}

// at gives the target at a mark, not held.
func (t *through) at(mark float64) float64 { return (t.Share(mark) - t.bottom) / (t.top - t.bottom) }

// of is the reverse of at.
func (t *through) of(target float64) float64 {
	return t.Mark(t.bottom + target*(t.top-t.bottom))
}

// curved says whether the target goes through the filling.
func (s Scale) curved() bool { return s.through != nil && s.kind != Mark }

// Bend gives by how much the target leaves the straight line between the ends
// of the scale at most: the tank's own bend, 0 where the scale is straight in
// the mark. A display of two end values can't follow it.
func (s Scale) Bend() quantity.Share {
	if !s.curved() {
		return 0
	}
	return s.through.bend
}

// Filling gives how full the tank is at a mark; false where that isn't known.
func (s Scale) Filling() (Filling, bool) {
	if s.through == nil {
		return Filling{}, false
	}
	return s.through.Filling, true
}

// Volume gives what is in the tank at a mark; false where that isn't known.
func (s Scale) Volume(mark float64) (quantity.CubicMetre, bool) {
	if s.through == nil || s.through.Capacity == 0 {
		return 0, false
	}
	return quantity.CubicMetre(s.through.Share(mark)) * s.through.Capacity, true
}

// Heel gives the part of the water capacity that isn't counted because it can't
// be drawn: 0 on every scale but Usable.
func (s Scale) Heel() quantity.Share {
	if s.through == nil {
		return 0
	}
	return quantity.Share(s.through.bottom)
}
