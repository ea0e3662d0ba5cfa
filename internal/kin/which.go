package kin

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
)

// Odd is one type among several, held against the readings of one unit.
type Odd struct {
	Index       int     // in the list of types
	Probability float64 // that the unit is of it
	Verdict     Verdict
}

// Odds is what readings say of several types.
type Odds struct {
	List []Odd   // the most probable first
	None float64 // the probability that it is of none of them
}

// strange is how far a sender of none of the types may be from one of them, as
// a standard deviation of its offset and of its gain in parts of the span
// (common practice, no source: end values of senders differ that much).
const strange = 0.5

// Which tells of which of several types a unit is. Beforehand "none of these" is
// as likely as all types together, and they are equally likely. A type expects
// readings to be distributed as a multivariate Student's t by its spread and
// degrees of freedom; a sender of no type as the same with any offset and gain.
// The probabilities follow by Bayes' rule.
//
// Types whose marks or values are of another kind than the readings are given no
// probability. Where readings lie outside the marks of one type, only those that
// all types know are compared; with none there is an error.
func Which(types []Known, sheet curve.Sheet, o curve.Options) (Odds, error) {
	if len(types) == 0 {
		return Odds{}, fmt.Errorf("no type to hold the readings against")
	}
	var priors []*prior
	var odds Odds
	for i, k := range types {
		_, v, err := k.With(sheet, o)
		if err != nil {
			continue
		}
		p, _ := k.prior(o.Doubts)
		p.digit = curve.ResolutionOf(sheet.Readings, p.signal)
		priors = append(priors, p)
		odds.List = append(odds.List, Odd{Index: i, Verdict: v})
	}
	if len(priors) == 0 {
		_, _, err := types[0].With(sheet, o)
		return Odds{}, err
	}
	list, err := usable(sheet, o.Doubts.Leads)
	if err != nil {
		return Odds{}, err
	}
	list = inAll(priors, list)
	if len(list) == 0 {
		return Odds{}, &curve.SheetError{Text: "no reading lies at marks that all these types are known at"}
	}
	logs, largest := make([]float64, 2*len(priors)), math.Inf(-1)
	for i, p := range priors {
		r := p.read(list)
		logs[i] = logStudent(r.off, p.expected(r, 1, true), p.spreadDF())
		logs[len(priors)+i] = logStudent(r.off, p.stranger(r), math.Inf(1))
		largest = max(largest, logs[i], logs[len(priors)+i])
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - largest)
	}
	for i := range priors {
		odds.List[i].Probability = math.Exp(logs[i]-largest) / sum
		odds.None += math.Exp(logs[len(priors)+i]-largest) / sum
	}
	sort.SliceStable(odds.List, func(a, b int) bool { return odds.List[a].Probability > odds.List[b].Probability })
	return odds, nil
}

func inAll(priors []*prior, list []curve.Reading) []curve.Reading {
	var out []curve.Reading
	for _, r := range list {
		everywhere := true
		for _, p := range priors {
			_, ok := p.placeOf(r.Mark)
			everywhere = everywhere && ok
		}
		if everywhere {
			out = append(out, r)
		}
	}
	return out
}

// stranger is what is expected of the readings of a sender of no known type.
func (p *prior) stranger(r read) *mat.SymDense {
	v := p.expected(r, 1, true)
	gain := make([]float64, len(r.list))
	middle := (p.mean[0] + p.mean[len(p.mean)-1]) / 2
	for i, one := range r.list {
		gain[i] = (float64(p.course.Ohm(one.Mark, curve.Refuse).Ohm) - middle) / p.span * 2
	}
	for i := range gain {
		for j := i; j < len(gain); j++ {
			v.SetSym(i, j, v.At(i, j)+square(strange*p.span)*(1+gain[i]*gain[j]))
		}
	}
	return v
}

// logStudent gives the logarithm of the density of the multivariate Student's t
// with a scale matrix and degrees of freedom, of the normal distribution where
// they are infinite.
func logStudent(off []float64, scale *mat.SymDense, df float64) float64 {
	var chol mat.Cholesky
	if !chol.Factorize(scale) {
		panic("kin: the covariance of the readings isn't positive definite")
	}
	d := mat.NewVecDense(len(off), off)
	var solved mat.VecDense
	must(chol.SolveVecTo(&solved, d))
	t2, n := mat.Dot(d, &solved), float64(len(off))
	if math.IsInf(df, 1) {
		return -(n*math.Log(2*math.Pi) + chol.LogDet() + t2) / 2
	}
	a, _ := math.Lgamma((df + n) / 2)
	b, _ := math.Lgamma(df / 2)
	return a - b - (n*math.Log(df*math.Pi)+chol.LogDet())/2 - (df+n)/2*math.Log1p(t2/df)
}

// Findings puts odds into sentences, with the name of each type.
func (o Odds) Findings(names []string) []finding.Finding {
	var out []finding.Finding
	for _, d := range o.List {
		out = append(out, finding.Finding{Kind: "type-odds", Text: fmt.Sprintf("%s: %s.", names[d.Index], finding.InHundred(d.Probability))})
	}
	return append(out, finding.Finding{Kind: "type-odds", Text: fmt.Sprintf("None of these: %s.", finding.InHundred(o.None))})
}
