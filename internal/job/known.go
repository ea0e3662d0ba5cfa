package job

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
)

// CurveOf gives the curve of a sender of which readings were taken, none perhaps,
// and something may be known without them. Readings take the place of what is
// known of one unit, and make what is known of a type that of the unit in hand.
func CurveOf(known *kin.Known, sheet curve.Sheet, o curve.Options) (*curve.Curve, error) {
	switch {
	case known == nil:
	case len(sheet.Readings) == 0:
		return known.Curve()
	case known.Differs():
		c, _, err := known.With(sheet, o)
		return c, err
	}
	return curve.Fit(sheet, o)
}
