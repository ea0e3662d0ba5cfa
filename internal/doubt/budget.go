package doubt

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Distribution names what is known of how a quantity scatters.
type Distribution string

// The distributions that budgets use (JCGM 101:2008, table 1).
const (
	Normal       Distribution = "normal"
	RectangularD Distribution = "rectangular"
	StudentT     Distribution = "t"
)

// Line is one line of an uncertainty budget.
type Line struct {
	Quantity     string  // in words
	Value        float64 // its estimate, in Unit
	Unit         string
	U            float64 // its standard uncertainty, in Unit
	Distribution Distribution
	DF           float64 // degrees of freedom; infinite where U is simply known
	Sensitivity  float64 // of the result to it: result unit per Unit
}

// Contribution gives what the line adds to the result: |sensitivity| · u.
func (l Line) Contribution() float64 { return math.Abs(l.Sensitivity) * l.U }

// Budget is the uncertainty of one result by its independent sources, as the
// metrology trade writes it down.
type Budget struct {
	Lines []Line
	Unit  string // of the result
}

// Combined gives the combined standard uncertainty: the root of the sum of the
// squared contributions. Source: JCGM 100:2008, 5.1.2.
func (b Budget) Combined() float64 {
	u := 0.0
	for _, l := range b.Lines {
		u = math.Hypot(u, l.Contribution())
	}
	return u
}

// Share gives which part of the combined variance line i brings, 0..1.
func (b Budget) Share(i int) float64 {
	u := b.Combined()
	if u == 0 {
		return 0
	}
	c := b.Lines[i].Contribution() / u
	return c * c
}

// DF gives the effective degrees of freedom of the combined uncertainty by the
// Welch–Satterthwaite formula; infinite where no line is limited.
// Source: JCGM 100:2008, G.4.1.
func (b Budget) DF() float64 {
	u := b.Combined()
	sum := 0.0
	for _, l := range b.Lines {
		if l.DF > 0 && !math.IsInf(l.DF, 1) {
			sum += math.Pow(l.Contribution(), 4) / l.DF
		}
	}
	if sum == 0 || u == 0 {
		return math.Inf(1)
	}
	return math.Pow(u, 4) / sum
}

// Coverage gives the factor k by which the combined uncertainty is to be taken
// for an interval of the given probability, 0 < p < 1: Student's t for the
// effective degrees of freedom, rounded down, and the normal distribution where
// they are unlimited. Source: JCGM 100:2008, G.6.4.
func (b Budget) Coverage(p float64) float64 { return Factor(p, b.DF()) }

// Factor gives the two-sided coverage factor for a probability 0 < p < 1 and
// degrees of freedom of 1 or more (less is taken for 1).
func Factor(p, df float64) float64 {
	if math.IsInf(df, 1) || df > 1e6 {
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(1, math.Floor(df))}.Quantile((1 + p) / 2)
}
