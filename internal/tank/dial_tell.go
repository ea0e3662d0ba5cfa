package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Shown is what a dial showed with a known volume in the tank, by litres poured
// or by the kilograms weighed and the density.
type Shown struct {
	Mark      float64 // share of the dial
	Volume, U quantity.CubicMetre
}

// ShownByWeight makes a pair of what was weighed: mass over density in kg/m³,
// with relative uncertainties adding as roots of squares. Source: JCGM
// 100:2008, 5.1.6.
func ShownByWeight(mark float64, mass, uMass quantity.Kilogram, density, uDensity float64) (Shown, error) {
	if !(mass >= 0) || !(uMass >= 0) || !(density > 0) || !(uDensity >= 0) {
		return Shown{}, fmt.Errorf("%s ± %s at %g ± %g kg/m³ give no volume; expected a mass of 0 or more, a density above 0, and their doubts", mass, uMass, density, uDensity)
	}
	v := float64(mass) / density
	return Shown{mark, quantity.CubicMetre(v), quantity.CubicMetre(math.Hypot(float64(uMass)/density, v*uDensity/density))}, nil
}

// MarkingDoubt is what the pairs are told from each other with. Standard
// uncertainties, shares of the dial but for Pour.
type MarkingDoubt struct {
	Mark float64 // of one reading: division, parallax, what sticks; above 0
	// Shift is common to all readings: a head that sits a little off. It is
	// taken as a shift of the marks.
	Shift float64
	Pour  float64 // relative, common to all volumes: the jug, the density
	// Fullest is the share of the capacity up to which a further mark is looked
	// for; 0 stands for 0.8, beyond which a gas tank is never filled.
	Fullest float64
}

// MarkingOdd is one way a dial may be marked, held against the pairs.
type MarkingOdd struct {
	Marked      Marked
	Probability float64 // among the ways asked about, taken as equally likely before
	// ChiSquared is the misfit, its expectation the number of pairs.
	ChiSquared float64
	logLike    float64
	dial       Dial
}

// Telling says how a dial is marked.
type Telling struct {
	Odds []MarkingOdd // the most probable first
	Told bool         // the first is at least 20 times as probable as the second
	Fits bool         // the pairs are such as the first gives in one of a thousand cases, or more
	// Next is the volume at which one more pair would tell most, and the marks
	// that the first two would show there. Gain is the difference in standard
	// uncertainties of a reading.
	Next     quantity.CubicMetre
	Marks    [2]float64
	Gain     float64
	Findings []finding.Finding
}

// Kinds of findings about how a dial is marked.
const (
	KindMarkingTold   = "dial-marking"
	KindMarkingUntold = "dial-marking-untold"
	KindMarkingNone   = "dial-marking-none"
)

// tellingOdds is how many times as probable the first must be. Common practice,
// no source.
const tellingOdds = 20

// TellMarking tells from pairs of marks and volumes whether a dial on a tank is
// marked in percent of volume or of height, and with an arm also of the arm's
// travel. Each way predicts the marks m(V); their differences from those shown
// are normal, with the covariance
//
//	cov = mark²·δ + (s·u(V))²·δ + shift² + pour²·sV·s'V', s = dm/dV
//
// and Bayes' rule with equal priors gives the probabilities.
func TellMarking(t *Tank, arm *Arm, pairs []Shown, d MarkingDoubt) (Telling, error) {
	if d.Fullest == 0 {
		d.Fullest = 0.8
	}
	if err := tellCheck(t, pairs, d); err != nil {
		return Telling{}, err
	}
	ways := []Marked{ByVolume, ByHeight}
	if arm != nil {
		ways = append(ways, ByAngle)
	}
	var told Telling
	for _, way := range ways {
		o := MarkingOdd{Marked: way, dial: Dial{Marked: way, Tank: t, Arm: arm}}
		if err := o.dial.Check(); err != nil {
			return Telling{}, err
		}
		o.ChiSquared, o.logLike = tellLikelihood(o.dial, pairs, d)
		told.Odds = append(told.Odds, o)
	}
	oddsOf(told.Odds, func(o *MarkingOdd) (logLike float64, probability *float64) { return o.logLike, &o.Probability })
	first, second := told.Odds[0], told.Odds[1]
	told.Told = first.Probability >= tellingOdds*second.Probability
	told.Fits = distuv.ChiSquared{K: float64(len(pairs))}.Survival(first.ChiSquared) >= 0.001
	told.Next, told.Marks, told.Gain = tellNext(t, first.dial, second.dial, d)
	told.Findings = told.words(t)
	return told, nil
}

