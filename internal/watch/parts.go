package watch

import (
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Parts are what an instrument is made of. The functions are asked some thousand
// times by [NewInstrument] and never again.
type Parts struct {
	// Own is the signal that Mark goes by, usually Ohm; for a curve taken in volts
	// or counts, that. "Own value" below is a value of this signal, in its unit.
	Own Signal
	// Into turns a value of another signal into the own value, such as the count
	// of a converter into ohms; ok is false where that can't be told. It is nil
	// where the instrument takes nothing but its own signal (and percent). It is
	// asked for Volt and Count, between the limits in Reach, and has to be
	// monotone.
	Into func(signal Signal, value float64) (own float64, ok bool)
	// Reach is the range of each signal that Into is asked about: 0 V to the
	// reference, 0 to the highest count. A signal whose reach is empty isn't taken.
	Reach [4]struct{ Least, Most float64 }

	// Mark turns an own value into the mark at which the sender stands, in the
	// marks' unit, with the standard uncertainty of that: the sender's own and the
	// meter's, without the scatter from reading to reading. ok is false where the
	// curve has no answer. It needn't answer outside of Least to Most; where it
	// does, so much the better.
	Mark func(own float64) (mark, u float64, ok bool)
	// Least and Most are the own values between which the sender was calibrated.
	Least, Most float64
	// Margin is how far outside of Least and Most a value is still taken for a
	// level, just beyond the span; 0: 6 % of the span.
	Margin float64
	// Open is the own value from which on a circuit is open; 0: 1.25 times Most, and
	// at least Most and 25 % of the span. Short is the one up to which it is shorted;
	// 0: half of Least, where that lies 2 % of the span below Least, and otherwise it can't be
	// told by the value alone. Below 0: never. For a signal other than Ohm neither
	// has a usual value: there 0 means never.
	Open, Short float64

	// Low and High are the marks at the ends of the marks' range: 0 and 1 for a
	// dial in percent.
	Low, High float64
	// Share gives the level on the scale that is shown, at a mark; it rises with the
	// mark. nil: the mark's own scale, from Low to High.
	Share func(mark float64) quantity.Share
	// Volume (m³) and Mass (kg) give what is in the tank at a level on the scale
	// that is exactly known; their U is what is in doubt besides the level: of the
	// capacity, the density. nil: not known.
	Volume, Mass func(share quantity.Share) gauge.Figure

	// Tilt gives the mark at which the sender would stand in a level vehicle, for
	// the mark at which it stands; ok is false where that can't be told. nil: a tilt
	// isn't corrected for.
	Tilt func(mark float64, tilt Tilt) (level float64, ok bool)
	// UPercent is the standard uncertainty of a level that came in percent.
	UPercent quantity.Share
}
