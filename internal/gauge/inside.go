package gauge

import (
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Inside turns what a display shows, or a mark, into the part of the tank that
// is filled. It may be used by many at once; make one with [NewInside].
type Inside struct {
	shown  scale.Scale
	volume scale.Scale // of the whole tank, through its filling
}

// NewInside puts a scale and the filling of its marks together. The filling may
// be known where the scale is the marks' own and goes by them alone. The error is
// that of [scale.Through].
func NewInside(shown scale.Scale, f scale.Filling) (Inside, error) {
	empty, full := shown.Whole()
	volume, err := scale.Through(scale.Volume, f, 0, 0, empty, full, false)
	return Inside{shown, volume}, err
}

// Capacity gives the water capacity; 0 where it isn't known.
func (in Inside) Capacity() quantity.CubicMetre {
	f, _ := in.volume.Filling()
	return f.Capacity
}

// OfMark gives the part of the water capacity that is filled at a mark known to a
// standard uncertainty, and the standard uncertainty of that part.
func (in Inside) OfMark(mark, uMark float64) (share, u quantity.Share) {
	return in.volume.Target(mark), in.volume.Spread(mark, uMark)
}

// OfLevel gives the part of the water capacity that is filled at a level on the
// scale, 0..1, known to a standard uncertainty, and that of the part. On the
// scales that go through the tank it is
//
//	bottom + level·(top − bottom)
//
// with the top of the scale at the permitted fill, where it is.
func (in Inside) OfLevel(level, u quantity.Share) (share, uShare quantity.Share) {
	if _, through := in.shown.Filling(); through && in.shown.Kind() != scale.Mark {
		low, high := in.shown.Heel(), in.shown.PermittedFill()
		return low + level*(high-low), u * (high - low)
	}
	empty, full := in.shown.Ends()
	return in.OfMark(in.shown.Of(level), float64(u)*(full-empty))
}

// LevelOf gives the level on the scale, held to 0..1, at which a part of the
// water capacity is filled.
func (in Inside) LevelOf(share quantity.Share) quantity.Share {
	return in.shown.Target(in.volume.Of(share))
}
