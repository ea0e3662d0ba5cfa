package docket

import (
	"cmp"
	"math"
	"slices"
	"time"

	"gaugewright/internal/quantity"
)

// From which probability of being nearer to the truth a correction is applied, and how
// much it has to gain, in parts of the scale.
const (
	beyondDoubt = 0.80
	leastGain   = 0.004
	leastCount  = 2
)

// Learn works out what dockets say of a tank. It is the same for the same dockets in
// whatever order, reads no clock, and the latest 48 pieces of evidence count.
func Learn(t Tank, list []Seen) Learned {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b Seen) int {
		return cmp.Or(a.Docket.Time.Compare(b.Docket.Time), cmp.Compare(a.Docket.ID, b.Docket.ID))
	})
	verdicts := make([]Verdict, len(list))
	for i, s := range list {
		verdicts[i] = Verdict{Seen: s, Rise: math.NaN(), Low: math.NaN(), High: math.NaN()}
	}
	if t.Full == 0 {
		t.Full = quantity.CubicMetre(t.guess(list))
		l := t.learn(list, verdicts, false)
		return l
	}
	return t.learn(list, verdicts, true)
}

func (t Tank) learn(list []Seen, verdicts []Verdict, stated bool) (l Learned) {
	for i := range l.At {
		l.At[i], l.UOff[i] = float64(i)/4, math.NaN()
	}
	pieces := t.pieces(list, verdicts)
	m := infer(&t, pieces, stated)
	p := t.settle(m.draws(&t, pieces))
	receipts := 0
	for i, piece := range pieces {
		v := &verdicts[piece.docket]
		if piece.kind == v.Seen.Docket.Kind {
			v.Wrong = m.wrong[i]
		}
		v.Counts = v.Counts || m.wrong[i] <= 0.5
		for _, k := range piece.with {
			w := &verdicts[k]
			if w.Wrong, w.Counts = m.wrong[i], m.wrong[i] <= 0.5; !w.Counts {
				w.Sentence, v.Sentence = "", ""
			}
		}
	}
	for i, piece := range pieces {
		if m.wrong[i] <= 0.5 && piece.kind == Receipt {
			receipts++
		}
	}
	for i := range verdicts {
		t.judge(&verdicts[i], &p)
		if verdicts[i].Counts {
			l.N++
		}
	}
	slices.Reverse(verdicts)
	l.Verdicts = verdicts
	if t.Gas || t.Fuel {
		l.Cautions = t.cautions()
	}
	if l.N == 0 || len(p.draws) == 0 {
		l.Reason = "No docket counts yet."
		return l
	}
	for i := range l.At {
		cell := i * cells / 4
		l.Off[i], l.UOff[i] = l.At[i]-p.mean[cell], p.u[cell]
	}
	l.Correction = p.correction(l.N)
	l.Better, l.Was, l.Is = p.better, p.was, p.is
	l.Helps = p.better >= beyondDoubt && p.was-p.is >= leastGain && l.N >= leastCount
	t.capacity(&l, &p, receipts, stated)
	t.propose(&l, &p)
	return l
}

// capacity says what was learned of the capacity.
func (t *Tank) capacity(l *Learned, p *posterior, receipts int, stated bool) {
	known := 0.035
	if !stated {
		known = 0.10
	}
	if receipts < 2 || p.uKappa > known*p.kappa || !(t.Full > 0) {
		l.Correction.Capacity, l.Correction.UCapacity = 1, 0
		return
	}
	l.Capacity, l.UCapacity = t.Full*quantity.CubicMetre(p.kappa), t.Full*quantity.CubicMetre(p.uKappa)
	if !stated {
		l.Correction.Capacity, l.Correction.UCapacity = 1, 0 // there is none that it would be by
		return
	}
	l.Holds = math.Abs(p.kappa-1) > 2*p.uKappa && receipts >= proposeCount
}

