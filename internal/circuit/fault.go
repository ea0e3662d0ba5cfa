package circuit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Fault is a way in which wiring goes wrong and still gives a reading.
type Fault string

// The faults that are told apart.
const (
	// Sound is wiring that adds nothing.
	Sound Fault = "sound"
	// Leak is resistance across the sender: water in a plug, a salty film, soot.
	Leak Fault = "leak"
	// Corroded is resistance in series: a corroded or loose joint, a bad earth.
	Corroded Fault = "corroded joint"
)

// Reading gives what is read from a sender of so many ohm, 0 or more, with a
// fault of so many ohm: r·R/(r + R) with a leak R, r + R with a joint R.
func (f Fault) Reading(ohm, fault float64) float64 {
	switch {
	case f == Corroded:
		return ohm + fault
	case f == Leak && ohm == 0, f == Leak && fault == 0:
		return 0
	case f == Leak:
		return ohm / (1 + ohm/fault) // the same, and good for a very large R
	}
	return ohm
}

// True gives what a sender has from what is read with a known fault; the
// inverse of Reading. There is none for a reading as large as the leak, or
// smaller than the joint.
func (f Fault) True(seen, fault float64) (float64, error) {
	switch {
	case !finite(seen, fault) || seen < 0 || fault < 0:
		return 0, fmt.Errorf("a reading of %g Ω and a fault of %g Ω; expected figures of 0 or more", seen, fault)
	case f == Leak && seen >= fault:
		return 0, fmt.Errorf("a reading of %s Ω across a leak of %s Ω; expected less, for a sender beside a leak reads less than the leak alone", ohms(seen), ohms(fault))
	case f == Leak:
		return Unshunted(seen, fault)
	case f == Corroded && seen < fault:
		return 0, fmt.Errorf("a reading of %s Ω through a joint of %s Ω; expected no less than the joint alone", ohms(seen), ohms(fault))
	case f == Corroded:
		return seen - fault, nil
	}
	return seen, nil
}

// Unshunted gives the resistance of a sender from what is measured, seen ohm,
// with a resistance of shunt ohm left in parallel, such as the coil of a gauge:
//
//	R = R_m·R_g/(R_g − R_m)
//
// The reading has to be the smaller of the two. Source: resistances in parallel.
func Unshunted(seen, shunt float64) (float64, error) {
	if !finite(seen, shunt) || seen < 0 || seen >= shunt {
		return 0, fmt.Errorf("%g Ω measured with %g Ω in parallel; expected a reading of 0 or more and less than what is in parallel", seen, shunt)
	}
	return seen / (1 - seen/shunt), nil
}

// Look is how much too much a fault shows at three marks, in points.
type Look struct{ Empty, Half, Full float64 }

// Looks gives the errors that a fault of so many ohm brings over a span, what
// would be read less what is true, in points of a straight scale: a joint shifts
// every mark alike, a leak bends the scale and tells most where the ohms are many.
func (f Fault) Looks(fault float64, span Span) (Look, error) {
	if err := span.Check(); err != nil {
		return Look{}, err
	}
	if !finite(fault) || fault < 0 {
		return Look{}, fmt.Errorf("a fault of %g Ω; expected 0 or more", fault)
	}
	at := func(mark float64) float64 {
		ohm := span.Ohm(mark)
		return (f.Reading(ohm, fault) - ohm) * span.PerOhm()
	}
	return Look{at(0), at(50), at(100)}, nil
}

// Pair is what a sender is known to have and what was read, in ohm.
type Pair struct{ True, Seen float64 }

// Suspicion is how well one fault explains some readings.
type Suspicion struct {
	Fault Fault
	// Ohm is the fault's resistance by least squares; 0 for sound wiring, and where
	// Nothing is true.
	Ohm     float64
	Nothing bool    // the best value is that of no fault
	Misfit  float64 // root of the mean squared difference, Ω
	// ChiSquare is the sum of the squared differences over u².
	ChiSquare float64
	Fits      bool // the misfit is no larger than u explains, at 95 %
}

// Explanation is what Explain found.
type Explanation struct {
	Best Suspicion
	All  []Suspicion // sound, leak, corroded joint, in this order
	// Told says that the best is clearly better than the next: their sums of
	// squares differ by more than 4 u², which is two standard uncertainties.
	Told bool
	Text string
}

