package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Poured is a height of the surface with a known volume in the tank. Both may
// have a standard uncertainty; one of them must.
type Poured struct {
	Height, UHeight quantity.Metre
	Volume, U       quantity.CubicMetre
}

// Fitted is one dimension as the poured litres tell it.
type Fitted struct {
	Name string // "length", "diameter"; of a box with neither length nor width known "area"
	// Value and U in metres, of an area in m².
	Value, U float64
	Told     bool // known to better than a tenth
}

// PouredFit is a tank's dimensions from poured litres.
type PouredFit struct {
	Form Form
	// Fitted are the dimensions that were fitted, and Cov their covariance.
	Fitted []Fitted
	Cov    *mat.SymDense
	// ChiSquared is the misfit, DF the degrees of freedom, P the probability of
	// as much misfit or more where form and doubts are right; 1 with no degree
	// of freedom, where nothing can be checked.
	ChiSquared float64
	DF         int
	P          float64
	// Residuals are poured less fitted volume, in standard uncertainties of
	// each point by itself.
	Residuals []float64
	// Capacity and its standard uncertainty; NaN where a box's or an upright
	// cylinder's height isn't known.
	Capacity, UCapacity quantity.CubicMetre
	// Beyond says that the capacity goes on past the greatest poured volume by
	// more than a tenth.
	Beyond     bool
	Iterations int
	Stopped    string // why the fit ended
	Findings   []finding.Finding
}

// FitPoured fits what isn't known of a tank's dimensions to heights and poured
// volumes, by generalised least squares (Levenberg's and Marquardt's steps). The
// points' own doubts are taken as independent, that of a height by the slope of
// the fitted volume; a covariance of the volumes in m⁶ takes the place of the
// volumes' doubts where they go together, as litres poured one after the other
// do. The covariance of the dimensions is (JᵀC⁻¹J)⁻¹, with the doubts as they
// are stated, not blown up or shrunk by the misfit.
//
// The error says what can't be told from the points at all.
func FitPoured(points []Poured, guess Dimensions, cov mat.Symmetric) (*PouredFit, error) {
	if err := guess.check(); err != nil {
		return nil, err
	}
	m, err := newMeasuredModel(guess)
	if err != nil {
		return nil, err
	}
	if err := m.check(points, cov); err != nil {
		return nil, err
	}
	best, err := m.fit(points, cov)
	if err != nil {
		return nil, err
	}
	f := &PouredFit{Form: guess.Form, ChiSquared: best.chi2, DF: len(points) + len(m.priors) - len(m.names), P: 1,
		Iterations: best.iterations, Stopped: best.stopped}
	if f.Cov, err = m.covariance(best); err != nil {
		return nil, err
	}
	for i, name := range m.names {
		u := math.Sqrt(f.Cov.At(i, i))
		f.Fitted = append(f.Fitted, Fitted{Name: name, Value: best.p[i], U: u, Told: u < best.p[i]/10})
	}
	if f.DF > 0 {
		f.P = distuv.ChiSquared{K: float64(f.DF)}.Survival(f.ChiSquared)
	}
	highest, most := 0.0, quantity.CubicMetre(0)
	for i, p := range points {
		highest, most = max(highest, float64(p.Height)), max(most, p.Volume)
		v, _ := m.volume(best.p, float64(p.Height), nil)
		f.Residuals = append(f.Residuals, (float64(p.Volume)-v)/best.sigma[i])
	}
	f.Capacity, f.UCapacity = m.capacity(best.p, f.Cov)
	f.Beyond = float64(f.Capacity) > 1.1*float64(most)
	f.Findings = f.words(m, points, highest, most)
	return f, nil
}

// newMeasuredModel sorts the dimensions into those to fit and those that are
// held.
func newMeasuredModel(d Dimensions) (*measuredModel, error) {
	m := &measuredModel{d: d, start: map[string]float64{}}
	take := func(name string, s Size) {
		if s.Known && s.U == 0 {
			m.start[name] = float64(s.Value)
			return
		}
		m.names = append(m.names, name)
		m.start[name] = float64(s.Value)
		if s.Known {
			m.priors = append(m.priors, measuredPrior{len(m.names) - 1, float64(s.Value), float64(s.U)})
		}
	}
	switch d.Form {
	case BoxForm:
		if !d.Length.Known && !d.Width.Known {
			m.area = true
			take("area", Size{Value: d.Length.Value * d.Width.Value})
			break
		}
		take("length", d.Length)
		take("width", d.Width)
	case UprightForm:
		take("diameter", d.Diameter)
	default:
		take("diameter", d.Diameter)
		take("length", d.Length)
	}
	if len(m.names) == 0 {
		return nil, fmt.Errorf("every dimension of the %s is held, so nothing is left to fit; leave out one, or state its doubt", d.Form)
	}
	return m, nil
}

func (m *measuredModel) check(points []Poured, cov mat.Symmetric) error {
	if n := len(points) + len(m.priors); n < len(m.names) {
		return fmt.Errorf("%d points can't tell the %s of a %s; expected at least %d, or one of them measured", len(points), measuredList(m.names), m.d.Form, len(m.names)-len(m.priors))
	}
	if cov != nil && cov.SymmetricDim() != len(points) {
		return fmt.Errorf("the covariance is of %d volumes; expected one of the %d points", cov.SymmetricDim(), len(points))
	}
	for i, p := range points {
		if !(p.Height > 0 && p.Height <= MaxExtent) {
			return fmt.Errorf("point %d stands at a height of %s; expected above 0 mm and at most %s", i+1, p.Height, quantity.Metre(MaxExtent))
		}
		if !(p.Volume > 0 && p.Volume < MaxExtent*MaxExtent*MaxExtent) {
			return fmt.Errorf("point %d at %s holds %s; expected more than nothing", i+1, p.Height, p.Volume)
		}
		if !(p.U >= 0 && p.U < p.Volume) || !(p.UHeight >= 0 && p.UHeight < p.Height) {
			return fmt.Errorf("point %d of %s at %s has doubts of %s and %s; expected less than the figures themselves", i+1, p.Volume, p.Height, p.U, p.UHeight)
		}
		if p.U == 0 && p.UHeight == 0 && cov == nil {
			return fmt.Errorf("point %d of %s at %s has no doubt; state that of the volume, of the height, or both", i+1, p.Volume, p.Height)
		}
		if top := m.d.Height; m.d.Form != LyingForm && top.Known && p.Height > top.Value+3*(top.U+p.UHeight) {
			return fmt.Errorf("point %d stands at %s, above the tank's height of %s", i+1, p.Height, top.Value)
		}
	}
	return nil
}
