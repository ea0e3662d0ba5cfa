package curve

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Pour is one measured amount put into the tank.
type Pour struct {
	Amount quantity.CubicMetre // above 0
	// U is its own standard uncertainty, independent of the other pours': how
	// well the jug was filled to its line, what stayed in the hose.
	U quantity.CubicMetre
}

// Pouring is how the marks of a sheet in litres came about: amounts poured one
// after the other on top of what was in the tank.
type Pouring struct {
	// Start is what was in the tank before the first pour, with its standard
	// uncertainty: most often nothing, and what hides in the sump.
	Start, StartU quantity.CubicMetre
	Pours         []Pour
	// Common is the relative standard uncertainty that all pours share: the
	// calibration of the jug, the meter's factor, the density. It doesn't
	// average out: it grows with what was poured.
	Common float64
}

// Check says what of a pouring can't be used.
func (p Pouring) Check() error {
	if !(p.Start >= 0 && !math.IsInf(float64(p.Start), 0)) || !(p.StartU >= 0 && !math.IsInf(float64(p.StartU), 0)) {
		return fmt.Errorf("the amount at the start is %s ± %s; expected nothing or more", p.Start, p.StartU)
	}
	if len(p.Pours) == 0 {
		return fmt.Errorf("nothing was poured; at least one pour is needed")
	}
	if !(p.Common >= 0 && p.Common < 0.5) {
		return fmt.Errorf("the doubt common to all pours is %g %%; expected 0 or more and less than 50 %%", p.Common*100)
	}
	for i, pour := range p.Pours {
		if !(pour.Amount > 0) || math.IsInf(float64(pour.Amount), 0) {
			return fmt.Errorf("pour %d is %s; expected more than nothing", i+1, pour.Amount)
		}
		if !(pour.U >= 0 && pour.U < pour.Amount) {
			return fmt.Errorf("pour %d of %s has a standard uncertainty of %s; expected less than the pour itself", i+1, pour.Amount, pour.U)
		}
	}
	return nil
}

// Marks gives the amounts in the tank in m³, the start first and then after
// each pour, and their covariance in m⁶:
//
//	cov(Vᵢ, Vⱼ) = u₀² + Σ_{k ≤ min(i,j)} u_k² + PᵢPⱼ·r²
//
// with u₀ of the start, u_k of each pour, P what was poured up to there and r
// the common relative uncertainty. Neighbouring marks share almost all of their
// doubt, so the steps between them are known far better than they are. Source:
// JCGM 100:2008, 5.2.2 and F.1.2.3. A pouring that [Pouring.Check] refuses is
// the caller's slip.
func (p Pouring) Marks() (marks []float64, cov *mat.SymDense) {
	n := len(p.Pours) + 1
	marks = make([]float64, n)
	own := make([]float64, n) // u₀² + Σu_k²
	marks[0], own[0] = float64(p.Start), square(float64(p.StartU))
	for k, pour := range p.Pours {
		marks[k+1] = marks[k] + float64(pour.Amount)
		own[k+1] = own[k] + square(float64(pour.U))
	}
	cov = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, own[i]+(marks[i]-marks[0])*(marks[j]-marks[0])*square(p.Common))
		}
	}
	return marks, cov
}

// U gives the standard uncertainty in m³ of any mark. Between two pours the
// next one is taken to have been poured in part, with its doubt in proportion;
// beyond the last the last stands for more of the same.
func (p Pouring) U(mark float64) float64 {
	at, own := float64(p.Start), square(float64(p.StartU))
	poured := max(0, mark-at)
	left := poured
	for k, pour := range p.Pours {
		amount, u := float64(pour.Amount), float64(pour.U)
		switch {
		case left >= amount*(1-1e-9) && k < len(p.Pours)-1:
			own += u * u
			left -= amount
			continue
		case left > amount: // beyond the last: as many more like it
			own += u * u * left / amount
		case left > 0:
			own += square(u * left / amount)
		}
		break
	}
	return doubt.Combine(math.Sqrt(own), poured*p.Common)
}

// MarkU gives, for each point of a curve in litres, the standard uncertainty of
// its mark in m³, and what that is in ohms by the curve's slope there. The
// latter is not in the points' own U. Marks in another unit are an error.
func (p Pouring) MarkU(c *Curve) (u []float64, ohm []quantity.Ohm, err error) {
	if c.unit != Volume {
		return nil, nil, fmt.Errorf("the marks are in %s; poured amounts are the doubt of marks in L", c.unit.Symbol())
	}
	if err := p.Check(); err != nil {
		return nil, nil, err
	}
	for _, point := range c.points {
		v := p.U(point.Mark)
		u = append(u, v)
		ohm = append(ohm, quantity.Ohm(v*c.slopeAt(c.pieceOf(point.Mark), point.Mark)))
	}
	return u, ohm, nil
}

// PouredTo gives the pouring that led to marks, as a bench file has them: any
// order, repeats left out, each rise from one to the next a pour of its own with
// the same standard uncertainty. The first pour leads from the start to the
// lowest mark that lies above it.
//
// Its limit: marks reached on the way down are taken for the same marks again,
// as they are where the tank is drained to a level seen before; amounts that
// were measured out of the tank have doubts of their own.
func PouredTo(marks []float64, start, startU, each quantity.CubicMetre, common float64) (Pouring, error) {
	p := Pouring{Start: start, StartU: startU, Common: common}
	at := float64(start)
	sorted := sortedCopy(marks)
	for _, m := range sorted {
		if m < at*(1-1e-9)-1e-12 && len(p.Pours) == 0 {
			return Pouring{}, fmt.Errorf("the mark %s lies below the %s that were in the tank at the start", quantity.CubicMetre(m), start)
		}
		if m-at > 1e-9*math.Abs(sorted[len(sorted)-1]) {
			p.Pours = append(p.Pours, Pour{Amount: quantity.CubicMetre(m - at), U: each})
			at = m
		}
	}
	return p, p.Check()
}
