package curve

import (
	"fmt"
	"math"
	"sort"

	"gaugewright/internal/quantity"
)

// Stated is a claim with the tolerance it is stated to.
type Stated struct {
	Claim
	// Tolerance is how far the ohms may stand from the claim, in parts of the
	// claimed span: above 0 and at most MaxTolerance; 0 stands for
	// ClaimTolerance.
	Tolerance float64
}

// MaxTolerance is the widest tolerance a claim may have. Beyond half its span
// it would no longer say which end is which.
const MaxTolerance = 0.5

// AsStated gives claims the usual tolerance.
func AsStated(claims []Claim) []Stated {
	out := make([]Stated, len(claims))
	for i, c := range claims {
		out[i] = Stated{Claim: c, Tolerance: ClaimTolerance}
	}
	return out
}

// size is the claimed span in ohms, above zero.
func (s Stated) size() float64 { return math.Abs(float64(s.Full - s.Empty)) }

// direction says which way the claimed ohms go.
func (s Stated) direction() Direction {
	if s.Full < s.Empty {
		return Falling
	}
	return Rising
}

// at gives the claimed ohms at a share of the way from empty to full.
func (s Stated) at(share float64) float64 {
	return float64(s.Empty) + share*float64(s.Full-s.Empty)
}

// check refuses claims that are no span.
func (s Stated) check(signal Signal) error {
	for _, end := range []quantity.Ohm{s.Empty, s.Full} {
		if limit := signal.Limit(); !(end >= 0 && end <= limit) {
			return fmt.Errorf("the claimed span %s has an end of %g %s; expected 0 to %g", s.Claim, float64(end), signal.typed(), float64(limit))
		}
	}
	if s.Empty == s.Full {
		return fmt.Errorf("the claimed span %s has equal ends; state the %s at empty and at full, like %s", s.Claim, signal.Figures(), signal.sampleClaim())
	}
	if !(s.Tolerance > 0 && s.Tolerance <= MaxTolerance) {
		return fmt.Errorf("the claimed span %s has a tolerance of %g %%; expected above 0 and at most %g %% of span", s.Claim, s.Tolerance*100, MaxTolerance*100)
	}
	return nil
}

// Odd is a claim held against the readings.
type Odd struct {
	Stated
	// Probability that the sender is of this kind, among the claims asked
	// about and "none of these".
	Probability float64
	Verdict     Verdict
	// Ends says that both end values, as far as the readings tell them, lie
	// within the tolerance, whatever the marks between do.
	Ends bool
	// Worst is the difference at Mark, in parts of the claimed span. Mark is
	// the one that speaks most against the claim.
	Worst, Mark   float64
	Expected      quantity.Ohm // what the claim gives at Mark
	Found, UFound quantity.Ohm // what the curve gives there; its standard uncertainty
}

// Odds is what the readings say of several spans.
type Odds struct {
	// Usual says that nothing was claimed and the usual spans were tried.
	Usual bool
	// List has the spans, the most probable first.
	List []Odd
	// None is the probability that the sender is of none of these kinds. With
	// those in the list it sums to 1.
	None float64
	// Empty and Full are the marks at which the claimed ends stand.
	Empty, Full float64
	// EndOhm and EndU are the ohms at Empty and Full, as far as the readings
	// tell them, with their standard uncertainties.
	EndOhm, EndU [2]quantity.Ohm
	// Twice has the claims that were made more than once and counted once.
	Twice []Claim
}

// ruledOut is the probability below which a claim that also lies outside its
// tolerance is ruled out: the usual 5 in 100.
const ruledOut = 0.05

// Odds gives how probable each claimed span is in the light of the readings.
// The claim's ends stand at the marks empty and full, full being the higher
// (both in the curve's unit inside). A claim made twice is counted once, with
// the tighter of its tolerances.
//
// A claim is taken for a kind of sender whose two end values lie within the
// tolerance of what is claimed, those near the middle of the tolerance more
// likely (a triangular distribution each; JCGM 100:2008, 4.3.9). What the
// readings tell of the end values, and how well, is worked out in [endValues];
// besides, every mark has to lie within the tolerance, as far as its doubt lets
// one say so.
// "None of these" is a sender with any end values at all, see [otherSpans].
// Beforehand it is as likely as all claims together, and they are equally
// likely, so that claiming more doesn't make a misfit look better. The
// probabilities follow by Bayes' rule.
//
// A claim agrees when no mark is further off than its tolerance and it stands
// up against "none of these"; it is ruled out when a mark is further off than
// that and twice its doubt together and the claim's probability is below 5 in
// 100, or when its ohms go the other way. Marks in litres or kilograms are
// allowed to stray further between the ends: see [strayAllowance].
//
// It is an error where the scale from empty to full, or its distance from the
// marks read, is out of all proportion to the stretch that was read.
func (c *Curve) Odds(claims []Stated, empty, full float64) (Odds, error) {
	return c.odds(Odds{Empty: empty, Full: full}, claims)
}

