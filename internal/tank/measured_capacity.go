package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Outside is a tank measured from outside with a tape. The length of a lying
// cylinder is over all, its ends included.
type Outside struct {
	Dimensions
	// Wall is the wall's thickness, where it is known; else it is taken to lie
	// between ThinWall and ThickWall, every thickness there as likely as
	// another.
	Wall Size
}

// ThinWall and ThickWall are between what a wall lies that nobody has measured:
// sheet steel and moulded plastic of vehicle and leisure tanks. Common
// practice, no source.
const (
	ThinWall  quantity.Metre = 0.001
	ThickWall quantity.Metre = 0.008
)

// Explanation is one way in which the tape and a stated capacity can go
// together.
type Explanation struct {
	Kind        string
	Probability float64 // among the explanations, taken as equally likely before
	// Predicts is the figure that would be stated if it were so, with its
	// standard uncertainty, and Off how many standard uncertainties the stated
	// one is from it.
	Predicts, U quantity.CubicMetre
	Off         float64
	Question    string // for the fitter
	logLike     float64
}

// CapacityCheck is a capacity from outside measurements against a stated one.
type CapacityCheck struct {
	Measured, U quantity.CubicMetre // inside volume by the tape, all walls allowed for
	Stated      quantity.CubicMetre
	Difference  quantity.CubicMetre // Measured − Stated
	Sigmas      float64             // the difference in standard uncertainties
	// Explanations, the most probable first; "agrees" is the plain one.
	Explanations []Explanation
	Findings     []finding.Finding
}

// Kinds of findings and explanations of a stated capacity.
const (
	KindCapacityAgrees  = "capacity-agrees"
	KindCapacityDiffers = "capacity-differs"
	KindNoneExplains    = "capacity-unexplained"
	KindAsksFitter      = "capacity-question"
)

// statedRounding is the standard uncertainty of a stated capacity, in parts of
// it: makers state round figures. Common practice, no source.
const statedRounding = 0.01

// Volumes of the gallons in m³, exact by definition. Source: US: NIST Handbook
// 44, appendix C; imperial: the Units of Measurement Regulations 1995 (both
// from memory).
const (
	USGallon       = 3.785411784e-3
	ImperialGallon = 4.54609e-3
)

// MeasuredCapacity reckons a capacity from outside measurements, and holds it
// against the stated one: how far they are apart, in litres and in standard
// uncertainties, and which of the usual reasons would explain it best. An
// uncertain wall, corner or end is averaged over, so that a reason which could
// explain anything isn't preferred to one that hits.
func MeasuredCapacity(m Outside, stated quantity.CubicMetre) (CapacityCheck, error) {
	if err := m.check(); err != nil {
		return CapacityCheck{}, err
	}
	if !(stated > 0 && stated < MaxExtent*MaxExtent*MaxExtent) {
		return CapacityCheck{}, fmt.Errorf("the stated capacity is %s; expected more than nothing", stated)
	}
	c := CapacityCheck{Stated: stated}
	plain := m.inside(capacityNone, false)
	c.Measured, c.U = quantity.CubicMetre(plain.mean()), quantity.CubicMetre(plain.u())
	c.Difference = c.Measured - stated
	c.Sigmas = float64(c.Difference) / math.Hypot(float64(c.U), statedRounding*float64(stated))
	for _, h := range m.hypotheses() {
		c.Explanations = append(c.Explanations, h.explain(float64(stated)))
	}
	oddsOf(c.Explanations, func(o *Explanation) (logLike float64, probability *float64) { return o.logLike, &o.Probability })
	c.Findings = c.words()
	return c, nil
}

func (m Outside) check() error {
	if err := m.Dimensions.check(); err != nil {
		return err
	}
	least := math.Inf(1)
	for _, s := range m.sizes() {
		if !s.size.Known {
			return fmt.Errorf("the %s of the %s wasn't measured; expected all of %s", s.name, m.Form, measuredList(m.sizeNames()))
		}
		least = min(least, float64(s.size.Value))
	}
	if w := m.Wall; !(w.Value >= 0 && w.U >= 0) || w.Known && !(float64(w.Value) < least/4) {
		return fmt.Errorf("the wall is %s thick and the tank %s; expected less than a quarter of that", w.Value, quantity.Metre(least))
	}
	if m.Form == LyingForm && m.Heads*float64(m.Diameter.Value) >= float64(m.Length.Value) {
		return fmt.Errorf("the bulged ends take up %s, and the tank is %s long over all; expected a length with its ends", quantity.Metre(m.Heads*float64(m.Diameter.Value)), m.Length.Value)
	}
	return nil
}

func (m Outside) sizeNames() (names []string) {
	for _, s := range m.sizes() {
		names = append(names, s.name)
	}
	return names
}