func tellCheck(t *Tank, pairs []Shown, d MarkingDoubt) error {
	if len(pairs) == 0 {
		return fmt.Errorf("no pair of a mark and a volume is given; expected at least one")
	}
	if !(d.Mark > 0 && d.Mark < 0.5) {
		return fmt.Errorf("the doubt of one reading of the dial is %g %%; expected above 0 and less than 50 %%", d.Mark*100)
	}
	if !(d.Shift >= 0 && d.Shift < 0.5 && d.Pour >= 0 && d.Pour < 0.5) {
		return fmt.Errorf("the common doubts are %g %% of the dial and %g %% of what was poured; expected 0 or more and less than 50 %%", d.Shift*100, d.Pour*100)
	}
	if !(d.Fullest > 0.02 && d.Fullest <= 1) {
		return fmt.Errorf("marks are to be looked for up to %g %% of the capacity; expected 3 to 100 %%", d.Fullest*100)
	}
	for i, p := range pairs {
		if !(p.Mark >= 0 && p.Mark <= 1) {
			return fmt.Errorf("pair %d: the dial shows %g %%; expected 0 to 100 %%", i+1, p.Mark*100)
		}
		if !(p.U >= 0 && p.U <= t.Capacity()) {
			return fmt.Errorf("pair %d: the doubt of the volume is %s; expected 0 L or more", i+1, p.U)
		}
		if !(p.Volume >= 0 && p.Volume <= t.Capacity()+3*p.U) {
			return fmt.Errorf("pair %d: %s in a tank that holds %s; expected no more than it holds", i+1, p.Volume, t.Capacity())
		}
	}
	return nil
}

// tellLikelihood gives the misfit of the pairs and the logarithm of their
// likelihood, leaving out what is the same for all dials.
func tellLikelihood(dial Dial, pairs []Shown, d MarkingDoubt) (chi2, logLike float64) {
	n := len(pairs)
	capacity := float64(dial.Tank.Capacity())
	miss, slope := mat.NewVecDense(n, nil), make([]float64, n)
	for i, p := range pairs {
		v, u := float64(p.Volume), max(float64(p.U), 1e-4*capacity)
		miss.SetVec(i, p.Mark-dial.dialShows(v))
		// Taken over the doubt: at the bottom of a round tank the slope at one
		// place can be without end.
		low, high := max(0, v-u), min(capacity, v+u)
		if high > low {
			slope[i] = (dial.dialShows(high) - dial.dialShows(low)) / (high - low)
		}
	}
	cov := mat.NewSymDense(n, nil)
	for i, p := range pairs {
		for j := i; j < n; j++ {
			c := d.Shift*d.Shift + d.Pour*d.Pour*slope[i]*slope[j]*float64(p.Volume*pairs[j].Volume)
			if i == j {
				own := slope[i] * float64(p.U)
				c += d.Mark*d.Mark + own*own
			}
			cov.SetSym(i, j, c)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		panic("tank: the covariance of dial readings isn't positive definite")
	}
	var solved mat.VecDense
	if err := chol.SolveVecTo(&solved, miss); err != nil {
		panic("tank: " + err.Error())
	}
	chi2 = mat.Dot(miss, &solved)
	return chi2, -(chi2 + chol.LogDet()) / 2
}

// tellNext finds where two dials differ most.
func tellNext(t *Tank, a, b Dial, d MarkingDoubt) (at quantity.CubicMetre, marks [2]float64, gain float64) {
	for percent := 2.0; percent <= d.Fullest*100+1e-9; percent++ {
		v := percent / 100 * float64(t.Capacity())
		ma, mb := a.dialShows(v), b.dialShows(v)
		if g := math.Abs(ma-mb) / d.Mark; g > gain {
			at, marks, gain = quantity.CubicMetre(v), [2]float64{ma, mb}, g
		}
	}
	return at, marks, gain
}

func (w Telling) words(t *Tank) (list []finding.Finding) {
	first, second := w.Odds[0], w.Odds[1]
	times := func() string {
		ratio := first.Probability / second.Probability
		switch {
		case !(ratio < 1000):
			return "more than 1000 times"
		case ratio < 2:
			return quantity.Digits(ratio, 1) + " times"
		}
		return quantity.Digits(ratio, 0) + " times"
	}
	if !w.Fits {
		return []finding.Finding{{Kind: KindMarkingNone, Weight: finding.Doubt, Text: fmt.Sprintf(
			"The dial agrees with none of the ways it may be marked; the nearest is %s. It may be made for another tank, sit off its mount, or the tank's sizes may be wrong.", first.Marked)}}
	}
	if w.Told {
		return []finding.Finding{{Kind: KindMarkingTold, Weight: finding.Note, Text: fmt.Sprintf(
			"The dial is marked in %s: that is %s as probable as %s.", first.Marked, times(), second.Marked)}}
	}
	text := fmt.Sprintf("From these readings %s and %s can't be told apart: ", first.Marked, second.Marked)
	if first.Probability < 1.5*second.Probability {
		text += "the one is about as probable as the other."
	} else {
		text += fmt.Sprintf("the first is %s as probable, and it takes %d times to tell.", times(), tellingOdds)
	}
	if w.Gain < 1 {
		text += " In this tank they come to much the same: they differ by less than the dial can be read to."
	} else {
		text += fmt.Sprintf(" One more reading with %s in the tank would tell best: %s would show %s, %s %s.", senderLitres(w.Next),
			first.Marked, dialPercent(w.Marks[0]), second.Marked, dialPercent(w.Marks[1]))
	}
	return append(list, finding.Finding{Kind: KindMarkingUntold, Weight: finding.Doubt, Text: text})
}

func dialPercent(m float64) string { return quantity.Short(m*100, 0) + " %" }