// Apply gives the correction to apply: of the level where it helps, of the capacity alone
// where that is another beyond doubt, nil where neither is so.
func (l *Learned) Apply() *Correction {
	switch {
	case l.Helps:
		return l.Correction
	case l.Holds:
		c := *l.Correction
		c.Levels, c.U = nil, nil
		return &c
	}
	return nil
}

// guess gives a capacity, m³, where none is stated: the middle of what each receipt alone
// would make it. 0: there is none to go by.
func (t Tank) guess(list []Seen) float64 {
	var all []float64
	for _, s := range list {
		d := s.Docket
		if d.Struck || d.Kind != Receipt || s.Before < 0 || s.After < 0 {
			continue
		}
		rise := t.content(s.After) - t.content(s.Before)
		if m3, _, ok := t.liquid(d); ok && rise > 0.05 {
			all = append(all, m3/rise)
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// outOf is how long before a receipt a tank may have run out for it to have been empty
// at the filling.
const outOf = 72 * time.Hour

// pieces makes evidence of dockets, and says of those that are none why.
func (t *Tank) pieces(list []Seen, verdicts []Verdict) []piece {
	var all []piece
	skip := make([]bool, len(list))
	for i, s := range list {
		d := s.Docket
		v := &verdicts[i]
		after, uAfter := t.seen(s.After, s.UAfter)
		switch {
		case d.Struck:
			v.Sentence = "Struck out; it doesn't count."
		case skip[i]:
		case d.Kind == Receipt:
			all = append(all, t.receipt(list, i, verdicts, skip)...)
		case math.IsNaN(after):
			v.Sentence = "The sender showed no level then that can be believed, so it doesn't count by itself."
		case d.Kind == Stopped:
			all = append(all, piece{docket: i, kind: Stopped, before: math.NaN(), after: after, uAfter: uAfter, wrong: wrongStop})
		case d.Kind == RanOut:
			all = append(all, piece{docket: i, kind: RanOut, before: math.NaN(), after: after, uAfter: uAfter, wrong: wrongRanOut})
		case d.Kind == Weighed:
			if p, ok := t.weighed(d); ok && t.Full > 0 {
				p.docket, p.after, p.uAfter = i, after, uAfter
				all = append(all, p)
			} else {
				v.Sentence = t.unusable(d)
			}
		}
	}
	if len(all) > most {
		all = all[len(all)-most:]
	}
	return all
}

// receipt makes evidence of a receipt, and of others of the same refill with it.
func (t *Tank) receipt(list []Seen, i int, verdicts []Verdict, skip []bool) (all []piece) {
	s, v := list[i], &verdicts[i]
	d := s.Docket
	stopped := d.Stopped
	m3, u, ok := t.liquid(d)
	before, uBefore := t.seen(s.Before, s.UBefore)
	after, uAfter := t.seen(s.After, s.UAfter)
	if ok && t.Full > 0 && !math.IsNaN(before) && !math.IsNaN(after) {
		v.Rise = float64(t.Full) * (after - before + s.Used) * 1000
		half := 1.645 * float64(t.Full) * math.Hypot(uBefore, uAfter) * 1000
		v.Low, v.High = v.Rise-half, v.Rise+half
	}
	var with []int
	if group := t.sameAs(list, i); ok && len(group) > 1 {
		for _, k := range group {
			w := &verdicts[k]
			w.Rise, w.Low, w.High = v.Rise, v.Low, v.High
			skip[k], stopped = true, stopped || list[k].Docket.Stopped
		}
		counted := t.makesUp(list, group, v.Rise/1000)
		aside(verdicts, group, counted)
		i, with = counted[0], counted[1:]
		s, v = list[i], &verdicts[i]
		d = s.Docket
		m3, u, _ = t.liquid(d)
		for _, k := range with {
			verdicts[k].Sentence, v.Sentence = countedTogether, countedTogether
			other, uOther, _ := t.liquid(list[k].Docket)
			u = math.Hypot(m3*u, other*uOther) / (m3 + other)
			m3 += other
		}
	}
	if stopped && !math.IsNaN(after) {
		all = append(all, piece{docket: i, kind: Stopped, before: math.NaN(), after: after, uAfter: uAfter, wrong: wrongStop})
	}
	p := piece{docket: i, with: with, kind: Receipt, before: before, after: after, uBefore: uBefore, uAfter: uAfter, wrong: wrongReceipt}
	// Where the sender says nothing, or may stand beyond its scale, a known moment stands in.
	if (math.IsNaN(after) || atEnd(s.After)) && (stopped || near(list, i, Stopped, sameRefill)) {
		p.known, p.after = p.known|1, math.NaN()
	}
	if (math.IsNaN(before) || atEnd(s.Before)) && near(list, i, RanOut, outOf) {
		p.known, p.before = p.known|2, math.NaN()
	}
	switch {
	case !ok:
		v.Sentence = t.unusable(d)
		return all
	case !(t.Full > 0):
		v.Sentence = "What the tank holds isn't known yet, so it can't be held against the rise."
		return all
	case math.IsNaN(after) && p.known&1 == 0, math.IsNaN(before) && p.known&2 == 0:
		v.Sentence = "The sender showed no level then that can be believed, so it doesn't count by itself."
		if !s.Broken && !s.Refill {
			v.Sentence = "No level is known from before or after it, so it doesn't count by itself."
		}
		return all
	case !math.IsNaN(before) && !math.IsNaN(after) && p.known == 0 && !s.Refill && (after-before)*float64(t.Full) < 0.25*m3 && after-before < 0.03:
		v.Sentence = "No refill was seen at that time, so it doesn't count. Was it another day, or another tank?"
		return all
	}
	full := float64(t.Full)
	p.amount, p.u = m3/full-s.Used, m3*u/full+0.3*math.Abs(s.Used)
	return append(all, p)
}

// near says whether there is a docket of a kind near one: for running out, before it with
// no receipt between.
func near(list []Seen, i int, kind Kind, within time.Duration) bool {
	at := list[i].Docket.Time
	for k := range list {
		d := list[k].Docket
		if d.Struck || d.Kind != kind || k == i {
			continue
		}
		switch gap := at.Sub(d.Time); {
		case kind == Stopped && gap.Abs() <= within:
			return true
		case kind == RanOut && gap >= 0 && gap <= within && !slices.ContainsFunc(list, func(s Seen) bool {
			return !s.Docket.Struck && s.Docket.Kind == Receipt && s.Docket.Time.After(d.Time) && s.Docket.Time.Before(at)
		}):
			return true
		}
	}
	return false
}

// weighed makes evidence of a tank that was weighed: liquid and, of gas, the vapour.
func (t *Tank) weighed(d Docket) (piece, bool) {
	p := piece{kind: Weighed, before: math.NaN(), wrong: wrongWeighed}
	if d.Litres > 0 {
		p.amount = d.Litres / 1000 / float64(t.Full)
		p.u = p.amount * scaleU
		return p, true
	}
	if t.Densities == nil {
		return p, false
	}
	liquid, vapour, err := t.Densities(kelvinOr15(t.Kelvin))
	if err != nil || !(liquid > vapour) {
		return p, false
	}
	p.amount = d.Kilograms / (liquid - vapour) / float64(t.Full)
	p.offset = -t.perWater() * vapour / (liquid - vapour)
	u := scaleU
	if t.Guessed {
		u = math.Hypot(u, guessedU)
	}
	p.u = p.amount * u
	return p, true
}

func kelvinOr15(k float64) float64 {
	if k == 0 {
		return 288.15
	}
	return k
}

// Untaught is what is told where nothing is to be learned.
func Untaught(list []Seen) (l Learned) {
	for i := len(list) - 1; i >= 0; i-- {
		l.Verdicts = append(l.Verdicts, Verdict{Seen: list[i], Rise: math.NaN(), Low: math.NaN(), High: math.NaN()})
	}
	l.Reason = "Nothing is learned from the dockets of this tank: its configuration says so."
	return l
}