func (c *Curve) odds(o Odds, claims []Stated) (Odds, error) {
	empty, full := o.Empty, o.Full
	if !(full > empty) || math.IsInf(full-empty, 0) {
		return Odds{}, fmt.Errorf("the full mark must lie above the empty one; found empty %s and full %s", c.unit.Text(empty), c.unit.Text(full))
	}
	if err := c.inProportion(empty, full); err != nil {
		return Odds{}, err
	}
	for _, s := range claims {
		if s.Tolerance == 0 {
			s.Tolerance = ClaimTolerance
		}
		if err := s.check(c.signal); err != nil {
			return Odds{}, err
		}
		if k := o.find(s.Claim); k >= 0 {
			o.List[k].Tolerance = min(o.List[k].Tolerance, s.Tolerance)
			o.twice(s.Claim)
			continue
		}
		o.List = append(o.List, Odd{Stated: s})
	}
	ends := c.endValues(empty, full)
	for i := range o.EndOhm {
		o.EndOhm[i], o.EndU[i] = quantity.Ohm(ends.ohm[i]), quantity.Ohm(ends.u(i))
	}
	c.weigh(&o, ends)
	sort.SliceStable(o.List, func(a, b int) bool {
		p, q := o.List[a], o.List[b]
		if p.Probability != q.Probability {
			return p.Probability > q.Probability
		}
		return p.Worst < q.Worst
	})
	return o, nil
}

// share gives how far a mark is on the way from empty to full.
func (o *Odds) share(mark float64) float64 { return (mark - o.Empty) / (o.Full - o.Empty) }

func (o *Odds) find(c Claim) int {
	for i := range o.List {
		if o.List[i].Claim == c {
			return i
		}
	}
	return -1
}

func (o *Odds) twice(c Claim) {
	for _, t := range o.Twice {
		if t == c {
			return
		}
	}
	o.Twice = append(o.Twice, c)
}

// weigh fills in probabilities and verdicts. All is done in logarithms and
// scaled by the largest, so that nothing vanishes that isn't really nothing.
func (c *Curve) weigh(o *Odds, ends ends) {
	none := otherSpans(ends, c.signal)
	if n := len(o.List); n > 1 {
		none += math.Log(float64(n))
	}
	logs := make([]float64, len(o.List))
	largest := none
	for i := range o.List {
		d := &o.List[i]
		logs[i] = math.Inf(-1)
		if c.Ordered() && d.direction() == c.direction {
			logs[i] = ends.logWithin(d.Stated)
			if !o.Usual {
				logs[i] += c.logCourse(d.Stated, o.Empty, o.Full)
			}
		}
		largest = max(largest, logs[i])
	}
	sum := math.Exp(none - largest)
	for _, l := range logs {
		sum += math.Exp(l - largest)
	}
	o.None = math.Exp(none-largest) / sum
	for i := range o.List {
		d := &o.List[i]
		d.Probability = math.Exp(logs[i]-largest) / sum
		c.judge(d, o, ends, 1/(1+math.Exp(otherSpans(ends, c.signal)-logs[i])))
	}
}

// logCourse gives the logarithm of how likely it is that the mark that speaks
// most against a claim lies within its tolerance all the same, by its own
// doubt: twice the tail of the normal distribution beyond what it is over.
func (c *Curve) logCourse(s Stated, empty, full float64) float64 {
	size, first, last := s.size(), c.points[0].Mark, c.points[len(c.points)-1].Mark
	own := ownSD * float64(c.Span()) * (full - empty) / (last - first)
	most := 0.0
	for _, p := range c.points {
		share := (p.Mark - empty) / (full - empty)
		over := math.Abs(float64(p.Ohm)-s.at(share)) - size*(s.Tolerance+c.strayAllowance(share))
		most = max(most, over/math.Hypot(float64(p.U), own))
	}
	return math.Log(math.Erfc(most / math.Sqrt2))
}

// judge finds the mark that speaks most against a claim, and the verdict.
func (c *Curve) judge(d *Odd, o *Odds, ends ends, alone float64) {
	size := d.size()
	clear, over, at, within := math.Inf(-1), math.Inf(-1), 0, true
	for i, p := range c.points {
		share := o.share(p.Mark)
		off := math.Abs(float64(p.Ohm)-d.at(share))/size - d.Tolerance - c.strayAllowance(share)
		within = within && off <= hair-1
		// A mark that is clearly off says more than one that is further off
		// and less sure.
		if sure := off - 2*float64(p.U)/size; sure > max(0, clear) || clear <= 0 && off > over {
			at = i
			clear, over = max(clear, sure), off
		}
	}
	p := c.points[at]
	expected := d.at(o.share(p.Mark))
	d.Mark, d.Expected, d.Found, d.UFound = p.Mark, quantity.Ohm(expected), p.Ohm, p.U
	d.Worst = math.Abs(float64(p.Ohm)-expected) / size
	d.Ends = math.Abs(ends.ohm[0]-float64(d.Empty)) <= d.Tolerance*size && math.Abs(ends.ohm[1]-float64(d.Full)) <= d.Tolerance*size
	switch {
	case !c.Ordered():
		d.Verdict, d.Ends = Undecided, false
	case d.direction() != c.direction:
		d.Verdict, d.Ends = RulesOut, false
	case within && alone >= ruledOut:
		d.Verdict = Agrees
	case clear > 0 && d.Probability < ruledOut:
		d.Verdict = RulesOut
	default:
		d.Verdict = Undecided
	}
}
