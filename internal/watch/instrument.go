package watch

import (
	"fmt"
	"math"

	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Instrument turns a signal into what is in the tank. It may be used by many at
// once; make one with [NewInstrument] or [Ends].
type Instrument struct {
	own         Signal
	into        [4]*table // other signals into the own; nil: not taken
	mark        table     // own value to points of the marks' range
	uMark       table     // points to the standard uncertainty of the mark there, points
	least, most float64   // calibrated
	margin      float64
	open, short float64 // own values; +Inf and -Inf where they can't be told
	risesWith   float64 // +1 or -1: which way points go as the own value rises

	low, high float64 // marks
	share     table   // points to share
	uShare    *table  // points to a standard uncertainty that a correction adds; nil: none
	points    table   // share to points
	volume    *amount // nil: not known
	mass      *amount
	tilt      func(float64, Tilt) (float64, bool)
	uPercent  float64
}

// Sizes of the tables. Linear interpolation between that many points of a smooth
// curve errs by less than a thousandth of a point.
const (
	markCells  = 4096
	shareCells = 2048
	beyondPart = 0.25 // how far beyond the calibrated span the table of marks goes, in parts of it
	farPoints  = 50   // how far beyond the marks' range the table of shares goes, points
)

// NewInstrument makes an instrument of its parts. The error says which part can't
// be.
func NewInstrument(p Parts) (*Instrument, error) {
	in := &Instrument{own: p.Own, least: p.Least, most: p.Most, low: p.Low, high: p.High, tilt: p.Tilt, uPercent: 100 * float64(p.UPercent)}
	switch {
	case p.Own > Count:
		return nil, fmt.Errorf("an instrument's own signal is number %d; expected ohms, volts or counts", p.Own)
	case p.Mark == nil:
		return nil, fmt.Errorf("an instrument without a curve; expected a function from the signal to the mark")
	case !(p.Most > p.Least) || math.IsInf(p.Most-p.Least, 0):
		return nil, fmt.Errorf("an instrument calibrated from %g to %g; expected the second above the first", p.Least, p.Most)
	case !(p.High > p.Low) || math.IsInf(p.High-p.Low, 0):
		return nil, fmt.Errorf("marks from %g to %g; expected the second above the first", p.Low, p.High)
	case !(p.UPercent >= 0 && p.UPercent <= 1):
		return nil, fmt.Errorf("a doubt of %g of a level in percent; expected 0 to 1", float64(p.UPercent))
	}
	in.limits(p)
	if err := in.marks(p); err != nil {
		return nil, err
	}
	if err := in.signals(p); err != nil {
		return nil, err
	}
	if err := in.shares(p); err != nil {
		return nil, err
	}
	return in, nil
}

// limits sets where a value is no level any more.
func (in *Instrument) limits(p Parts) {
	span := p.Most - p.Least
	in.margin = p.Margin
	if !(in.margin > 0) {
		in.margin = 0.06 * span
	}
	in.margin = min(in.margin, 0.9*beyondPart*span)
	in.open, in.short = math.Inf(1), math.Inf(-1)
	if p.Open > 0 {
		in.open = p.Open
	} else if p.Open == 0 && p.Own == Ohm {
		in.open = max(1.25*p.Most, p.Most+0.25*span)
	}
	if p.Short > 0 {
		in.short = p.Short
	} else if p.Short == 0 && p.Own == Ohm && p.Least/2 >= 0.02*span {
		in.short = p.Least / 2
	}
}

// Span gives the own values between which the instrument was calibrated.
func (in *Instrument) Span() (least, most float64) { return in.least, in.most }

// VolumeAt and MassAt give what is in the tank at a level on the scale that is
// exactly known, in m³ and kg; NaN where that isn't known.
func (in *Instrument) VolumeAt(share quantity.Share) gauge.Figure {
	return in.volume.at(float64(share), 0)
}

// MassAt: see VolumeAt.
func (in *Instrument) MassAt(share quantity.Share) gauge.Figure {
	return in.mass.at(float64(share), 0)
}