// Explain tells which single fault fits some readings best: each pair is what
// the sender should have at a known mark and what was read there, u the standard
// uncertainty of one reading in ohm, above 0. Each fault's value is found by
// least squares. Sound wiring is preferred unless a fault, which has a value to
// fit, lowers the sum of squares by more than 4 u².
//
// A leak only ever lowers a reading and a joint only ever raises it, so one pair
// tells them apart; but one pair is also fitted by some value of either, and only
// more of them, well apart, show that the fault is of that kind at all.
func Explain(pairs []Pair, u float64) (Explanation, error) {
	if len(pairs) == 0 {
		return Explanation{}, fmt.Errorf("no readings; expected one or more, each with the ohms that should have been there")
	}
	if !(u > 0) || math.IsInf(u, 0) {
		return Explanation{}, fmt.Errorf("a standard uncertainty of %g Ω; expected a figure above 0", u)
	}
	for i, p := range pairs {
		if !finite(p.True, p.Seen) || p.True < 0 || p.Seen < 0 || p.True > 1e9 || p.Seen > 1e9 {
			return Explanation{}, fmt.Errorf("reading %d: %g Ω seen for %g Ω; expected figures from 0 to 1000000000 Ω", i+1, p.Seen, p.True)
		}
	}
	e := Explanation{All: []Suspicion{
		faultFit(pairs, u, Sound, 0, false),
		faultLeak(pairs, u),
		faultJoint(pairs, u),
	}}
	e = faultJudge(e)
	if len(pairs) == 1 && e.Best.Fault != Sound {
		e.Text += "; one reading can't confirm that: read at another mark too"
	}
	return e, nil
}

// faultJudge picks the best and puts it into words.
func faultJudge(e Explanation) Explanation {
	const clear = 4
	sound, leak, joint := e.All[0], e.All[1], e.All[2]
	better, worse := leak, joint
	if joint.ChiSquare < leak.ChiSquare {
		better, worse = joint, leak
	}
	switch {
	case sound.ChiSquare-better.ChiSquare <= clear:
		e.Best, e.Told = sound, true
		e.Text = "no leak and no joint shows: the readings are as well explained without"
	case worse.ChiSquare-better.ChiSquare <= clear:
		e.Best = better
		e.Text = fmt.Sprintf("a %s of about %s Ω explains the readings, but a %s of about %s Ω does nearly as well; read at a mark where the sender has quite other ohms", better.Fault, ohms(better.Ohm), worse.Fault, ohms(worse.Ohm))
	default:
		e.Best, e.Told = better, true
		e.Text = fmt.Sprintf("a %s of about %s Ω explains the readings best, to within %s Ω", better.Fault, ohms(better.Ohm), ohms(better.Misfit))
	}
	if !e.Best.Fits {
		e.Text += fmt.Sprintf("; it doesn't explain them fully: %s Ω are left, more than the readings' own doubt, so look for something else or more than one fault", ohms(e.Best.Misfit))
	}
	return e
}

// faultFit gives how well one fault of one value fits.
func faultFit(pairs []Pair, u float64, f Fault, ohm float64, nothing bool) Suspicion {
	as := f
	if nothing {
		as = Sound
	}
	sum := 0.0
	for _, p := range pairs {
		d := p.Seen - as.Reading(p.True, ohm)
		sum += d * d
	}
	n := float64(len(pairs))
	s := Suspicion{Fault: f, Ohm: ohm, Nothing: nothing, Misfit: math.Sqrt(sum / n), ChiSquare: sum / (u * u)}
	free := n
	if f != Sound && !nothing {
		free--
	}
	s.Fits = s.ChiSquare <= 1e-12
	if free > 0 {
		s.Fits = s.ChiSquare <= distuv.ChiSquared{K: free}.Quantile(0.95)
	}
	return s
}

// faultJoint fits a joint: the mean of the differences, none below 0.
func faultJoint(pairs []Pair, u float64) Suspicion {
	mean := 0.0
	for _, p := range pairs {
		mean += (p.Seen - p.True) / float64(len(pairs))
	}
	return faultFit(pairs, u, Corroded, max(0, mean), mean <= 0)
}

// faultLeak fits a leak. Its sum of squares may have more than one hollow, so
// the logarithm of its value is gone through in steps first, and the best step
// narrowed by golden section after that.
func faultLeak(pairs []Pair, u float64) Suspicion {
	const from, to, steps = -4.0, 10.0, 1400 // 0.1 mΩ to 10 GΩ
	sum := func(decade float64) float64 {
		total, leak := 0.0, math.Pow(10, decade)
		for _, p := range pairs {
			d := p.Seen - Leak.Reading(p.True, leak)
			total += d * d
		}
		return total
	}
	at := func(i int) float64 { return from + (to-from)*float64(i)/steps }
	best := 0
	for i := range steps + 1 {
		if sum(at(i)) < sum(at(best)) {
			best = i
		}
	}
	ratio := (math.Sqrt(5) - 1) / 2
	low, high := at(max(0, best-1)), at(min(steps, best+1))
	for range 80 {
		a, b := high-ratio*(high-low), low+ratio*(high-low)
		if sum(a) <= sum(b) {
			high = b
		} else {
			low = a
		}
	}
	found := faultFit(pairs, u, Leak, math.Pow(10, low+(high-low)/2), false)
	if none := faultFit(pairs, u, Leak, 0, true); none.ChiSquare <= found.ChiSquare || best == steps {
		return none
	}
	return found
}
