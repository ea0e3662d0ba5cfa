package kin

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// Judgement says whether a unit is of a type.
type Judgement int

const (
	// CantTell: the readings neither refuse the unit nor would they have refused
	// many that aren't of the type; or they are in the grey between.
	CantTell Judgement = iota
	// Accepted: the readings are what a unit of the type gives.
	Accepted
	// Refused: a unit of the type would hardly ever give such readings.
	Refused
)

// String gives "can't tell", "accepted" or "refused".
func (j Judgement) String() string { return [...]string{"can't tell", "accepted", "refused"}[j] }

// MarshalText writes the judgement as its words.
func (j Judgement) MarshalText() ([]byte, error) { return []byte(j.String()), nil }

// The rates of the test.
const (
	// FalseRefusals is how many units of the type are refused: 1 in 100.
	FalseRefusals = 0.01
	// grey is below what chance a unit isn't accepted either: 5 in 100.
	grey = 0.05
	// blunt is the difference, in parts of the span, that the readings have to be
	// able to refuse for an acceptance to mean anything: a quarter.
	blunt = 0.25
)

// Verdict is what readings say of a unit and a type.
type Verdict struct {
	Judgement Judgement
	// P is the chance that a unit of the type gives readings at least so far off.
	P float64
	// T2 is the squared distance of the readings from the type, in parts of what
	// is expected, and Refuses the T2 from which a unit is refused. DF are the
	// degrees of freedom of T2/DF[0], which is compared with the F distribution.
	T2, Refuses float64
	DF          [2]float64
	Used        int // readings that it rests on
	LeftOut     int // readings outside the type's marks
	// Mark is where the readings are furthest from the type for what is expected
	// there, and Off by how much, in what the sender gives.
	Mark float64
	Off  quantity.Ohm
	// Offset is the offset in parts of the span that the readings would just
	// refuse: how sharp the test is.
	Offset float64
	Words  string
}

// spreadDF are the degrees of freedom with which the spread is known, with those
// that the expectation of its form brings; infinite where they aren't limited.
func (p *prior) spreadDF() float64 {
	if p.k.DF == 0 {
		return math.Inf(1)
	}
	return p.k.DF + formWeight
}

// judge tests whether the readings come from a unit of the type. With d the
// readings less the type's curve and V what is expected of them (the spread, the
// doubt of the type's mean, the bench), T² = dᵀV⁻¹d. T² over the number of
// readings is compared with the F distribution: the prediction of a further
// observation from few (H. Hotelling, Ann. Math. Stat. 2 (1931) 360; T. W.
// Anderson, An Introduction to Multivariate Statistical Analysis, 5.2; from
// memory), the spread's form being taken as known and its size as estimated with
// the degrees of freedom of the units.
func (p *prior) judge(r read, given int) Verdict {
	v := Verdict{P: 1, Used: len(r.list), LeftOut: given - len(r.list), Offset: math.Inf(1)}
	n := len(r.list)
	if n == 0 {
		v.Words = "There is no reading at the marks of this type, so nothing can be told of the unit."
		return v
	}
	cov := p.expected(r, 1, true)
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		panic("kin: the covariance of the readings isn't positive definite")
	}
	ones := mat.NewVecDense(n, nil)
	off := mat.NewVecDense(n, r.off)
	worst := -1.0
	for i := range n {
		ones.SetVec(i, 1)
		if z := math.Abs(r.off[i]) / math.Sqrt(cov.At(i, i)); z > worst {
			worst, v.Mark, v.Off = z, r.list[i].Mark, quantity.Ohm(r.off[i])
		}
	}
	var solved mat.VecDense
	must(chol.SolveVecTo(&solved, off))
	v.T2 = mat.Dot(off, &solved)
	v.DF = [2]float64{float64(n), p.spreadDF()}
	v.P = tail(v.T2, v.DF)
	v.Refuses = critical(FalseRefusals, v.DF)
	must(chol.SolveVecTo(&solved, ones))
	v.Offset = math.Sqrt(v.Refuses/mat.Dot(ones, &solved)) / p.span
	switch {
	case v.P < FalseRefusals:
		v.Judgement = Refused
	case v.P >= grey && v.Offset <= blunt:
		v.Judgement = Accepted
	}
	v.Words = p.words(v)
	return v
}

// tail gives the chance of a T² or more.
func tail(t2 float64, df [2]float64) float64 {
	if math.IsInf(df[1], 1) {
		return distuv.ChiSquared{K: df[0]}.Survival(t2)
	}
	return distuv.F{D1: df[0], D2: df[1]}.Survival(t2 / df[0])
}

// critical gives the T² that is exceeded with a chance of alpha.
func critical(alpha float64, df [2]float64) float64 {
	if math.IsInf(df[1], 1) {
		return distuv.ChiSquared{K: df[0]}.Quantile(1 - alpha)
	}
	return df[0] * distuv.F{D1: df[0], D2: df[1]}.Quantile(1-alpha)
}

func (p *prior) words(v Verdict) string {
	readings := "this reading"
	if v.Used > 1 {
		readings = fmt.Sprintf("these %d readings", v.Used)
	}
	name := wording.Clip(p.k.From, 120)
	switch {
	case v.Judgement == Refused:
		return fmt.Sprintf("Refused as not of this type (%s): a unit of it gives readings so far off %s. Furthest off is %s, %s from what the type gives. Read that mark again; if it stays, take the readings of a sender that isn't known.",
			name, chance(v.P), p.unit.Text(v.Mark), p.signal.Text(quantity.Ohm(math.Abs(float64(v.Off)))))
	case v.Judgement == Accepted:
		return fmt.Sprintf("Accepted as of this type (%s): of its units %s are further off than this one. One unit of the type in 100 is refused wrongly; one whose %s are off everywhere by %s of span or more would have been refused.",
			name, share(v.P), p.signal.Figures(), percent(v.Offset))
	case v.P < grey:
		return fmt.Sprintf("It can't be told whether this unit is of this type (%s): a unit of it gives readings so far off %s, which is seldom and not seldom enough to refuse it. Read another mark.", name, chance(v.P))
	}
	return fmt.Sprintf("It can't be told whether this unit is of this type (%s): %s would also be given by senders that are off by %s of span everywhere. More readings, or more units in the type, would tell.", name, readings, percent(v.Offset))
}

// chance words a small probability.
func chance(p float64) string {
	switch n := math.Round(1 / max(p, 1e-9)); {
	case n >= 10_000:
		return "less than once in 10 000"
	case n >= 20:
		return fmt.Sprintf("once in %.0f", n)
	}
	return fmt.Sprintf("%.0f times in 100", 100*p)
}

// share words a probability as a part of many.
func share(p float64) string {
	switch n := math.Round(100 * p); {
	case n >= 100:
		return "nearly all"
	default:
		return fmt.Sprintf("%.0f in 100", n)
	}
}

func percent(part float64) string {
	if part > 9.99 {
		return "more than 999 %"
	}
	return quantity.Digits(part*100, 1) + " %"
}
