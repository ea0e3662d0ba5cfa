package docket

import (
	"math"

	"gaugewright/internal/contents"
	"gaugewright/internal/doubt"
)

// What known moments say, in parts of the full scale.
const (
	// A filling stop of an LPG tank closes at the permitted fill or up to 5 % of the
	// water capacity below it (UN Regulation 67, from memory). Mostly it is made to close
	// near it.
	gasStopMean, gasStopU = -0.019, 0.014
	// A nozzle that clicks off, a tank that runs over: common practice, no source.
	stopMean, stopU = -0.008, 0.010
	stopAgain       = 0.006 // how well a stop repeats
	// A burner goes out with a little still in; a tap runs dry with a puddle left
	// (common practice, no source).
	ranOutMean, ranOutU = 0.006, 0.008
	// leastU is how well a level is ever read: friction, and a vehicle that stands a
	// little aslant.
	leastU = 0.004
	// scaleU is what a scale for a whole tank is off by, in parts of the mass: it was
	// weighed empty too, once.
	scaleU = 0.02
	// warmU is what litres of LPG may be off by for the pump's temperature, which isn't on
	// the docket: 0.26 % a kelvin over ±10 K, rectangular (from memory).
	warmU = 0.015
	// mixU is what kilograms of LPG may be off by in litres for the mixture.
	// guessedU where nobody stated it: propane and butane are 13 % apart.
	mixU, guessedU = 0.02, 0.045
	// plainU is the same of anything else.
	plainU = 0.003
)

// How often a piece of evidence is wrong altogether: another vehicle's docket, a slip
// in typing, a cold evening taken for an empty tank (common practice, no source).
const (
	wrongReceipt = 0.05
	wrongStop    = 0.04
	wrongRanOut  = 0.06
	wrongWeighed = 0.05
)

// piece is one piece of evidence: linear in the state for a given capacity.
type piece struct {
	docket int   // of the list
	with   []int // the other receipts that are counted together with it
	kind   Kind
	// For a receipt: content before and after by the sender, NaN where a known moment
	// stands for it.
	before, after   float64
	uBefore, uAfter float64 // of the reading
	known           int     // 1: after is where the pump stopped; 2: before it had run out
	amount, u       float64 // in parts of the stated full scale
	offset          float64 // what of amount goes with κ: vapour of a tank that was weighed
	wrong           float64 // probability
}

// row gives the piece for a capacity, and what has to be added to the log density for
// the change of variable.
func (p *piece) row(kappa float64, t *Tank) (r row, extra float64) {
	switch p.kind {
	case Stopped:
		at(&r.a, p.after, 1)
		r.a[stop] = -1
		r.y, r.v = t.permitted()-p.after, p.uAfter*p.uAfter+stopAgain*stopAgain
		return r, 0
	case RanOut:
		at(&r.a, p.after, 1)
		r.y, r.v = t.Heel+ranOutMean-p.after, p.uAfter*p.uAfter+ranOutU*ranOutU
		return r, 0
	case Weighed:
		at(&r.a, p.after, 1)
		u := p.u / kappa
		r.y, r.v = p.amount/kappa+p.offset-p.after, p.uAfter*p.uAfter+u*u
		return r, -math.Log(kappa)
	}
	u := p.u / kappa
	r.y, r.v = p.amount/kappa, u*u
	if math.IsNaN(p.after) {
		r.a[stop]++
		r.y -= t.permitted()
		r.v += stopAgain * stopAgain
	} else {
		at(&r.a, p.after, 1)
		r.y -= p.after
		r.v += p.uAfter * p.uAfter
	}
	if math.IsNaN(p.before) {
		r.y += t.Heel + ranOutMean
		r.v += ranOutU * ranOutU
	} else {
		at(&r.a, p.before, -1)
		r.y += p.before
		r.v += p.uBefore * p.uBefore
	}
	return r, -math.Log(kappa)
}

// clipped is how near to an end of its scale a sender has to show that it may as well
// stand beyond it.
const clipped = 0.003

// atEnd says whether a level may be one that the scale cuts off.
func atEnd(level float64) bool { return level <= clipped || level >= 1-clipped }

// cutU is the doubt that a level has which the scale may cut off.
const cutU = 0.07

// seen gives a level as content with its doubt; NaN where there is none.
func (t *Tank) seen(level, u float64) (content, uContent float64) {
	if !(level >= 0 && level <= 1) {
		return math.NaN(), 0
	}
	if atEnd(level) {
		u = max(u, cutU)
	}
	return t.content(level), t.slope(level) * max(u, leastU)
}

// liquid gives the litres of a docket in the tank, m³, with the relative doubt of that;
// ok is false where kilograms can't be turned into litres.
func (t *Tank) liquid(d Docket) (m3, u float64, ok bool) {
	water := float64(t.Water)
	if water == 0 {
		water = float64(t.Full)
	}
	if water == 0 {
		water = 1e4 // not known: it only says what can't be
	}
	c := contents.Docket{Amount: d.Litres / 1000}
	extra := plainU
	if d.Kilograms > 0 {
		if t.Densities == nil {
			return 0, 0, false
		}
		c.Amount, c.Basis = d.Kilograms, contents.Kilograms
		switch {
		case t.Guessed:
			extra = guessedU
		case t.Gas:
			extra = mixU
		}
	} else if t.Gas {
		extra = warmU
	}
	densities := t.Densities
	if densities == nil {
		densities = contents.SameDensity(1000)
	}
	sold, err := c.Deliver(densities, max(water, 10*c.Amount), t.Kelvin)
	if err != nil {
		return 0, 0, false
	}
	return sold.Rise, doubt.Combine(sold.U, extra), true
}
