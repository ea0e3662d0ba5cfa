package circuit

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Effect is what a run does to a sender that was calibrated without it.
type Effect struct {
	Added Added
	// Empty and Full are the errors in points at the two ends: what would be read
	// less what is true. Series resistance shifts a straight scale by as much
	// everywhere, so they are alike; see [ErrorAt] for a scale that isn't straight.
	Empty, Full float64
	// Worst is the largest size the error may have, over the range of what is
	// added, in points.
	Worst float64
	// Corrected is the span to set where the calibration can't be done through
	// the final wire: both ends moved by what is added.
	Corrected Span
	Text      string // what to do, as a sentence
}

// ErrorAt gives the error in points that resistance added in series brings where
// a sender changes by so many ohm per point, not 0: negative where it falls.
func ErrorAt(added, ohmPerPoint float64) float64 { return added / ohmPerPoint }

// On gives what the run does to a calibration for a span that was found without
// it, in points of a straight scale between the span's ends.
func (r Run) On(span Span) (Effect, error) {
	if err := span.Check(); err != nil {
		return Effect{}, err
	}
	a, err := r.Added()
	if err != nil {
		return Effect{}, err
	}
	per := span.PerOhm()
	e := Effect{
		Added: a, Empty: a.Ohm * per, Full: a.Ohm * per,
		Worst:     a.High * math.Abs(per),
		Corrected: Span{span.Empty + a.Ohm, span.Full + a.Ohm},
	}
	way := "high"
	if per < 0 {
		way = "low"
	}
	e.Text = fmt.Sprintf("the wire adds %s Ω (%s to %s Ω), and the level reads %s points too %s all over; calibrate through the final wire, or add %s Ω to both end values: %s Ω at empty, %s Ω at full",
		ohms(a.Ohm), ohms(a.Low), ohms(a.High), quantity.Short(math.Abs(e.Empty), 2), way, ohms(a.Ohm), ohms(e.Corrected.Empty), ohms(e.Corrected.Full))
	return e, nil
}

// Size is the answer to which wire is thick enough.
type Size struct {
	Found bool
	Area  float64 // m²; where none is found, the largest that was tried
	// Worst is the largest error with that area, in points; Less is that with the
	// next smaller size, 0 where there is none.
	Worst, Less float64
	Text        string
}

// SmallestArea gives the smallest area of IEC 60228, 0.5 to 10 mm², with which
// the run keeps the error of an uncorrected calibration within limit points,
// above 0, even at the high end of what it may add. The run's own area doesn't
// matter. Each of the sizes is tried.
func (r Run) SmallestArea(span Span, limit float64) (Size, error) {
	if !(limit > 0) || math.IsInf(limit, 0) {
		return Size{}, fmt.Errorf("a limit of %g points; expected a figure above 0", limit)
	}
	var s Size
	for _, area := range Sizes() {
		run := r
		run.Area = area
		e, err := run.On(span)
		if err != nil {
			return Size{}, err
		}
		s.Less, s.Area, s.Worst = s.Worst, area, e.Worst
		if e.Worst <= limit {
			s.Found = true
			break
		}
	}
	size := quantity.Short(s.Area*1e6, 2)
	if s.Found {
		s.Text = fmt.Sprintf("%s mm² keeps the error within %s points: it is %s at most", size, quantity.Short(limit, 3), quantity.Short(s.Worst, 3))
		return s, nil
	}
	s.Text = fmt.Sprintf("even %s mm² brings up to %s points, and the limit is %s; calibrate through the final wire, or correct both end values", size, quantity.Short(s.Worst, 3), quantity.Short(limit, 3))
	if joints := float64(r.Joints) * r.joint().High * math.Abs(span.PerOhm()); joints > limit {
		s.Text += fmt.Sprintf("; the joints alone may bring %s points, whatever the wire", quantity.Short(joints, 3))
	}
	return s, nil
}

// ohms prints a resistance that may be small.
func ohms(v float64) string {
	switch {
	case math.Abs(v) < 1:
		return quantity.Short(v, 4)
	case math.Abs(v) < 100:
		return quantity.Short(v, 2)
	}
	return quantity.Short(v, 1)
}
